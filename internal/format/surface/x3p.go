package surface

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"fettle/internal/format/intake"
)

// x3pName is how this format is called.
const x3pName = "X3P"

// axis is one of the three axes of an X3P file. A place along it is
// Offset + Increment × index (incremental), or Offset + Increment × stored value
// (absolute), in metres.
type axis struct {
	kind      string // "I" incremental, "A" absolute
	data      string // "I" int16, "L" int32, "F" float32, "D" float64
	increment float64
	offset    float64
	said      bool // the increment was given
}

// bytes is the size of a stored value, 0 for a type that is not known.
func (a axis) bytes() int {
	switch a.data {
	case "I":
		return 2
	case "L", "F":
		return 4
	case "D":
		return 8
	}
	return 0
}

// whole reports whether stored values are integers.
func (a axis) whole() bool { return a.data == "I" || a.data == "L" }

// x3p is what main.xml says. The layout is that of the published schema of
// ISO 5436-2, which ISO 25178-72 took over.
type x3p struct {
	archive *intake.Archive
	main    string            // key of main.xml
	text    map[string]string // by path below the root, such as "Record1/Revision"
	datum   []byte            // texts of DataList, in order, each ended by a line end
	listed  int               // how many there are
	out     *Surface

	x, y, z axis
	w, h    int
	layers  int64
}

// readX3P reads a zip archive with main.xml in it.
func readX3P(data []byte) (*Surface, error) {
	a, err := intake.OpenArchive(x3pName, data)
	if err != nil {
		return nil, err
	}
	r := &x3p{archive: a, text: map[string]string{}, out: &Surface{Format: x3pName, Units: "m"}}
	for _, n := range a.Names() {
		if n == "main.xml" || strings.HasSuffix(n, "/main.xml") && r.main == "" {
			r.main = n
			if n == "main.xml" {
				break
			}
		}
	}
	if r.main == "" {
		return nil, &intake.Fault{Format: x3pName, What: "this zip file holds no main.xml", Try: "unpack it, or export the measurement as X3P"}
	}
	doc, err := a.Unpack(r.main)
	if err != nil {
		return nil, err
	}
	if err := r.parse(doc); err != nil {
		return nil, err
	}
	r.checkMain(doc)
	if err := r.head(); err != nil {
		return nil, err
	}
	return r.heights()
}

// fault is one in main.xml.
func (r *x3p) fault(what string, args ...any) error {
	return &intake.Fault{Format: x3pName, What: fmt.Sprintf(what, args...), Where: intake.Printable([]byte(r.main)), Try: "export it again"}
}

// parse collects the texts of main.xml. The decoder knows no entities but
// XML's own, and a document type is refused before it could declare any.
func (r *x3p) parse(doc []byte) error {
	dec := xml.NewDecoder(bytes.NewReader(doc))
	dec.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		if c := strings.ToLower(charset); c == "us-ascii" || c == "ascii" {
			return in, nil
		}
		return nil, errors.New("charset")
	}
	var stack []string
	var text []byte
	for {
		tok, err := dec.RawToken()
		if err == io.EOF {
			if len(stack) > 0 {
				return r.fault("it ends inside the element %q", intake.Printable([]byte(stack[len(stack)-1])))
			}
			return nil
		}
		if err != nil {
			line, _ := dec.InputPos()
			return r.fault("its XML cannot be understood at line %d", line)
		}
		switch t := tok.(type) {
		case xml.Directive:
			return r.fault("it declares a document type or entities, which a measurement never needs")
		case xml.StartElement:
			if len(stack) >= intake.MaxDepth {
				return r.fault("its elements are nested more than %d deep", intake.MaxDepth)
			}
			stack, text = append(stack, t.Name.Local), text[:0]
		case xml.CharData:
			text = append(text, t...)
		case xml.EndElement:
			if len(stack) == 0 || stack[len(stack)-1] != t.Name.Local {
				return r.fault("the element %q ends where it is not open", intake.Printable([]byte(t.Name.Local)))
			}
			r.keep(stack, text)
			stack, text = stack[:len(stack)-1], text[:0]
		}
	}
}

// keep notes what an element holds.
func (r *x3p) keep(stack []string, text []byte) {
	if len(stack) < 2 {
		return
	}
	text = bytes.TrimSpace(text)
	if len(stack) == 4 && stack[1] == "Record3" && stack[2] == "DataList" && stack[3] == "Datum" {
		at := len(r.datum)
		r.datum = append(append(r.datum, text...), '\n')
		for i, c := range r.datum[at : len(r.datum)-1] {
			if c == '\n' {
				r.datum[at+i] = ' '
			}
		}
		r.listed++
		return
	}
	p := strings.Join(stack[1:], "/")
	if _, twice := r.text[p]; !twice && len(r.text) < 1000 && len(text) > 0 {
		r.text[p] = string(text)
	}
}

// head reads the axes, the sizes and who made the file.
func (r *x3p) head() error {
	switch f := strings.ToUpper(r.text["Record1/FeatureType"]); f {
	case "PRF", "SUR", "":
	case "PCL":
		return &intake.Fault{Format: x3pName, What: "it holds a cloud of points without rows, which has no texture along a line or over a grid", Try: "export the measurement as a surface (SUR) or a profile (PRF)"}
	default:
		return r.fault("its feature type %q is not known", intake.Printable([]byte(f)))
	}
	for _, a := range []struct {
		name string
		to   *axis
	}{{"CX", &r.x}, {"CY", &r.y}, {"CZ", &r.z}} {
		if err := r.axis(a.name, a.to); err != nil {
			return err
		}
	}
	if r.z.kind != "A" {
		return r.fault("its heights are on an axis of type %q, not absolute", intake.Printable([]byte(r.z.kind)))
	}
	if r.z.bytes() == 0 {
		return r.fault("its heights are stored as %q, which is none of I, L, F and D", intake.Printable([]byte(r.z.data)))
	}
	r.floatScale()
	w, okW := intake.ParseInt([]byte(r.text["Record3/MatrixDimension/SizeX"]))
	h, okH := intake.ParseInt([]byte(r.text["Record3/MatrixDimension/SizeY"]))
	if !okW || !okH {
		n, ok := intake.ParseInt([]byte(r.text["Record3/ListDimension"]))
		if !ok {
			return r.fault("it does not say how many points it holds")
		}
		if strings.EqualFold(r.text["Record1/FeatureType"], "SUR") {
			return &intake.Fault{Format: x3pName, What: "its points are a list without rows", Try: "export the measurement as a matrix"}
		}
		w, h = n, 1
	}
	if err := size(x3pName, intake.Printable([]byte(r.main)), w, h); err != nil {
		return err
	}
	r.w, r.h = int(w), int(h)
	if n, ok := intake.ParseInt([]byte(r.text["Record3/MatrixDimension/SizeZ"])); ok && n > 1 {
		r.layers = n
		r.out.note("it holds %d layers; the first was read", n)
	}
	r.about()
	return nil
}

// axis reads one axis.
func (r *x3p) axis(name string, a *axis) error {
	at := "Record1/Axes/" + name + "/"
	a.kind, a.data = strings.ToUpper(r.text[at+"AxisType"]), strings.ToUpper(r.text[at+"DataType"])
	switch {
	case a.kind == "" && name == "CZ":
		a.kind = "A"
	case a.kind == "" && name == "CY" && strings.EqualFold(r.text["Record1/FeatureType"], "PRF"):
		a.kind = "I" // a profile needs none
	}
	if a.kind != "I" && a.kind != "A" {
		return r.fault("its axis %s is of type %q, neither incremental nor absolute", name, intake.Printable([]byte(a.kind)))
	}
	a.increment = 1
	for _, n := range []struct {
		name string
		to   *float64
	}{{"Increment", &a.increment}, {"Offset", &a.offset}} {
		t, ok := r.text[at+n.name]
		if !ok {
			continue
		}
		v, ok := intake.ParseFloat([]byte(t))
		if strings.EqualFold(t, "NA") { // written by some where nothing was known
			continue
		}
		if !ok || math.IsNaN(v) || math.IsInf(v, 0) {
			return r.fault("%s of its axis %s is %q, not a number", n.name, name, intake.Printable([]byte(t)))
		}
		*n.to = v
		a.said = a.said || n.name == "Increment"
	}
	return nil
}

// floatScale settles whether floating heights are multiplied by the increment.
// ISO 5436-2 has the increment for incremental axes and integers alone;
// ISO 25178-72 has it for all stored values (from its descriptions).
func (r *x3p) floatScale() {
	for _, a := range []*axis{&r.x, &r.y, &r.z} {
		if a.kind != "A" || a.whole() || a.increment == 1 || !a.said {
			continue
		}
		if strings.Contains(r.text["Record1/Revision"], "25178") && a.increment != 0 {
			if a == &r.z {
				r.out.note("heights are floating numbers with an increment of %g m and were multiplied by it, as ISO 25178-72 says", a.increment)
			}
			continue
		}
		if a == &r.z {
			r.out.note("heights are floating numbers and were taken as metres; the increment of %g beside them was left out, as ISO 5436-2 says", a.increment)
		}
		a.increment = 1
	}
}

// about fills in who measured, when and with what.
func (r *x3p) about() {
	t := func(p string) string { return r.text["Record2/"+p] }
	s := r.out
	s.Instrument = words(t("Instrument/Manufacturer"), t("Instrument/Model"), t("Instrument/Serial"))
	s.Creator, s.Comment = words(t("Creator")), words(t("Comment"))
	s.Date = isoDate(t("Date"))
	for p, v := range r.text {
		if strings.HasPrefix(p, "Record1/Rotation/") && v != "0" && v != "1" {
			if f, ok := intake.ParseFloat([]byte(v)); ok && f != 0 && f != 1 {
				s.note("it says that the surface lies turned in space; heights were kept as they were measured")
				break
			}
		}
	}
}

// isoDate is a date and time as it is shown, empty for one that nobody set.
func isoDate(t string) string {
	if len(t) < 10 || strings.HasPrefix(t, noDate[:10]) {
		return ""
	}
	d := t[:10]
	if len(t) >= 16 && t[10] == 'T' {
		d += " " + t[11:16]
	}
	return words(d)
}
