package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle"
)

// Texture says what a surface measures: the usual numbers first, then lay and
// marks, how it was measured, and the rest as a table.
func Texture(t fettle.Texture, sys fettle.System) string {
	var p page
	p.say("", "%s: %s (%s).", t.File, measured(t, sys), t.Format)
	if who := by(t); who != "" {
		p.say("", "%s", who)
	}
	first := []string{"Sa", "Sq", "Sz"}
	if t.Kind == "profile" {
		first = []string{"Ra", "Rq", "Rz"}
	}
	p.WriteByte('\n')
	p.say("  ", "%s", leading(t.Parameters, first, sys))
	p.WriteByte('\n')
	for _, s := range layAndMarks(t, sys) {
		p.item("%s", s)
	}
	howMeasured(&p, t.Evaluation, sys)
	for _, n := range t.Notes {
		p.item("%s", sentence(n))
	}
	p.head("All parameters")
	table(&p, t.Parameters, sys)
	for _, pr := range t.Profiles {
		line := "Row"
		if pr.Along == "y" {
			line = "Column"
		}
		p.head(fmt.Sprintf("%s %d, at %s", line, pr.Row, sys.Small(pr.AtMM)))
		p.say("  ", "%s", leading(pr.Parameters, []string{"Ra", "Rq", "Rz"}, sys))
		howMeasured(&p, pr.Evaluation, sys)
		table(&p, pr.Parameters, sys)
	}
	return p.String()
}

// measured is the size of what was measured.
func measured(t fettle.Texture, sys fettle.System) string {
	if t.Kind == "profile" {
		return fmt.Sprintf("a profile of %d points over %s, one every %s", t.Width, sys.Small(t.SizeMM[0]), pitch(t.SpacingMM[0], sys))
	}
	apart := pitch(t.SpacingMM[0], sys)
	if math.Abs(t.SpacingMM[0]-t.SpacingMM[1]) > 1e-6*t.SpacingMM[0] {
		apart += " along x and " + pitch(t.SpacingMM[1], sys) + " along y"
	}
	return fmt.Sprintf("a map of %d × %d points over %s × %s, one every %s", t.Width, t.Height, sys.Small(t.SizeMM[0]), sys.Small(t.SizeMM[1]), apart)
}

// by is who measured, with what and when, as far as the file says.
func by(t fettle.Texture) string {
	var s []string
	if t.Instrument != "" && t.Instrument != "none none none" {
		s = append(s, "instrument "+t.Instrument)
	}
	if t.Creator != "" {
		s = append(s, "by "+t.Creator)
	}
	if t.Date != "" {
		s = append(s, t.Date)
	}
	if len(s) == 0 {
		return ""
	}
	return sentence("Made with " + strings.TrimPrefix(strings.Join(s, ", "), "instrument "))
}

// pitch is the distance of points: micrometres or microinches.
func pitch(mm float64, sys fettle.System) string { return height(mm*1000, sys) }

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
func height(um float64, sys fettle.System) string {
	if sys == fettle.Inch {
		return three(um/0.0254) + " µin"
	}
	return three(um) + " µm"
}

// value is a parameter with its unit in the system wanted.
func value(m fettle.Measure, sys fettle.System) (number, unit string) {
	switch {
	case m.Unit == "µm":
		number, unit, _ = strings.Cut(height(m.Value, sys), " ")
	case m.Unit == "mm" && sys == fettle.Inch:
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
func leading(ms fettle.Measures, names []string, sys fettle.System) string {
	var s []string
	for _, n := range names {
		if v, ok := ms.Get(n); ok {
			s = append(s, n+" "+height(v, sys))
		}
	}
	return strings.Join(s, ", ")
}

// layAndMarks says how the marks lie and how far apart they are.
func layAndMarks(t fettle.Texture, sys fettle.System) []string {
	var s []string
	if t.Kind == "map" {
		std, okDir := t.Parameters.Get("Std")
		str, okStr := t.Parameters.Get("Str")
		switch {
		case !okStr:
			s = append(s, "The map is too small or too flat to tell a lay.")
		case str > 0.5:
			s = append(s, fmt.Sprintf("No lay: it looks much the same in every direction (Str %s).", three(str)))
		case okDir && str > 0.3:
			s = append(s, fmt.Sprintf("A weak lay at %.0f° from x towards y (Str %s).", std, three(str)))
		case okDir:
			s = append(s, fmt.Sprintf("The lay runs at %.0f° from x towards y (Str %s). Measure a profile across it.", std, three(str)))
		}
	}
	if t.PeriodMM != nil {
		s = append(s, fmt.Sprintf("Regular marks %s apart.", pitch3(*t.PeriodMM, sys)))
	}
	if len(t.Peaks) > 0 {
		var w []string
		for _, k := range t.Peaks[:min(3, len(t.Peaks))] {
			w = append(w, fmt.Sprintf("%s long, %s in amplitude, running at %.0f°", pitch3(k.WavelengthMM, sys), height(k.AmplitudeUM, sys), k.DirectionDeg))
		}
		s = append(s, "Waves that stand out: "+strings.Join(w, "; ")+".")
	}
	if v, ok := t.Parameters.Get("Rsm"); ok && t.PeriodMM == nil {
		s = append(s, fmt.Sprintf("No regular marks; its peaks are %s apart on average.", pitch3(v, sys)))
	}
	return s
}

// pitch3 is a spacing of marks to three figures: mm or inches.
func pitch3(mm float64, sys fettle.System) string {
	if sys == fettle.Inch {
		return three(mm/fettle.MMPerInch) + " in"
	}
	return three(mm) + " mm"
}

// howMeasured says what was done before anything was measured.
func howMeasured(p *page, e fettle.Evaluation, sys fettle.System) {
	form := "Form taken off: " + e.Form.Name
	switch {
	case e.Form.Name == "none":
		form = "No form taken off"
	case e.Form.RadiusMM != nil && *e.Form.RadiusMM > 0:
		form += fmt.Sprintf(", a crest of radius %s", sys.Length(*e.Form.RadiusMM))
	case e.Form.RadiusMM != nil:
		form += fmt.Sprintf(", a hollow of radius %s", sys.Length(-*e.Form.RadiusMM))
	}
	if e.CutoffMM == nil {
		p.item("%s. %s", form, sentence(e.CutoffFrom))
		return
	}
	ends := "ends kept"
	if e.FilterEnds == "dropped" {
		ends = "half a cut-off dropped at each end"
	}
	if e.Sections > 0 {
		ends += fmt.Sprintf(", %s", count(e.Sections, "section"))
	}
	p.item("%s. Cut-off %g mm, %s; %s", form, *e.CutoffMM, ends, stop(chosen(e.CutoffFrom)))
}

func chosen(from string) string {
	if from == "asked" {
		return "as asked for"
	}
	return "chosen by " + from
}

// meanings say in a few words what a parameter tells.
var meanings = map[string]string{
	"a": "mean distance from the middle", "q": "root mean square height", "z": "highest peak to deepest pit", "t": "highest peak to deepest pit, whole length",
	"p": "highest peak", "v": "deepest pit", "sk": "under 0 pits, over 0 peaks", "ku": "3 for random, more for spikes",
	"dq": "root mean square slope", "dr": "surface gained over flat", "k": "height of the core that carries", "pk": "peaks that wear off first", "vk": "valleys that hold oil",
	"r1": "share of peaks", "r2": "share above the valleys", "mr1": "share of peaks", "mr2": "share above the valleys", "al": "distance after which it is new", "tr": "0 lay, 1 none", "td": "direction of the lay",
	"sm": "mean spacing of peaks", "zx": "highest in any section",
}

// meaning is that of a name such as Sa or Rz_sections.
func meaning(name string) string {
	short, sections := strings.CutSuffix(name, "_sections")
	m := meanings[strings.ToLower(short[min(1, len(short)):])]
	if name == "Rz" || name == "Rp" || name == "Rv" {
		m += ", mean of the sections"
	}
	if sections {
		m = "ISO 4287: mean over the sections"
	}
	return m
}

// table lists parameters under each other.
func table(p *page, ms fettle.Measures, sys fettle.System) {
	pad := func(s string, n int) string { return strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s))) }
	for _, m := range ms {
		number, unit := value(m, sys)
		line := "  " + m.Name + pad(m.Name, 13) + pad(number, 9) + number + " " + unit + pad(unit, 5) + meaning(m.Name)
		p.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}
