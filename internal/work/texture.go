package work

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"fettle"
	"fettle/internal/format/intake"
	"fettle/internal/format/surface"
	"fettle/internal/shape/relief"
	"fettle/internal/shape/texture"
)

// TextureRequest asks for the parameters of a measured or simulated surface.
type TextureRequest struct {
	Path      string
	Cutoff    string  // mm, "none", or empty to choose by the standard
	Form      string  // none, plane, cylinder, sphere, poly1 to poly12; empty: plane
	SpacingMM float64 // of heights in a text that does not say; 0: what the file says
	XUnit     string  // of a text's places
	ZUnit     string  // of a text's heights
	Along     string  // x or y: rows or columns of a map measured as profiles too; empty: none
	Rows      []int   // which, from 0; empty: the middle one
	Write     string  // file for what is left after levelling and filtering; empty: none
}

// TextureFile measures the texture of a surface. It returns the paths of the
// files written. Errors are BadFile for a file that cannot be used, NotFound for
// one that is not there, Invalid for a question that makes no sense.
func TextureFile(ctx context.Context, req TextureRequest, say Progress) (*fettle.Texture, []string, error) {
	name := filepath.Base(req.Path)
	ask, err := asking(req)
	if err != nil {
		return nil, nil, err
	}
	say.say("reading "+name, 0, 3)
	data, err := readMeasured(req.Path)
	if err != nil {
		return nil, nil, err
	}
	s, err := surface.Read(name, data, surface.Options{DX: req.SpacingMM, XUnit: req.XUnit, ZUnit: req.ZUnit})
	if err != nil {
		return nil, nil, badFile(name, err)
	}
	sum := sha256.Sum256(data)
	t := &fettle.Texture{
		File: name, SHA256: hex.EncodeToString(sum[:]), Format: s.Format, Instrument: s.Instrument, Creator: s.Creator, Date: s.Date, Units: s.Units,
		Kind: "map", Width: s.Map.W, Height: s.Map.H, SpacingMM: []float64{s.Map.DX, s.Map.DY}, SizeMM: sides(s.Map),
		MissingShare: float64(s.Missing()) / float64(len(s.Map.Z)), Peaks: []fettle.Wave{}, Profiles: []fettle.TextureProfile{},
		Notes: append([]string{}, s.Notes...),
	}
	if req.SpacingMM > 0 && (s.Format != "text" || math.Abs(s.Map.DX-req.SpacingMM) > 1e-9*req.SpacingMM) {
		t.Notes = append(t.Notes, "the file gives its own places; the spacing given was not used")
	}
	if t.MissingShare > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%.2g %% of the points have no height and were left out", 100*t.MissingShare))
	}
	say.say("measuring "+name, 1, 3)
	var left *relief.Map
	if s.Profile() {
		if req.Along != "" {
			return nil, nil, fettle.Errorf(fettle.Invalid, "%s is a profile already; --profile is for maps", name)
		}
		t.Kind, t.SpacingMM, t.SizeMM = "profile", t.SpacingMM[:1], t.SizeMM[:1]
		left, err = ask.profile(name, lineOf(s.Map, "x", 0), s.Map.DX, &t.Evaluation, &t.Notes)
	} else if left, err = ask.areal(ctx, name, s.Map, t); err == nil {
		err = ask.profiles(name, s.Map, req, t)
	}
	if err != nil {
		return nil, nil, err
	}
	if req.Write == "" {
		return t, nil, nil
	}
	say.say("writing "+filepath.Base(req.Write), 2, 3)
	err = WriteFile(req.Write, func(w io.Writer) error {
		return surface.Write(w, req.Write, left, surface.Info{Creator: "fettle", Comment: "what is left of " + name})
	})
	return t, []string{req.Write}, err
}

// readMeasured reads a file that a user named, within the limit.
func readMeasured(path string) ([]byte, error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, fettle.Errorf(fettle.BadFile, "%s is a folder; name a measurement in it", path)
	} else if err == nil && info.Size() > intake.MaxBytes {
		return nil, fettle.Errorf(fettle.BadFile, "%s has %d MB, and %d MB is the most that is read; export a part of it", filepath.Base(path), info.Size()>>20, intake.MaxBytes>>20)
	}
	return readModel(path)
}

// sides is how long and wide a map is, from the first point to the last, mm.
func sides(m *relief.Map) []float64 {
	return []float64{float64(m.W-1) * m.DX, float64(m.H-1) * m.DY}
}

// asked is a question about texture, understood.
type asked struct {
	form     texture.Form
	formName string
	cutoff   float64 // mm; 0: none; less: to be chosen
}

func asking(req TextureRequest) (*asked, error) {
	a := &asked{formName: req.Form, cutoff: -1}
	if a.formName == "" {
		a.formName = "plane"
	}
	var err error
	if a.form, err = texture.ParseForm(a.formName); err != nil {
		return nil, fettle.Errorf(fettle.Invalid, "%s", unprefixed(err))
	}
	switch req.Cutoff {
	case "", "auto":
	case "none":
		a.cutoff = 0
	default:
		v, err := strconv.ParseFloat(req.Cutoff, 64)
		if err != nil || !(v > 0) || v > 1000 {
			return nil, fettle.Errorf(fettle.Invalid, "cut-off %q is not one; give a length in mm such as 0.8, or none", req.Cutoff)
		}
		a.cutoff = v
	}
	if req.SpacingMM < 0 || req.SpacingMM > 100 || math.IsNaN(req.SpacingMM) {
		return nil, fettle.Errorf(fettle.Invalid, "a spacing of %g mm is none that surfaces are measured at; give mm, such as 0.0005", req.SpacingMM)
	}
	for _, u := range []string{req.XUnit, req.ZUnit} {
		if _, ok := surface.Unit(u); u != "" && !ok {
			return nil, fettle.Errorf(fettle.Invalid, "unit %q is not known; use nm, µm, mm, m, in, mil or µin", u)
		}
	}
	if req.Along != "" && req.Along != "x" && req.Along != "y" {
		return nil, fettle.Errorf(fettle.Invalid, "--profile %s is not one; choose x, along the rows, or y, along the columns", req.Along)
	}
	if len(req.Rows) > 0 && req.Along == "" {
		return nil, fettle.Errorf(fettle.Invalid, "--row says which rows or columns; say --profile x or --profile y too")
	}
	if req.Write != "" {
		if err := surface.Writable(req.Write); err != nil {
			return nil, fettle.Errorf(fettle.Invalid, "%s", err)
		}
	}
	return a, nil
}

// unprefixed is an error of the texture room as a sentence.
func unprefixed(err error) string { return strings.TrimPrefix(err.Error(), "texture: ") }

// cannot turns an error of the texture room into one about the file.
func cannot(name string, err error) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return fettle.Errorf(fettle.BadFile, "%s: %s", name, unprefixed(err))
}

// formOf says what was taken off.
func (a *asked) formOf(f texture.Fitted) fettle.TextureForm {
	t := fettle.TextureForm{Name: a.formName, SlopeX: f.SlopeX, SlopeY: f.SlopeY, LeftUM: f.RMSum}
	if (f.Shape == texture.Cylinder || f.Shape == texture.Sphere) && !math.IsInf(f.RadiusMM, 0) && f.RadiusMM != 0 {
		t.RadiusMM = &f.RadiusMM
		if f.Shape == texture.Cylinder {
			t.AxisDeg = &f.AxisDeg
		}
	}
	return t
}

func measures(p texture.Parameters) fettle.Measures {
	out := make(fettle.Measures, 0, len(p))
	for _, v := range p {
		out = append(out, fettle.Measure{Name: v.Name, Value: v.Value.Value, Unit: v.Unit})
	}
	return out
}

// areal measures a map and gives what was left of it.
func (a *asked) areal(ctx context.Context, name string, m *relief.Map, t *fettle.Texture) (*relief.Map, error) {
	left, fit, err := texture.Level(ctx, m, a.form)
	if err != nil {
		return nil, cannot(name, err)
	}
	t.Form = a.formOf(fit)
	waves, err := texture.Peaks(ctx, left, 8)
	if err != nil {
		return nil, cannot(name, err)
	}
	side := min(t.SizeMM[0], t.SizeMM[1])
	c := &choice{length: side, spacing: max(m.DX, m.DY), what: "map", ra: fit.RMSum * 0.8, rows: true}
	if s, err := texture.Heights(ctx, left); err == nil {
		if v, ok := s.Get("Sa"); ok {
			c.ra = v.Value
		}
	}
	c.period = marks(waves, fit.RMSum)
	if err := a.settle(c, &t.Evaluation, &t.Notes); err != nil {
		return nil, err
	}
	if t.CutoffMM != nil {
		ends := texture.Normalised
		t.FilterEnds = "kept"
		if side >= 3**t.CutoffMM { // half a cut-off at each end leaves at least two thirds
			ends, t.FilterEnds = texture.Dropped, "dropped"
		}
		if left, err = texture.HighPass(ctx, left, *t.CutoffMM, ends); err != nil {
			return nil, cannot(name, err)
		}
	}
	p, err := texture.Areal(ctx, left)
	if err != nil {
		return nil, cannot(name, err)
	}
	t.Parameters = measures(p)
	waves, err = texture.Peaks(ctx, left, 5)
	if err != nil {
		return nil, cannot(name, err)
	}
	for _, w := range waves {
		t.Peaks = append(t.Peaks, fettle.Wave(w))
	}
	return left, nil
}

// profiles measures the rows or columns that were asked for.
func (a *asked) profiles(name string, m *relief.Map, req TextureRequest, t *fettle.Texture) error {
	if req.Along == "" {
		return nil
	}
	n, dx, first, step := m.H, m.DX, m.Y0, m.DY
	if req.Along == "y" {
		n, dx, first, step = m.W, m.DY, m.X0, m.DX
	}
	rows := req.Rows
	if len(rows) == 0 {
		rows = []int{n / 2}
	}
	for _, r := range rows {
		if r < 0 || r >= n {
			return fettle.Errorf(fettle.Invalid, "%s has no profile %d along %s; count from 0 to %d", name, r, req.Along, n-1)
		}
		p := fettle.TextureProfile{Along: req.Along, Row: r, AtMM: first + float64(r)*step}
		var notes []string
		if _, err := a.profile(fmt.Sprintf("%s, profile %d along %s", name, r, req.Along), lineOf(m, req.Along, r), dx, &p.Evaluation, &notes); err != nil {
			return err
		}
		for _, s := range notes {
			t.Notes = append(t.Notes, fmt.Sprintf("profile %d along %s: %s", r, req.Along, s))
		}
		t.Profiles = append(t.Profiles, p)
	}
	return nil
}

// lineOf is a row or a column of a map, in µm over its base.
func lineOf(m *relief.Map, along string, k int) []float64 {
	if along == "y" {
		z := make([]float64, m.H)
		for j := range z {
			z[j] = float64(m.Z[j*m.W+k]) * 1000
		}
		return z
	}
	z := make([]float64, m.W)
	for i := range z {
		z[i] = float64(m.Z[k*m.W+i]) * 1000
	}
	return z
}
