package surface

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"

	"fettle/internal/format/intake"
)

// textReader is a text with what its head said.
type textReader struct {
	t    *table
	out  *Surface
	said said
}

// said is what is known of a text before its numbers: factors to millimetres
// with the names of the units, and the grid.
type said struct {
	xmm, zmm     float64
	xname, zname string
	dx, dy       float64 // mm; 0 where nothing was said
	x0, y0       float64
	matrix       bool // the file says that its lines are rows of a map
}

// lengths are the units that texts use, in millimetres.
var lengths = map[string]float64{
	"nm": 1e-6, "nanometer": 1e-6, "nanometre": 1e-6, "å": 1e-7,
	"um": 1e-3, "µm": 1e-3, "μm": 1e-3, "micron": 1e-3, "microns": 1e-3, "micrometer": 1e-3, "micrometre": 1e-3, "mic": 1e-3,
	"mm": 1, "millimeter": 1, "millimetre": 1, "cm": 10, "m": 1000,
	"in": 25.4, "inch": 25.4, "inches": 25.4, "mil": 0.0254, "mils": 0.0254, "thou": 0.0254,
	"uin": 25.4e-6, "µin": 25.4e-6, "μin": 25.4e-6, "microinch": 25.4e-6,
}

// Unit is a unit of length by its name, as millimetres.
func Unit(name string) (mm float64, ok bool) {
	mm, ok = lengths[strings.ToLower(strings.TrimSpace(name))]
	return mm, ok
}

var (
	// bracketed finds a unit in brackets or behind a stroke: "x (mm)", "z [µm]".
	bracketed = regexp.MustCompile(`[\[(/]\s*([A-Za-zµμÅå]{1,11})\s*(?:[\])\s,;"]|$)`)
	// keyed finds lines such as "dx = 0.5 µm" and "z unit: nm".
	keyed = regexp.MustCompile(`(?i)^\W*(dx|dy|x0|y0|x[ _-]?(?:spacing|step|increment|interval)|y[ _-]?(?:spacing|step|increment|interval)|spacing|sampling(?: interval)?|x[ _-]?units?|z[ _-]?units?)\s*[=:,;\t]\s*"?([^\s;,"]*(?:,\d+)?)[\s;]*[\[(]?\s*([A-Za-zµμÅå]*)`)
)

// headOf reads what stands before the first row of numbers, and settles how the
// rows are written.
func headOf(data []byte, opt Options) (*textReader, error) {
	t := &table{data: data}
	r := &textReader{t: t, out: &Surface{Format: textName}}
	var found []string // units, in order
	var title string
	for {
		pos, no := t.pos, t.line
		line, ok := t.rawLine()
		if !ok {
			return nil, &intake.Fault{Format: textName, What: "there are no numbers in it", Try: "export the measurement as X3P, SDF or text"}
		}
		s := bytes.TrimSpace(line)
		if len(s) == 0 {
			continue
		}
		comment := s[0] == '#' || s[0] == '%' || s[0] == '!' || bytes.HasPrefix(s, []byte("//")) || s[0] == ';' && bytes.IndexFunc(s, letter) >= 0
		if !comment && t.settle(s, pos) {
			t.pos, t.line = pos, no
			break
		}
		if no > 1000 {
			return nil, &intake.Fault{Format: textName, What: "the first thousand lines hold no row of numbers", Try: "export the measurement as X3P, SDF or text"}
		}
		text := string(s[:min(len(s), 1000)])
		if r.key(text) {
			continue
		}
		for _, m := range bracketed.FindAllStringSubmatch(text, 4) {
			if _, ok := Unit(m[1]); ok {
				found = append(found, m[1])
			}
		}
		found = append(found, onlyUnits(text)...)
		if title == "" {
			title = words(strings.TrimLeft(text, "#%!;/ "))
		}
	}
	r.out.Comment = title
	return r, r.settleUnits(found, opt)
}

// onlyUnits are the words of a line that holds nothing but units.
func onlyUnits(text string) []string {
	all := strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune("#%!;,\t \"", c) })
	for _, w := range all {
		if _, ok := Unit(w); !ok {
			return nil
		}
	}
	return all
}

func letter(c rune) bool { return c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' }

// key takes a line of the head that gives a value.
func (r *textReader) key(text string) bool {
	if strings.Contains(strings.ToLower(text), "heights by row") {
		r.said.matrix = true
	}
	m := keyed.FindStringSubmatch(text)
	if m == nil {
		return false
	}
	name := strings.ToLower(m[1])
	if strings.Contains(name, "unit") {
		mm, ok := Unit(m[2])
		if !ok {
			return false
		}
		if name[0] == 'x' {
			r.said.xmm, r.said.xname = mm, m[2]
		} else {
			r.said.zmm, r.said.zname = mm, m[2]
		}
		return true
	}
	v, ok := intake.ParseFloat([]byte(strings.Replace(m[2], ",", ".", 1)))
	if !ok {
		return false
	}
	mm := 1.0
	if m[3] != "" {
		if mm, ok = Unit(m[3]); !ok {
			return false
		}
	} else if v != 0 {
		r.out.note("%q gives no unit; it was taken as mm", intake.Printable([]byte(text)))
	}
	v *= mm
	switch {
	case name == "x0":
		r.said.x0 = v
	case name == "y0":
		r.said.y0 = v
	case !spacing(v):
		return false
	case name[0] == 'y' || name == "dy":
		r.said.dy = v
	default:
		r.said.dx = v
	}
	return true
}

// settle reports whether a line is a row of numbers, and if so how fields are
// separated and which decimal sign is used, from it and the lines after it. The
// line begins at byte at, and was read last.
func (t *table) settle(line []byte, at int) bool {
	if !hasDigit(line) {
		return false
	}
	sample := t.data[at:min(len(t.data), at+1<<14)]
	dots, anyComma := bytes.IndexByte(sample, '.') >= 0, bytes.IndexByte(sample, ',') >= 0
	commas := bytes.IndexByte(line, ',') >= 0
	t.sep, t.comma, t.cols, t.more = ' ', false, 0, false
	switch {
	case bytes.IndexByte(line, ';') >= 0:
		t.sep, t.comma = ';', anyComma && !dots
	case bytes.IndexByte(line, '\t') >= 0 && !(commas && dots):
		t.sep, t.comma = '\t', anyComma && !dots
	case commas && (dots || bytes.Contains(line, []byte(", ")) || bytes.Contains(line, []byte(" ,")) || !t.decimal(line)):
		t.sep = ','
	case anyComma && !dots:
		t.comma = true
	}
	row := t.split(line)
	t.cols = len(row)
	if t.cols > 1 && t.sep != ' ' && len(row[t.cols-1]) == 0 && t.allEmptyEnds() {
		t.more, t.cols = true, t.cols-1
	}
	any := false
	for _, f := range row[:t.cols] {
		v, ok := t.number(f)
		if !ok {
			t.sep, t.cols = 0, 0
			return false
		}
		any = any || v == v
	}
	return any
}

// decimal reports whether the commas of a line without dots and semicolons are
// decimal signs: one in each word between blanks; and where there is but one
// word, when what stands before them does not count up from line to line as
// places along a profile do.
func (t *table) decimal(line []byte) bool {
	fields := bytes.Fields(line)
	for _, f := range fields {
		if bytes.Count(f, []byte{','}) > 1 {
			return false
		}
	}
	if len(fields) > 1 {
		return true
	}
	pos, no := t.pos, t.line
	defer func() { t.pos, t.line = pos, no }()
	last, ok := intake.ParseFloat(bytes.Split(fields[0], []byte{','})[0])
	step, rows := 0.0, 0
	for ok && rows < 50 {
		l, more := t.rawLine()
		if !more {
			break
		}
		before, after, cut := bytes.Cut(bytes.TrimSpace(l), []byte{','})
		v, whole := intake.ParseFloat(before)
		if _, digits := intake.ParseFloat(append([]byte{'.'}, after...)); cut && !(whole && v == v && digits) {
			return false // such as "3,NaN" or "3,-1": no number has a comma there
		}
		if !cut || v == last || step != 0 && v-last != step {
			return true
		}
		step, last = v-last, v
		rows++
	}
	return rows < 2
}

// allEmptyEnds reports whether the rows that follow end with a separator too.
func (t *table) allEmptyEnds() bool {
	pos, no := t.pos, t.line
	defer func() { t.pos, t.line = pos, no }()
	for range 1000 {
		l, ok := t.rawLine()
		if !ok {
			break
		}
		if l = bytes.TrimRight(l, " "); len(l) > 0 && l[len(l)-1] != t.sep {
			return false
		}
	}
	return true
}

// settleUnits chooses the units: what was asked for, else what the head says,
// else what is usual, said aloud.
func (r *textReader) settleUnits(found []string, opt Options) error {
	s := &r.said
	if n := len(found); n > 0 {
		if s.zmm == 0 {
			s.zname = found[n-1]
			s.zmm, _ = Unit(s.zname)
		}
		if s.xmm == 0 {
			s.xname = found[0]
			s.xmm, _ = Unit(s.xname)
		}
	}
	for _, o := range []struct {
		asked string
		mm    *float64
		name  *string
	}{{opt.XUnit, &s.xmm, &s.xname}, {opt.ZUnit, &s.zmm, &s.zname}} {
		if o.asked == "" {
			continue
		}
		mm, ok := Unit(o.asked)
		if !ok {
			return &intake.Fault{Format: textName, What: fmt.Sprintf("the unit %q is not known", intake.Printable([]byte(o.asked))), Try: "use nm, µm, mm, m, in, mil or µin"}
		}
		*o.mm, *o.name = mm, o.asked
	}
	places := (r.t.cols == 2 || r.t.cols == 3) && !s.matrix
	guessed := []string{}
	if s.xmm == 0 {
		s.xmm, s.xname = 1, "mm"
		if places {
			guessed = append(guessed, "places as mm")
		}
	}
	if s.zmm == 0 {
		s.zmm, s.zname = 1e-3, "µm"
		guessed = append(guessed, "heights as µm")
	}
	if len(guessed) > 0 {
		r.out.note("the file does not name all its units; taken: %s", strings.Join(guessed, ", "))
	}
	if opt.DX > 0 && !places {
		if s.dx > 0 && s.dx != opt.DX {
			r.out.note("the file says a spacing of %g mm and was read with %g mm because you said so", s.dx, opt.DX)
		}
		s.dx, s.dy = opt.DX, opt.DY
	}
	if s.dy == 0 {
		s.dy = s.dx
	}
	return nil
}
