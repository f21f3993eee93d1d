package sampling

import (
	"fmt"
	"math"
	"strconv"

	"fettle"
)

// mostOpenings keeps the record of a part like a sieve within a few pages.
const mostOpenings = 60

// firsts makes the lines of a first-article record.
type firsts struct {
	plan    *fettle.Plan
	sys     fettle.System
	limits  []fettle.AcceptLimit
	general []float64
	out     []fettle.FirstArticle
	notes   []string
}

func (f *firsts) add(a fettle.FirstArticle) {
	a.Number = len(f.out) + 1
	f.out = append(f.out, a)
}

// lines are what is measured and looked at on the first finished piece: sizes,
// openings, the texture of each show zone, edges, marks and media.
func (f *firsts) lines() []fettle.FirstArticle {
	s := f.plan.Survey
	for k, what := range []string{"Overall size along X", "Overall size along Y", "Overall size along Z"} {
		f.size(what, "", s.SizeMM[k])
	}
	for i, o := range s.Openings {
		if i == mostOpenings {
			f.notes = append(f.notes, fmt.Sprintf("The first %d openings are listed; measure the other %d as the drawing says.", mostOpenings, len(s.Openings)-mostOpenings))
			break
		}
		f.opening(o)
	}
	switch {
	case len(f.out) == 0:
	case f.general == nil:
		f.notes = append(f.notes, "Sizes are the model's after finishing; their tolerances stand on the drawing, so whether a size is right is written by hand.")
	default:
		f.notes = append(f.notes, "Sizes are the model's after finishing, with the general tolerances that the drawing names; a tolerance beside a size wins.")
	}
	zones := 0
	for _, z := range f.plan.Zones {
		if z.Class == fettle.Show {
			zones++
			f.face(z.ID, z.Name)
		}
	}
	if zones == 0 {
		f.face("", "")
	}
	for _, l := range f.limits {
		if l.Kind == fettle.ReadJammed {
			f.add(fettle.FirstArticle{What: "Openings that hold media", Wanted: "0", High: l.High})
		}
	}
	return f.out
}

// mm is a length in a person's unit.
func (f *firsts) mm(v float64) (float64, string) {
	if f.sys == fettle.Inch {
		return v / fettle.MMPerInch, "in"
	}
	return v, "mm"
}

// size is a line for a nominal length in mm; none for no length.
func (f *firsts) size(what, place string, mm float64) {
	if !(mm > 0) {
		return
	}
	v, unit := f.mm(mm)
	a := fettle.FirstArticle{What: what, Place: place, Name: place, Unit: unit, Wanted: f.length(v)}
	if d := deviation(f.general, mm); d > 0 {
		dv, _ := f.mm(d)
		lo, hi := v-dv, v+dv
		a.Low, a.High = &lo, &hi
		a.Wanted += " ± " + figures(dv)
	}
	a.Wanted += " " + unit
	f.add(a)
}

// length shows a length to a digit more than it is judged by.
func (f *firsts) length(v float64) string {
	if f.sys == fettle.Inch {
		return strconv.FormatFloat(v, 'f', 4, 64)
	}
	return strconv.FormatFloat(v, 'f', 3, 64)
}

func (f *firsts) opening(o fettle.Opening) {
	switch o.Kind {
	case fettle.Hole:
		f.size("Diameter", o.ID, o.WidthMM)
		if o.WidestMM > o.WidthMM*1.001 {
			f.size("Largest diameter at the mouth", o.ID, o.WidestMM)
		}
	default:
		f.size("Width", o.ID, o.WidthMM)
		if o.WidestMM > o.WidthMM*1.001 {
			f.size("Largest width at the mouth", o.ID, o.WidestMM)
		}
		f.size("Length", o.ID, o.LengthMM)
	}
	if !o.Through && o.Kind != fettle.Gap {
		f.size("Depth", o.ID, o.DepthMM)
	}
}

// face are the lines of a show zone: texture, edges, marks.
func (f *firsts) face(zone, name string) {
	for _, l := range f.limits {
		switch l.Kind {
		case fettle.ReadRa, fettle.ReadRz, fettle.ReadSq, fettle.ReadGloss, fettle.ReadGrade:
			f.texture(l, zone, name)
		}
	}
	f.edges(zone, name)
	for _, l := range f.limits {
		if l.Kind != fettle.ReadMarkGone {
			continue
		}
		a := fettle.FirstArticle{What: "Older marks: write 1 where they are gone, 0 where one shows", Place: zone, Name: name, Wanted: "1", Low: l.Low}
		if l.Low == nil {
			a.What, a.Wanted = "Older marks beside the sample", "no worse"
		}
		f.add(a)
	}
}

var textures = map[fettle.ReadingKind]string{
	fettle.ReadRa: "Roughness Ra", fettle.ReadRz: "Roughness Rz", fettle.ReadSq: "Roughness Sq",
	fettle.ReadGloss: "Gloss at 60°", fettle.ReadGrade: "Grade on the comparison plate, N",
}

func (f *firsts) texture(l fettle.AcceptLimit, zone, name string) {
	k, unit := 1.0, l.Unit
	switch l.Kind {
	case fettle.ReadRa, fettle.ReadRz, fettle.ReadSq:
		if f.sys == fettle.Inch {
			k, unit = 1/umPerMicroinch, "µin"
		}
	}
	a := fettle.FirstArticle{What: textures[l.Kind], Place: zone, Name: name, Unit: unit}
	show := func(p *float64) (string, *float64) {
		if p == nil {
			return "", nil
		}
		s := figures(*p * k)
		v, _ := strconv.ParseFloat(s, 64) // held as printed, so that paper and judgement cannot differ
		return s, &v
	}
	var lo, hi string
	lo, a.Low = show(l.Low)
	hi, a.High = show(l.High)
	switch {
	case lo != "" && hi != "":
		a.Wanted = lo + " – " + hi
	case hi != "":
		a.Wanted = "≤ " + hi
	case lo != "":
		a.Wanted = "≥ " + lo
	}
	if unit != "" {
		a.Wanted += " " + unit
	}
	f.add(a)
}

// edges: the drawing's largest radius, else the look's.
func (f *firsts) edges(zone, name string) {
	most := f.plan.Brief.EdgeMaxUM
	if most == 0 {
		most = f.plan.Look.EdgeUM.High
	}
	if !(most > 0) {
		return
	}
	unit, v := "µm", most
	if f.sys == fettle.Inch {
		unit, v = "thou", most/25.4
	}
	s := figures(v)
	v, _ = strconv.ParseFloat(s, 64)
	f.add(fettle.FirstArticle{What: "Edge radius", Place: zone, Name: name, Unit: unit, High: &v, Wanted: "≤ " + s + " " + unit})
}

// Record writes what was measured into a line of the first-article record, in the
// line's unit, and says whether it is right where the limits are numbers. The error is
// NotFound for a line that is not there and Invalid for a number that cannot be.
func Record(acc *fettle.Acceptance, number int, measured float64) error {
	if acc == nil {
		return fettle.Errorf(fettle.Invalid, "there is no acceptance to write into; make one first")
	}
	if math.IsNaN(measured) || math.IsInf(measured, 0) {
		return fettle.Errorf(fettle.Invalid, "line %d cannot have measured %g; write the number that was read", number, measured)
	}
	for i := range acc.First {
		l := &acc.First[i]
		if l.Number != number {
			continue
		}
		if measured < 0 {
			return fettle.Errorf(fettle.Invalid, "line %d, %s, cannot have measured %g; look at the sign", number, l.What, measured)
		}
		l.Measured, l.Right = &measured, nil
		if l.Low != nil || l.High != nil {
			right := within(measured, l.Low, l.High)
			l.Right = &right
		}
		return nil
	}
	return fettle.Errorf(fettle.NotFound, "the record of the first article has no line %d; it has %d lines", number, len(acc.First))
}

// within compares as hands read: a limit itself is inside.
func within(v float64, lo, hi *float64) bool {
	const eps = 1e-9
	return (lo == nil || v >= *lo-eps*math.Abs(*lo)) && (hi == nil || v <= *hi+eps*math.Abs(*hi))
}
