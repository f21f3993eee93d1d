package work

import (
	"bytes"
	"flag"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/demo"
	"fettle/internal/output/words"

	"github.com/google/go-cmp/cmp"
)

// The demo goes the whole way: model files written, read back, surveyed,
// planned and put on paper; and what the survey finds is what was drawn. The race
// detector, which takes minutes over it, leaves it to the plan of one part below.
func TestDemo(t *testing.T) {
	if testing.Short() {
		t.Skip("-short: one part is planned by another test")
	}
	dir := t.TempDir()
	var said int
	d, err := Demo(t.Context(), dir, began, func(string, int, int) { said++ })
	if err != nil {
		t.Fatal(err)
	}
	if said == 0 {
		t.Error("nothing was said on the way")
	}
	for i, part := range demo.Parts() {
		pl := d.Plans[i]
		s := pl.Survey
		if !s.Closed || s.Bodies != 1 || s.Units != "mm" || s.UnitsFrom != "file" || len(s.Repairs) != 0 {
			t.Errorf("%s: closed %v, %d bodies, %s from %s, mended %v", part.ID, s.Closed, s.Bodies, s.Units, s.UnitsFrom, s.Repairs)
		}
		for k, want := range part.Truth.SizeMM {
			if math.Abs(s.SizeMM[k]-want) > 0.01 {
				t.Errorf("%s: side %d is %.3f mm, drawn %.3f", part.ID, k, s.SizeMM[k], want)
			}
		}
		for _, want := range part.Truth.Openings {
			if !drawn(s.Openings, want, part.Truth.ToleranceMM) {
				t.Errorf("%s: no opening like %+v among %+v", part.ID, want, s.Openings)
			}
		}
		if !pl.Meets {
			t.Errorf("%s: %s", part.ID, pl.Verdict)
		}
		asRead(t, part.ID, words.Plan(*pl))
		kinds := map[string]int{}
		for _, v := range pl.Solids {
			kinds[v.Kind]++
			for _, name := range []string{v.File, v.Picture} {
				if data, err := os.ReadFile(filepath.Join(dir, part.ID, filepath.FromSlash(name))); err != nil || len(data) < 100 {
					t.Errorf("%s: %s of %s has %d bytes, %v", part.ID, name, v.For, len(data), err)
				}
			}
			if !v.Closed || !(v.VolumeMM3 > 0) {
				t.Errorf("%s: %s is closed %v and has %g mm³", part.ID, v.File, v.Closed, v.VolumeMM3)
			}
		}
		if kinds["jaw"] != 1 || kinds["plug"] == 0 || part.ID == "escutcheon" && kinds["block"] == 0 {
			t.Errorf("%s: made are %v", part.ID, kinds)
		}
		for _, name := range []string{part.FileName, "brief.json", "plan.json", "traveler.pdf", "pictures/part.png",
			"pictures/after-cutting.png", "pictures/after-cutting-profile.svg", "pictures/cutting-choices.png"} {
			data, err := os.ReadFile(filepath.Join(dir, part.ID, name))
			if err != nil || len(data) < 100 {
				t.Errorf("%s: %s has %d bytes, %v", part.ID, name, len(data), err)
			}
			if name == "traveler.pdf" && !bytes.HasPrefix(data, []byte("%PDF-")) {
				t.Errorf("%s: the traveler is no PDF", part.ID)
			}
		}
	}
}

// update writes the texts that are compared anew: go test ./internal/work -run
// TestDemo -update, and then read them.
var update = flag.Bool("update", false, "write the plans of the demo's parts anew")

// began is when work on the demo's parts may begin, a Monday.
var began = time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)

// asRead compares a plan with the text that was read aloud and found to make sense.
// Other processors round the last digit of a sum differently, and a digit can turn a
// word; there the text is only looked through.
func asRead(t *testing.T, id, got string) {
	t.Helper()
	path := filepath.Join("testdata", "plan-"+id+".txt")
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOARCH != "amd64" {
		t.Logf("%s: the text was written on amd64, this is %s: not compared", id, runtime.GOARCH)
		return
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s: the plan reads differently (-was +is); read it, and with -update keep it:\n%s", id, diff)
	}
}

// drawn looks for an opening as it was drawn: kind and form the same, widths
// to 1 %, place and depth to the part's tolerance.
func drawn(got []fettle.Opening, want fettle.Opening, tol float64) bool {
	for _, o := range got {
		place := math.Sqrt(sq(o.At[0]-want.At[0]) + sq(o.At[1]-want.At[1]) + sq(o.At[2]-want.At[2]))
		if o.Kind == want.Kind && o.Form == want.Form && o.Through == want.Through &&
			math.Abs(o.WidthMM-want.WidthMM) <= 0.01*want.WidthMM && math.Abs(o.DepthMM-want.DepthMM) <= tol+0.02 && place <= tol+0.05 {
			return true
		}
	}
	return false
}

func sq(x float64) float64 { return x * x }
