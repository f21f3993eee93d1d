package stl

import (
	"bytes"
	"fmt"

	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"
)

// asciiFormat is how this form is called.
const asciiFormat = "ASCII STL"

// readASCII reads the text form: any case, any line ends, any number of solids,
// with or without endsolid.
func readASCII(data []byte) (*intake.Part, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	r := &asciiReader{t: intake.NewText(data), w: mesh.NewWelder(len(data)/600 + 64)}
	if err := r.run(); err != nil {
		return nil, err
	}
	note, err := badFacets(asciiFormat, r.bad, r.firstBad, r.facets, fmt.Sprintf("line %d", r.badLine))
	if err != nil {
		return nil, err
	}
	if note != "" {
		r.notes = append(r.notes, note)
	}
	if r.open {
		r.notes = append(r.notes, "the last solid is not ended by endsolid; all its facets were read")
	}
	if r.facets == 0 {
		return nil, intake.Faultf(asciiFormat, "", "there are no facets in it")
	}
	return &intake.Part{Format: asciiFormat, Mesh: &mesh.Mesh{Pos: r.w.Pos, Tri: r.tri}, Names: r.names, Notes: r.notes}, nil
}

// asciiReader walks the words of the file.
type asciiReader struct {
	t        *intake.Text
	w        *mesh.Welder
	tri      [][3]uint32
	names    []string
	notes    []string
	facets   int
	bad      int
	firstBad int
	badLine  int
	open     bool // a solid has begun and not ended
}

// fault is one at the present line.
func (r *asciiReader) fault(what string, args ...any) error {
	return &intake.Fault{Format: asciiFormat, What: fmt.Sprintf(what, args...), Where: r.t.Where(), Try: "export it again, best as binary STL"}
}

// run reads to the end.
func (r *asciiReader) run() error {
	for {
		w := r.t.Next()
		switch {
		case w == nil:
			return nil
		case intake.Is(w, "facet"):
			if err := r.facet(); err != nil {
				return err
			}
		case intake.Is(w, "solid"):
			r.open = true
			if name := intake.Printable(r.t.Rest()); name != "" && len(r.names) < intake.MaxParts {
				r.names = append(r.names, name)
			}
		case intake.Is(w, "endsolid"):
			r.open = false
			r.t.Rest()
		case r.facets == 0 && !r.open:
			r.t.Rest() // an odd header
		default:
			return r.fault("%q stands where a facet should", intake.Printable(w))
		}
	}
}

// expect reads one fixed word.
func (r *asciiReader) expect(want string) error {
	w := r.t.Next()
	if intake.Is(w, want) {
		return nil
	}
	return r.unexpected(w, want)
}

// unexpected is the fault for a word that is not the wanted one.
func (r *asciiReader) unexpected(w []byte, want string) error {
	if w == nil || r.t.Pos == len(r.t.Data) { // a word cut short counts as none
		return r.fault("the file ends inside facet %d", r.facets+1)
	}
	return r.fault("%q stands where %q should, in facet %d", intake.Printable(w), want, r.facets+1)
}

// facet reads from behind "facet" to "endfacet". The normal is read over: the
// order of the corners says the same, and normals are often wrong.
func (r *asciiReader) facet() error {
	w := r.t.Next()
	if intake.Is(w, "normal") {
		for range 3 {
			if w = r.t.Next(); intake.Is(w, "outer") {
				break // some leave the numbers out
			}
		}
		if !intake.Is(w, "outer") {
			w = r.t.Next()
		}
	}
	if !intake.Is(w, "outer") {
		return r.unexpected(w, "outer")
	}
	if err := r.expect("loop"); err != nil {
		return err
	}
	var p [9]float64
	ok := true
	for k := range p {
		if k%3 == 0 {
			if err := r.expect("vertex"); err != nil {
				return err
			}
		}
		w := r.t.Next()
		v, num := intake.ParseFloat(w)
		if !num {
			if w == nil {
				return r.unexpected(nil, "")
			}
			return r.fault("%q is not a number, in facet %d", intake.Printable(w), r.facets+1)
		}
		p[k] = v
		ok = ok && intake.Finite(v)
	}
	if err := r.expect("endloop"); err != nil {
		return err
	}
	if err := r.expect("endfacet"); err != nil {
		return err
	}
	r.facets++
	if r.facets > intake.MaxTriangles {
		return r.fault("there are more than %d facets", intake.MaxTriangles)
	}
	if !ok {
		if r.bad++; r.bad == 1 {
			r.firstBad, r.badLine = r.facets, r.t.Line
		}
		return nil
	}
	r.tri = append(r.tri, [3]uint32{r.w.Add(p[0], p[1], p[2]), r.w.Add(p[3], p[4], p[5]), r.w.Add(p[6], p[7], p[8])})
	return nil
}
