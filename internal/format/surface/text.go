package surface

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"unicode/utf16"

	"fettle/internal/format/intake"
)

// textName is how delimited text is called.
const textName = "text"

// plainText gives text without its byte-order mark, in UTF-8; nil for bytes
// that are no text.
func plainText(data []byte) []byte {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		order = binary.LittleEndian
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		order = binary.BigEndian
	default:
		data = bytes.TrimPrefix(data, bom)
		if bytes.IndexByte(data[:min(len(data), 1<<14)], 0) >= 0 {
			return nil
		}
		return data
	}
	u := make([]uint16, (len(data)-2)/2)
	for i := range u {
		u[i] = order.Uint16(data[2+2*i:])
	}
	return []byte(string(utf16.Decode(u)))
}

// table reads lines of numbers.
type table struct {
	data  []byte
	pos   int
	line  int  // of the row read last, from 1
	sep   byte // between fields; ' ' for any blanks
	comma bool // the decimal sign is a comma
	cols  int  // of every row
	more  bool // rows end with a separator that counts for nothing
	row   [][]byte
	num   []byte
}

// fault is one at the row read last.
func (t *table) fault(what string, args ...any) error {
	return &intake.Fault{Format: textName, What: fmt.Sprintf(what, args...), Where: fmt.Sprintf("line %d", t.line), Try: "export it again, or take that line out"}
}

// rawLine is the next line without blanks at its end; ok is false behind the
// last.
func (t *table) rawLine() (line []byte, ok bool) {
	if t.pos >= len(t.data) {
		return nil, false
	}
	d := t.data[t.pos:]
	k := bytes.IndexAny(d[:min(len(d), 1<<12)], "\r\n")
	if k < 0 {
		if k = bytes.IndexAny(d, "\r\n"); k < 0 {
			k = len(d)
		}
	}
	t.pos += k
	if k < len(d) {
		t.pos++
		if d[k] == '\r' && k+1 < len(d) && d[k+1] == '\n' {
			t.pos++
		}
	}
	t.line++
	return d[:k], true
}

// remark reports whether a line holds no data: empty, or a comment.
func (t *table) remark(line []byte) bool {
	s := bytes.TrimSpace(line)
	if len(s) == 0 {
		return t.sep != '\t' || len(line) == 0 || t.cols < 2
	}
	return s[0] == '#' || s[0] == '%' || s[0] == '!' || s[0] == '"' && !hasDigit(s) || s[0] == ';' && t.sep != ';' || bytes.HasPrefix(s, []byte("//"))
}

func hasDigit(s []byte) bool { return bytes.ContainsAny(s, "0123456789") }

// split cuts a line into fields, without blanks and quotes around them.
func (t *table) split(line []byte) [][]byte {
	t.row = t.row[:0]
	if t.sep == ' ' {
		for i := 0; i < len(line); {
			for i < len(line) && (line[i] == ' ' || line[i] == '\t') {
				i++
			}
			from := i
			for i < len(line) && line[i] != ' ' && line[i] != '\t' {
				i++
			}
			if i > from {
				t.row = append(t.row, line[from:i])
			}
		}
		return t.row
	}
	for {
		k := bytes.IndexByte(line, t.sep)
		if k < 0 {
			t.row = append(t.row, trim(line))
			return t.row
		}
		t.row = append(t.row, trim(line[:k]))
		line = line[k+1:]
	}
}

// trim takes blanks and quotes off a field.
func trim(s []byte) []byte {
	for len(s) > 0 && (s[0] == ' ' || s[0] == '\t' || s[0] == '"') {
		s = s[1:]
	}
	for len(s) > 0 && (s[len(s)-1] == ' ' || s[len(s)-1] == '\t' || s[len(s)-1] == '"') {
		s = s[:len(s)-1]
	}
	return s
}

// number reads a field; not-a-number for one that says that nothing was
// measured.
func (t *table) number(f []byte) (v float64, ok bool) {
	if t.comma && bytes.IndexByte(f, ',') >= 0 {
		t.num = append(t.num[:0], f...)
		t.num[bytes.IndexByte(t.num, ',')] = '.'
		f = t.num
	}
	if v, ok = intake.ParseFloat(f); ok {
		if math.IsInf(v, 0) {
			v = math.NaN()
		}
		return v, true
	}
	return math.NaN(), gap(f)
}

// gap reports whether a field says that there is no height.
func gap(f []byte) bool {
	if len(bytes.Trim(f, "*")) == 0 || len(bytes.Trim(f, "-")) == 0 || len(bytes.Trim(f, "?")) == 0 {
		return true
	}
	for _, w := range []string{"bad", "n/a", "na", "null", "none", "missing", "invalid"} {
		if intake.Is(f, w) {
			return true
		}
	}
	return false
}

// next is the next row of data: nil at the end of the file.
func (t *table) next() ([][]byte, error) {
	for {
		line, ok := t.rawLine()
		if !ok {
			return nil, nil
		}
		if t.remark(line) {
			continue
		}
		row := t.split(line)
		if t.more && len(row) == t.cols+1 && len(row[t.cols]) == 0 {
			row = row[:t.cols]
		}
		if len(row) != t.cols {
			return nil, t.fault("this line has %d values and the first %d", len(row), t.cols)
		}
		return row, nil
	}
}

// cell reads one field of a row.
func (t *table) cell(f []byte) (float64, error) {
	v, ok := t.number(f)
	if !ok {
		return v, t.fault("%q stands where a number should", intake.Printable(f))
	}
	return v, nil
}

// readText reads delimited text.
func readText(data []byte, opt Options) (*Surface, error) {
	r, err := headOf(data, opt)
	if err != nil {
		return nil, err
	}
	switch {
	case r.said.matrix || r.t.cols == 1 || r.t.cols > 3:
		return r.grid(r.t.cols)
	case r.t.cols == 2:
		return r.profile()
	}
	return r.points()
}

// rows counts the rows of data from here and goes back.
func (t *table) rows() (int, error) {
	pos, line := t.pos, t.line
	n := 0
	for {
		row, err := t.next()
		if err != nil {
			return 0, err
		}
		if row == nil {
			break
		}
		n++
	}
	t.pos, t.line = pos, line
	return n, nil
}

// needSpacing refuses heights that come without a spacing.
func (r *textReader) needSpacing() error {
	if r.said.dx > 0 {
		return nil
	}
	return &intake.Fault{Format: textName, What: "it holds heights and not how far apart they were measured", Try: "give the spacing with --spacing MM, or put a line such as \"# dx = 0.5 µm\" at its top"}
}

// grid reads heights that come without their places: one a line for a profile,
// else a row of a map a line, the first at y = 0.
func (r *textReader) grid(cols int) (*Surface, error) {
	if err := r.needSpacing(); err != nil {
		return nil, err
	}
	rows, err := r.t.rows()
	if err != nil {
		return nil, err
	}
	if err := size(textName, "", int64(cols), int64(rows)); err != nil {
		return nil, err
	}
	f := newFiller(cols, rows, r.said.dx, r.said.dy)
	f.m.X0, f.m.Y0 = offset(r.said.x0), offset(r.said.y0)
	if cols == 1 && !r.said.matrix { // dx runs down the column, which done turns into a row
		f.m.DY, f.m.X0, f.m.Y0 = f.m.DX, f.m.Y0, f.m.X0
	}
	for i := 0; ; {
		row, err := r.t.next()
		if err != nil {
			return nil, err
		}
		if row == nil {
			break
		}
		for _, c := range row {
			z, err := r.t.cell(c)
			if err != nil {
				return nil, err
			}
			f.put(i, z*r.said.zmm)
			i++
		}
	}
	r.out.Units = "z " + r.said.zname
	return f.done(r.out)
}

// profile reads x and z.
func (r *textReader) profile() (*Surface, error) {
	n, err := r.t.rows()
	if err != nil {
		return nil, err
	}
	if err := size(textName, "", int64(n), 1); err != nil {
		return nil, err
	}
	x := make([]float64, 0, n)
	f := newFiller(n, 1, 1, 1)
	coarse := 0.0
	for i := 0; ; i++ {
		row, err := r.t.next()
		if err != nil {
			return nil, err
		}
		if row == nil {
			break
		}
		v, err := r.t.cell(row[0])
		if err != nil {
			return nil, err
		}
		z, err := r.t.cell(row[1])
		if err != nil {
			return nil, err
		}
		if v != v {
			return nil, r.t.fault("there is no place beside this height")
		}
		x = append(x, v)
		coarse = max(coarse, r.t.digit(row[0]))
		f.put(i, z*r.said.zmm)
	}
	if n < 2 {
		return f.done(r.out)
	}
	step := (x[n-1] - x[0]) / float64(n-1)
	if step < 0 {
		for a, b := 0, n-1; a < b; a, b = a+1, b-1 {
			x[a], x[b] = x[b], x[a]
			f.m.Z[a], f.m.Z[b] = f.m.Z[b], f.m.Z[a]
		}
		step = -step
		r.out.note("its points run backwards and were turned round")
	}
	for i, v := range x {
		if off := math.Abs(v - x[0] - float64(i)*step); !(step > 0) || off > 0.01*step+slack(coarse, step) {
			return nil, &intake.Fault{Format: textName, What: fmt.Sprintf("its points do not lie evenly along x: point %d is at %g, where even steps would put %g", i+1, v, x[0]+float64(i)*step),
				Try: "export it with an even spacing"}
		}
	}
	f.m.X0, f.m.DX = offset(x[0]*r.said.xmm), step*r.said.xmm
	r.out.Units = "x " + r.said.xname + ", z " + r.said.zname
	return f.done(r.out)
}

// slack is what the digits printed may put a place off: half the last of them,
// where they are fine enough to count steps by.
func slack(coarse, step float64) float64 {
	if coarse > 0.4*step {
		return 0
	}
	return 0.51 * coarse
}

// digit is the value of the last digit that a number was printed with.
func (t *table) digit(f []byte) float64 {
	k := bytes.IndexAny(f, ".,")
	if k < 0 || bytes.ContainsAny(f, "eE") {
		return 0
	}
	return math.Pow(10, -float64(len(f)-k-1))
}
