// Package work holds one use case a file: survey a part, work out cusps, plan
// a brief, make the demo. Command line, API and queue call it and nothing
// below it, so that each of them does the same thing in the same way.
//
// It is the first floor that touches the disk. What it writes is written to a
// temporary name beside its place and renamed, so that no output is ever half
// there.
package work

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"fettle"
	"fettle/internal/format/brep"
	"fettle/internal/format/intake"
	"fettle/internal/format/partfile"
	"fettle/internal/format/step"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/cavity"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

// Progress says what long work is doing and how far it is. It may be nil.
type Progress func(doing string, done, total int)

func (p Progress) say(doing string, done, total int) {
	if p != nil {
		p(doing, done, total)
	}
}

// Part is a model read, mended, measured and understood.
type Part struct {
	Mesh     *mesh.Mesh
	Topology *mesh.Topology
	Survey   fettle.Survey
	Detail   *survey.Detail
	// Void is the space round the part, nil where it was not asked for; VoidSays is
	// what was found on the way, in sentences.
	Void     *cavity.Void
	VoidSays []string
}

// Model is a model file and what it does not say itself.
type Model struct {
	File  string
	Units string     // of the file's numbers; empty: what the file says, or a guess
	Body  string     // where the file holds several: its name or number; empty: it must be the only one
	Up    [3]float64 // the side that shows; zero: proposed
	// Kernel reads STEP files; nil: the one in the binary.
	Kernel *brep.Kernel
}

// PartOptions say what the part is wanted for.
type PartOptions struct {
	// Fine has round faces in facets that stand off them by 2 µm at most, as for
	// cusps, where the file leaves the choice.
	Fine bool
	// Whole takes all bodies of a file as one where none was chosen.
	Whole bool
	// Media are what the void is measured for: those of the shelf, whichever are asked
	// about, so that openings have the same ids whatever is asked. None: it is not
	// measured.
	Media  []fettle.Media
	CellMM float64 // of the void's grid; 0: chosen
}

// stages is how many things there are to do.
func (o PartOptions) stages() int {
	if len(o.Media) > 0 {
		return 4
	}
	return 3
}

// SurveyFile reads a model file and surveys it, the void round it too, for the
// media of the built-in shelf. Errors are those of [LoadPart].
func SurveyFile(ctx context.Context, model Model, say Progress) (*Part, error) {
	return LoadPart(ctx, model, PartOptions{Media: stock.Shelf().Media, Whole: true}, say)
}

// LoadPart reads a model file and surveys it. Errors are BadFile for a file
// that cannot be used, NotFound for one that is not there, Invalid for a unit
// that is not known.
func LoadPart(ctx context.Context, model Model, opt PartOptions, say Progress) (*Part, error) {
	name := filepath.Base(model.File)
	say.say("reading "+name, 0, opt.stages())
	data, err := readModel(model.File)
	if err != nil {
		return nil, err
	}
	raw, err := partfile.Read(ctx, name, data, step.Options{Kernel: model.Kernel, Fine: opt.Fine})
	if err != nil {
		return nil, badFile(name, err)
	}
	sum := sha256.Sum256(data)
	return surveyPart(ctx, hex.EncodeToString(sum[:]), raw, model, opt, say)
}

// surveyPart takes a raw mesh through units, mending, measuring and survey.
func surveyPart(ctx context.Context, sum string, raw *intake.Part, model Model, opt PartOptions, say Progress) (*Part, error) {
	name := filepath.Base(model.File)
	unit, from, remark, err := unitOf(raw, model.Units)
	if err != nil {
		return nil, err
	}
	scale := unit.MM
	if raw.InMM {
		scale /= raw.UnitMM
	}
	if scale != 1 {
		raw.Mesh.Scale(scale)
	}
	bodies := bodiesOf(raw)
	if err := takeBody(raw, bodies, name, model.Body, opt.Whole); err != nil {
		return nil, err
	}
	say.say("mending "+name, 1, opt.stages())
	clean, repairs := mesh.Clean(raw.Mesh, mesh.Options{})
	if len(clean.Tri) == 0 {
		return nil, fettle.Errorf(fettle.BadFile, "%s: nothing is left of the model once its empty facets are dropped; export it again", name)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	tp := mesh.NewTopology(clean)
	m := mesh.Measure(clean, tp)

	say.say("surveying "+name, 2, opt.stages())
	s, detail, err := survey.Of(ctx, clean, tp, survey.Options{Up: geom.Vec(model.Up)})
	if err != nil {
		return nil, err
	}
	s.File, s.SHA256, s.Format = name, sum, raw.Format
	s.Units, s.UnitsFrom = unit.Name, from
	s.Triangles, s.Vertices = len(clean.Tri), len(clean.Pos)
	s.InFile, s.Beside = bodies, raw.Aside
	colourFaces(&s, clean, raw.FaceColours)
	fillMeasures(&s, m)
	s.Repairs = []fettle.Repair{}
	for _, r := range repairs {
		s.Repairs = append(s.Repairs, fettle.Repair(r))
	}
	head := []string{}
	if remark != "" {
		head = append(head, remark)
	}
	head = append(head, raw.Notes...)
	s.Warnings = append(head, s.Warnings...)
	if !m.Closed {
		s.Warnings = append(s.Warnings, "the model is not closed, so its volume and weight are not known; mend it where it was drawn and export it again")
	}
	part := &Part{Mesh: clean, Topology: tp, Survey: s, Detail: detail}
	if len(opt.Media) > 0 {
		say.say("measuring the void round "+name, 3, opt.stages())
		if err := part.measureVoid(ctx, opt.Media, opt.CellMM); err != nil {
			return nil, err
		}
	}
	tidy(&part.Survey)
	return part, nil
}

// tidy rounds what was fitted to a nanometre, below which a model file holds
// nothing, and gives empty lists for none.
func tidy(s *fettle.Survey) {
	round := func(vs ...*float64) {
		for _, v := range vs {
			*v = math.Round(*v*1e6) / 1e6
			if *v == 0 {
				*v = 0 // no minus zero
			}
		}
	}
	for i := range s.Openings {
		o := &s.Openings[i]
		if o.Profile == nil {
			o.Profile = []fettle.Width{}
		}
		for k := range o.Profile {
			round(&o.Profile[k].DepthMM, &o.Profile[k].WidthMM)
		}
		round(&o.CellMM, &o.WidthMM, &o.WidestMM, &o.LengthMM, &o.DepthMM, &o.InsideMM, &o.At[0], &o.At[1], &o.At[2], &o.Axis[0], &o.Axis[1], &o.Axis[2])
	}
	for i := range s.Corners {
		c := &s.Corners[i]
		round(&c.RadiusMM, &c.LengthMM, &c.AngleDeg, &c.At[0], &c.At[1], &c.At[2])
	}
	for i := range s.Zones {
		z := &s.Zones[i]
		round(&z.ConcaveMM, &z.ConvexMM, &z.InsideCornerMM, &z.EdgeMM, &z.SlopeDeg.P50, &z.SlopeDeg.P95, &z.SlopeDeg.Max, &z.Up[0], &z.Up[1], &z.Up[2])
	}
	for i := range s.Faces {
		f := &s.Faces[i]
		round(&f.RadiusMM, &f.HalfAngleDeg, &f.At[0], &f.At[1], &f.At[2], &f.Axis[0], &f.Axis[1], &f.Axis[2])
	}
	if s.Beside == nil {
		s.Beside = []string{}
	}
	if s.InFile == nil {
		s.InFile = []fettle.FileBody{}
	}
	if s.Openings == nil {
		s.Openings = []fettle.Opening{}
	}
	if s.Corners == nil {
		s.Corners = []fettle.Corner{}
	}
	if s.Warnings == nil {
		s.Warnings = []string{}
	}
}

// fillMeasures copies what was measured.
func fillMeasures(s *fettle.Survey, m mesh.Measured) {
	s.Bodies, s.Closed = m.Bodies, m.Closed
	if m.Closed {
		s.VolumeMM3 = m.Volume
	}
	s.AreaMM2 = m.Area
	s.Box = span(m.Box)
	s.SizeMM = geom.Array(m.Box.Size())
	s.CentroidMM = geom.Array(m.Centroid)
	s.PrincipalMM = m.Extent
}

func span(b geom.Box) fettle.Span {
	return fettle.Span{X: [2]float64{b.Min.X, b.Max.X}, Y: [2]float64{b.Min.Y, b.Max.Y}, Z: [2]float64{b.Min.Z, b.Max.Z}}
}

// readModel reads a file that a user named, within the limit.
func readModel(path string) ([]byte, error) {
	name := filepath.Base(path)
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fettle.Errorf(fettle.NotFound, "%s is not there; check the path", path)
	case err != nil:
		return nil, fettle.Errorf(fettle.BadFile, "%s cannot be opened: %w", path, errors.Unwrap(err))
	case info.IsDir():
		return nil, fettle.Errorf(fettle.BadFile, "%s is a folder; name a model file in it", path)
	case info.Size() > intake.MaxBytes:
		return nil, fettle.Errorf(fettle.BadFile, "%s has %d MB, and %d MB is the most that is read; export it coarser", name, info.Size()>>20, intake.MaxBytes>>20)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fettle.Errorf(fettle.BadFile, "%s cannot be read: %w", path, errors.Unwrap(err))
	}
	return data, nil
}

// badFile puts the file's name in front of a reader's fault.
func badFile(name string, err error) error {
	var fault *intake.Fault
	if errors.As(err, &fault) {
		says := fault.Error()
		if !strings.HasPrefix(says, name+": ") { // where no format was found, the file stands for it
			says = name + ": " + says
		}
		return &fettle.Error{Code: fettle.BadFile, Message: says, Err: err}
	}
	return fmt.Errorf("reading %s: %w", name, err)
}

// Below smallestMM a part is taken to be drawn in metres; below doubtMM it is
// taken as millimetres with a remark that inches are as likely.
const smallestMM, doubtMM, largestMM = 0.5, 8, 1500

// unitOf decides in which unit the file's numbers are: what the user said,
// else what the file says, else a guess that is spoken out loud.
func unitOf(raw *intake.Part, asked string) (u fettle.LengthUnit, from, remark string, err error) {
	size := raw.Mesh.Box().Size()
	if raw.InMM { // as the file has it
		size = r3.Scale(1/raw.UnitMM, size)
	}
	as := func(mm float64) string {
		return fmt.Sprintf("%.3g × %.3g × %.3g mm", size.X*mm, size.Y*mm, size.Z*mm)
	}
	if asked != "" {
		u, err = fettle.ParseLengthUnit(asked)
		if err == nil && raw.UnitName != "" && raw.UnitMM != u.MM {
			remark = fmt.Sprintf("the file says %s and was taken as %s because you said so: %s", raw.UnitName, u.Name, as(u.MM))
		}
		return u, "asked", remark, err
	}
	if raw.UnitName != "" {
		if u, err := fettle.ParseLengthUnit(raw.UnitName); err == nil && u.MM == raw.UnitMM {
			return u, "file", "", nil
		}
		return fettle.LengthUnit{Name: raw.UnitName, MM: raw.UnitMM}, "file", "", nil
	}
	largest := max(size.X, size.Y, size.Z)
	u = fettle.LengthUnit{Name: "mm", MM: 1}
	switch {
	case largest < smallestMM:
		u = fettle.LengthUnit{Name: "m", MM: 1000}
		remark = fmt.Sprintf("the file names no unit; taken as m: %s; say --units mm or --units inch if that is wrong", as(1000))
	case largest < doubtMM:
		remark = fmt.Sprintf("the file names no unit; taken as mm: %s; in inches it would be %s: say --units inch if so", as(1), as(fettle.MMPerInch))
	case largest > largestMM:
		remark = fmt.Sprintf("the file names no unit; taken as mm: %s, which is large for this shop; say --units micron or another if that is wrong", as(1))
	default:
		remark = fmt.Sprintf("the file names no unit; taken as mm: %s", as(1))
	}
	return u, "guessed", remark, nil
}
