package surface

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"strings"

	"fettle/internal/format/intake"
)

// sdfHead is the first record of an SDF file, text or binary. Scales are metres
// per point, per row and per unit of height. Names, order and sizes of the
// fields are those of ISO 25178-71:2012 and of EUR 15178, from descriptions of
// both; the second edition (ISO-2.0) counts with 32 bits.
type sdfHead struct {
	version                string // "ISO-1.0", "BCR-1.0", …
	maker, created         string
	points, profiles       int64
	xscale, yscale, zscale float64
	compression            int64
	dataType, checkType    int64
}

// The names of both forms.
const asciiSDF, binarySDF = "ASCII SDF", "binary SDF"

// sdfMagic tells an SDF file by its version field: a or b, who laid the layout
// down, and a number.
func sdfMagic(d []byte) bool {
	d = bytes.TrimPrefix(d, bom)
	if len(d) < 8 || d[0] != 'a' && d[0] != 'b' {
		return false
	}
	word, _, _ := bytes.Cut(d[1:min(len(d), 12)], []byte{'\n'})
	who, number, ok := bytes.Cut(word, []byte{'-'})
	if !ok || len(who) < 2 || len(number) < 3 {
		return false
	}
	for _, c := range who {
		if c < 'A' || c > 'Z' {
			return false
		}
	}
	number = bytes.TrimPrefix(number, []byte{'V'})
	return len(number) >= 3 && number[0]-'0' < 10 && number[1] == '.' && number[2]-'0' < 10
}

var bom = []byte("\xef\xbb\xbf")

func readSDF(data []byte) (*Surface, error) {
	if d := bytes.TrimPrefix(data, bom); d[0] == 'a' {
		return readASCIISDF(d)
	}
	return readBinarySDF(data)
}

// newer reports whether the counts have 32 bits.
func (h *sdfHead) newer() bool { return h.version == "ISO-2.0" }

// check refuses what cannot be read.
func (h *sdfHead) check(format string) error {
	fault := func(what string, args ...any) error {
		return &intake.Fault{Format: format, What: fmt.Sprintf(what, args...), Where: "header", Try: "export it again"}
	}
	if err := size(format, "header", h.points, h.profiles); err != nil {
		return err
	}
	switch {
	case h.compression != 0:
		return &intake.Fault{Format: format, What: "its heights are compressed, for which the standard has no method", Where: "header", Try: "export it without compression"}
	case h.dataType < 0 || h.dataType > 7:
		return fault("its data type %d is not known", h.dataType)
	case !(h.zscale > 0) || math.IsInf(h.zscale, 0):
		return fault("its Zscale is %g, not a positive number", h.zscale)
	}
	return nil
}

// surface starts the answer.
func (h *sdfHead) surface(format string) (*Surface, *filler) {
	s := &Surface{Format: format, Instrument: words(h.maker), Date: sdfDate(h.created), Units: "m"}
	if h.checkType != 0 {
		s.note("it names a checksum of type %d, for which the standard has no method; it was not looked at", h.checkType)
	}
	return s, newFiller(int(h.points), int(h.profiles), h.xscale*1000, h.yscale*1000)
}

// sdfDate is a date in the form DDMMYYYYHHMM, empty for none.
func sdfDate(t string) string {
	t = strings.TrimSpace(t)
	if len(t) != 12 || t[:8] == "00000000" {
		return ""
	}
	if _, ok := intake.ParseInt([]byte(t)); !ok {
		return ""
	}
	return t[4:8] + "-" + t[2:4] + "-" + t[:2] + " " + t[8:10] + ":" + t[10:]
}

// sdfBytes are the sizes of the data types: 0 to 2 unsigned with 8, 16 and 32
// bits, 3 single precision, 4 to 6 signed, 7 double precision. ISO-1.0 keeps
// 5, 6 and 7.
var sdfBytes = [8]int{1, 2, 4, 4, 1, 2, 4, 8}

// binaryHead is the size of the header with 16-bit counts.
const binaryHead = 81

func readBinarySDF(data []byte) (*Surface, error) {
	le := binary.LittleEndian
	h := &sdfHead{version: string(data[1:8])}
	need := binaryHead
	if h.newer() {
		need += 4
	}
	if len(data) < need {
		return nil, &intake.Fault{Format: binarySDF, What: fmt.Sprintf("the file ends after %d bytes, inside its header", len(data)), Try: "copy or export it again"}
	}
	h.maker, h.created = strings.Trim(string(data[8:18]), "\x00 "), string(data[18:30])
	d := data[42:]
	if h.newer() {
		h.points, h.profiles, d = int64(le.Uint32(d)), int64(le.Uint32(d[4:])), d[8:]
	} else {
		h.points, h.profiles, d = int64(le.Uint16(d)), int64(le.Uint16(d[2:])), d[4:]
	}
	f64 := func(i int) float64 { return math.Float64frombits(le.Uint64(d[8*i:])) }
	h.xscale, h.yscale, h.zscale = f64(0), f64(1), f64(2)
	h.compression, h.dataType, h.checkType = int64(d[32]), int64(d[33]), int64(d[34])
	d = d[35:]
	if err := h.check(binarySDF); err != nil {
		return nil, err
	}
	n, bytes := int(h.points*h.profiles), sdfBytes[h.dataType]
	if len(d) < n*bytes {
		return nil, &intake.Fault{Format: binarySDF, What: fmt.Sprintf("it says that it holds %d heights of %d bytes, and %d bytes follow", n, bytes, len(d)),
			Where: fmt.Sprintf("byte %d", need), Try: "copy or export it again"}
	}
	// Some instruments put two more counts, 5 and 1, behind the header.
	if len(d) == n*bytes+8 && le.Uint32(d) == 5 && le.Uint32(d[4:]) == 1 {
		d = d[8:]
	}
	s, f := h.surface(binarySDF)
	read := h.decoder()
	for i := range n {
		f.put(i, read(d[i*bytes:])*h.zscale*1000)
	}
	return f.done(s)
}

// decoder reads one stored height; not-a-number for a point that was not
// measured. ISO 25178-71 marks it with the lowest value of the type, EUR 15178,
// which has unsigned types too, with the highest.
func (h *sdfHead) decoder() func([]byte) float64 {
	le := binary.LittleEndian
	bcr := h.version == "BCR-1.0"
	nan := math.NaN()
	whole := func(v, low, high int64) float64 {
		if v == low && low < 0 || v == high && (bcr || low == 0) {
			return nan
		}
		return float64(v)
	}
	switch h.dataType {
	case 0:
		return func(d []byte) float64 { return whole(int64(d[0]), 0, math.MaxUint8) }
	case 1:
		return func(d []byte) float64 { return whole(int64(le.Uint16(d)), 0, math.MaxUint16) }
	case 2:
		return func(d []byte) float64 { return whole(int64(le.Uint32(d)), 0, math.MaxUint32) }
	case 4:
		return func(d []byte) float64 { return whole(int64(int8(d[0])), math.MinInt8, math.MaxInt8) }
	case 5:
		return func(d []byte) float64 { return whole(int64(int16(le.Uint16(d))), math.MinInt16, math.MaxInt16) }
	case 6:
		return func(d []byte) float64 { return whole(int64(int32(le.Uint32(d))), math.MinInt32, math.MaxInt32) }
	case 3:
		return func(d []byte) float64 {
			v := float64(math.Float32frombits(le.Uint32(d)))
			if math.Abs(v) >= 3.4028e38 {
				return nan
			}
			return v
		}
	}
	return func(d []byte) float64 {
		v := math.Float64frombits(le.Uint64(d))
		if math.Abs(v) >= 1.797e308 {
			return nan
		}
		return v
	}
}

// readASCIISDF reads the text form: header, heights and what the writer wished
// to add, each ended by a line with an asterisk.
func readASCIISDF(data []byte) (*Surface, error) {
	t := intake.NewText(data)
	h := &sdfHead{version: strings.TrimSpace(string(t.Rest()))[1:]}
	fault := func(what string, args ...any) error {
		return &intake.Fault{Format: asciiSDF, What: fmt.Sprintf(what, args...), Where: t.Where(), Try: "export it again"}
	}
	seen := map[string]bool{}
	for {
		if !t.NextLine() {
			return nil, fault("the file ends inside its header")
		}
		line := t.Rest()
		if len(line) == 0 {
			continue
		}
		if line[0] == '*' {
			break
		}
		key, value, ok := bytes.Cut(line, []byte{'='})
		if !ok {
			return nil, fault("%q stands in the header and is no field", intake.Printable(line))
		}
		name := strings.ToLower(string(bytes.TrimSpace(key)))
		if seen[name] = true; !h.field(name, bytes.TrimSpace(value)) {
			return nil, fault("the field %s is %q, not a number", intake.Printable(bytes.TrimSpace(key)), intake.Printable(bytes.TrimSpace(value)))
		}
	}
	for _, need := range []string{"NumPoints", "NumProfiles", "Xscale", "Yscale", "Zscale"} {
		if !seen[strings.ToLower(need)] {
			return nil, fault("the field %s is missing from its header", need)
		}
	}
	if err := h.check(asciiSDF); err != nil {
		return nil, err
	}
	n := int(h.points * h.profiles)
	if left := len(data) - t.Pos; 2*n-1 > left {
		return nil, fault("it says that it holds %d heights, and only %d characters follow", n, left)
	}
	s, f := h.surface(asciiSDF)
	for i := 0; ; i++ {
		w := t.Next()
		switch {
		case w == nil || w[0] == '*':
			if i < n {
				return nil, fault("it says that it holds %d heights, and the list ends after %d", n, i)
			}
			if w != nil {
				h.trailer(t, s)
			} else {
				s.note("the list of heights is not ended by an asterisk; it is complete")
			}
			return f.done(s)
		case i >= n:
			return nil, fault("it says that it holds %d heights and holds more", n)
		case intake.Is(w, "bad"):
			continue
		}
		v, ok := intake.ParseFloat(w)
		if !ok {
			return nil, fault("%q stands where a height should", intake.Printable(w))
		}
		f.put(i, v*h.zscale*1000)
	}
}

// field takes one field of the header; false where its value is no number.
func (h *sdfHead) field(name string, value []byte) bool {
	whole := func(to *int64) (ok bool) {
		*to, ok = intake.ParseInt(value)
		return ok
	}
	number := func(to *float64) (ok bool) {
		*to, ok = intake.ParseFloat(value)
		return ok
	}
	switch name {
	case "manufacid":
		h.maker = string(value)
	case "createdate":
		h.created = string(value)
	case "numpoints":
		return whole(&h.points)
	case "numprofiles":
		return whole(&h.profiles)
	case "xscale":
		return number(&h.xscale)
	case "yscale":
		return number(&h.yscale)
	case "zscale":
		return number(&h.zscale)
	case "compression":
		return whole(&h.compression)
	case "datatype":
		return whole(&h.dataType)
	case "checktype":
		return whole(&h.checkType)
	}
	return true
}

// trailer takes what it can say about the surface from the last record.
func (h *sdfHead) trailer(t *intake.Text, s *Surface) {
	for range 100 {
		if !t.NextLine() {
			return
		}
		line := string(t.Rest())
		if strings.HasPrefix(line, "*") {
			return
		}
		if key, value, ok := strings.Cut(line, "="); ok && strings.Contains(strings.ToLower(key), "operator") {
			s.Creator = words(value)
		} else if s.Comment == "" && !strings.HasPrefix(line, "<") {
			s.Comment = words(line)
		}
	}
}
