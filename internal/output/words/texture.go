package words

import (
	"math"
	"strconv"
	"strings"

	"fettle"
	"fettle/internal/output/tongue"
)

// Texture says what a surface measures: the usual numbers first, then lay and
// marks, how it was measured, and the rest as a table.
func (l Voice) Texture(t fettle.Texture, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	p.say("", "%s: %s (%s).", t.File, v.measured(t), t.Format)
	if who := v.by(t); who != "" {
		p.say("", "%s", who)
	}
	first := []string{"Sa", "Sq", "Sz"}
	if t.Kind == "profile" {
		first = []string{"Ra", "Rq", "Rz"}
	}
	p.WriteByte('\n')
	p.say("  ", "%s", v.leading(t.Parameters, first))
	p.WriteByte('\n')
	for _, s := range v.layAndMarks(t) {
		p.item("%s", s)
	}
	p.howMeasured(t.Evaluation)
	for _, n := range t.Notes {
		p.item("%s", v.Sentence(n))
	}
	p.head("All parameters")
	p.table(t.Parameters)
	for _, pr := range t.Profiles {
		if pr.Along == "y" {
			p.head("Column %d, at %s", pr.Row, v.Small(pr.AtMM))
		} else {
			p.head("Row %d, at %s", pr.Row, v.Small(pr.AtMM))
		}
		p.say("  ", "%s", v.leading(pr.Parameters, []string{"Ra", "Rq", "Rz"}))
		p.howMeasured(pr.Evaluation)
		p.table(pr.Parameters)
	}
	return p.String()
}

// measured is the size of what was measured.
func (v voice) measured(t fettle.Texture) string {
	if t.Kind == "profile" {
		return v.Say("a profile of %d points over %s, one every %s", t.Width, v.Small(t.SizeMM[0]), v.pitch(t.SpacingMM[0]))
	}
	long, wide := v.Small(t.SizeMM[0]), v.Small(t.SizeMM[1])
	if math.Abs(t.SpacingMM[0]-t.SpacingMM[1]) > 1e-6*t.SpacingMM[0] {
		return v.Say("a map of %d × %d points over %s × %s, one every %s along x and %s along y", t.Width, t.Height, long, wide, v.pitch(t.SpacingMM[0]), v.pitch(t.SpacingMM[1]))
	}
	return v.Say("a map of %d × %d points over %s × %s, one every %s", t.Width, t.Height, long, wide, v.pitch(t.SpacingMM[0]))
}

// by is who measured, with what and when, as far as the file says.
func (v voice) by(t fettle.Texture) string {
	var s []string
	if t.Instrument != "" && t.Instrument != "none none none" {
		s = append(s, t.Instrument)
	}
	if t.Creator != "" {
		s = append(s, v.Say("by %s", t.Creator))
	}
	if t.Date != "" {
		s = append(s, t.Date)
	}
	if len(s) == 0 {
		return ""
	}
	return v.Say("Made with %s.", plain(commas(s...)))
}

// pitch is the distance of points: micrometres or microinches.
func (v voice) pitch(mm float64) string { return v.height(mm * 1000) }

// three is a number to three figures, without an exponent where it is of usual
// size.
func three(v float64) string {
	if math.Abs(v) < 1e-9 { // what rounding left
		v = 0
	}
	if a := math.Abs(v); v != 0 && (a < 1e-4 || a >= 1e6) {
		return strings.Replace(strconv.FormatFloat(v, 'e', 2, 64), "-", "−", 1)
	}
	digits := 2
	if v != 0 {
		digits = max(0, 2-int(math.Floor(math.Log10(math.Abs(v)))))
	}
	return strings.Replace(strconv.FormatFloat(v, 'f', digits, 64), "-", "−", 1)
}

// height is a measured height to three figures: µm or µin.
func (v voice) height(um float64) string {
	if v.System == fettle.Inch {
		return three(um/0.0254) + " µin"
	}
	return three(um) + " µm"
}

// value is a parameter with its unit in the system wanted.
func (v voice) value(m fettle.Measure) (number, unit string) {
	switch {
	case m.Unit == "µm":
		number, unit, _ = strings.Cut(v.height(m.Value), " ")
	case m.Unit == "mm" && v.System == fettle.Inch:
		number, unit = three(m.Value/fettle.MMPerInch), "in"
	case m.Unit == "deg":
		number, unit = strconv.FormatFloat(m.Value, 'f', 1, 64), "°"
	case m.Unit == "1":
		number = three(m.Value)
	default:
		number, unit = three(m.Value), m.Unit
	}
	return number, unit
}

// leading is the line of numbers that a drawing asks for.
func (v voice) leading(ms fettle.Measures, names []string) string {
	var s []string
	for _, n := range names {
		if um, ok := ms.Get(n); ok {
			s = append(s, n+" "+v.height(um))
		}
	}
	return commas(s...)
}

// layAndMarks says how the marks lie and how far apart they are.
func (v voice) layAndMarks(t fettle.Texture) []string {
	var s []string
	if t.Kind == "map" {
		std, okDir := t.Parameters.Get("Std")
		str, okStr := t.Parameters.Get("Str")
		switch {
		case !okStr:
			s = append(s, v.Say("The map is too small or too flat to tell a lay."))
		case str > 0.5:
			s = append(s, v.Say("No lay: it looks much the same in every direction (Str %s).", three(str)))
		case okDir && str > 0.3:
			s = append(s, v.Say("A weak lay at %.0f° from x towards y (Str %s).", std, three(str)))
		case okDir:
			s = append(s, v.Say("The lay runs at %.0f° from x towards y (Str %s). Measure a profile across it.", std, three(str)))
		}
	}
	if t.PeriodMM != nil {
		s = append(s, v.Say("Regular marks %s apart.", v.pitch3(*t.PeriodMM)))
	}
	if len(t.Peaks) > 0 {
		var w []string
		for _, k := range t.Peaks[:min(3, len(t.Peaks))] {
			w = append(w, v.Say("%s long, %s in amplitude, running at %.0f°", v.pitch3(k.WavelengthMM), v.height(k.AmplitudeUM), k.DirectionDeg))
		}
		s = append(s, v.Say("Waves that stand out: %s.", clauses(w...)))
	}
	if mm, ok := t.Parameters.Get("Rsm"); ok && t.PeriodMM == nil {
		s = append(s, v.Say("No regular marks; its peaks are %s apart on average.", v.pitch3(mm)))
	}
	return s
}

// pitch3 is a spacing of marks to three figures: mm or inches.
func (v voice) pitch3(mm float64) string {
	if v.System == fettle.Inch {
		return three(mm/fettle.MMPerInch) + " in"
	}
	return three(mm) + " mm"
}

// howMeasured says what was done before anything was measured.
func (p *page) howMeasured(e fettle.Evaluation) {
	v := p.v
	form := v.Say("Form taken off: %s.", e.Form.Name)
	switch r := e.Form.RadiusMM; {
	case e.Form.Name == "none":
		form = v.Say("No form taken off.")
	case r != nil && *r > 0:
		form = v.Say("Form taken off: %s, a crest of radius %s.", e.Form.Name, v.Length(*r))
	case r != nil:
		form = v.Say("Form taken off: %s, a hollow of radius %s.", e.Form.Name, v.Length(-*r))
	}
	if e.CutoffMM == nil {
		p.item("%s", sentences(form, v.Sentence(e.CutoffFrom)))
		return
	}
	ends := v.Say("ends kept")
	if e.FilterEnds == "dropped" {
		ends = v.Say("half a cut-off dropped at each end")
	}
	if e.Sections > 0 {
		ends = v.Count(e.Sections, "%[2]s, 1 section", "%[2]s, %[1]d sections", ends)
	}
	if e.CutoffFrom == "asked" {
		p.item("%s", sentences(form, v.Say("Cut-off %g mm, %s; as asked for.", *e.CutoffMM, ends)))
	} else {
		p.item("%s", sentences(form, v.Say("Cut-off %g mm, %s; chosen by %s.", *e.CutoffMM, ends, plain(e.CutoffFrom))))
	}
}

// meanings say in a few words what a parameter tells, by its letters after the first.
var meanings = map[string]tongue.Key{
	"a": "mean distance from the middle", "q": "root mean square height", "z": "highest peak to deepest pit", "t": "highest peak to deepest pit, whole length",
	"p": "highest peak", "v": "deepest pit", "sk": "under 0 pits, over 0 peaks", "ku": "3 for random, more for spikes",
	"dq": "root mean square slope", "dr": "surface gained over flat", "k": "height of the core that carries", "pk": "peaks that wear off first", "vk": "valleys that hold oil",
	"r1": "share of peaks", "r2": "share above the valleys", "mr1": "share of peaks", "mr2": "share above the valleys", "al": "distance after which it is new", "tr": "0 lay, 1 none", "td": "direction of the lay",
	"sm": "mean spacing of peaks", "zx": "highest in any section",
}

// meaning is that of a name such as Sa or Rz_sections.
func (v voice) meaning(name string) string {
	short, sections := strings.CutSuffix(name, "_sections")
	switch {
	case sections:
		return v.Say("ISO 4287: mean over the sections")
	case name == "Rz":
		return v.Say("highest peak to deepest pit, mean of the sections")
	case name == "Rp":
		return v.Say("highest peak, mean of the sections")
	case name == "Rv":
		return v.Say("deepest pit, mean of the sections")
	}
	return meanings[strings.ToLower(short[min(1, len(short)):])].In(v.Tongue)
}

// table lists parameters under each other.
func (p *page) table(ms fettle.Measures) {
	v := p.v
	for _, m := range ms {
		number, unit := v.value(m)
		line := "  " + pad(m.Name, 13) + padLeft(number, 9) + " " + pad(unit, 5) + v.meaning(m.Name)
		p.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}
