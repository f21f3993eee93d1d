// Package off reads OFF files, a plain list of vertices and polygons. [Read] is
// all there is to it.
package off

import (
	"fmt"
	"math"

	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// format is how this format is called.
const format = "OFF"

// kind is what a header word says about the vertices that follow.
type kind struct {
	ok       bool
	four, nd bool // a fourth coordinate; any number of them
	normal   bool
	texture  bool
	colour   bool
}

// kindOf takes a header word apart: [ST][C][N][4][n]OFF.
func kindOf(w []byte) kind {
	var k kind
	if len(w) >= 2 && w[0] == 'S' && w[1] == 'T' {
		k.texture, w = true, w[2:]
	}
	for _, f := range [4]struct {
		c   byte
		set *bool
	}{{'C', &k.colour}, {'N', &k.normal}, {'4', &k.four}, {'n', &k.nd}} {
		if len(w) > 0 && w[0] == f.c {
			*f.set, w = true, w[1:]
		}
	}
	k.ok = string(w) == "OFF"
	return k
}

// text starts at the beginning of data.
func text(data []byte) *intake.Text {
	if len(data) >= 3 && string(data[:3]) == "\xef\xbb\xbf" {
		data = data[3:]
	}
	t := intake.NewText(data)
	t.Comment = '#'
	return t
}

// Is reports whether data starts with one of the header words.
func Is(data []byte) bool {
	if len(data) > 4096 {
		data = data[:4096]
	}
	return kindOf(text(data).Next()).ok
}

// Read makes a part of an OFF file. Polygons are cut into triangles, with a
// note. It refuses with an [intake.Fault] the binary form, coordinates that
// are not numbers, and counts or indices that the file does not hold.
func Read(data []byte) (*intake.Part, error) {
	if len(data) == 0 {
		return nil, intake.Faultf(format, "", "the file is empty")
	}
	if len(data) > intake.MaxBytes {
		return nil, intake.Faultf(format, "", "the file has more than %d bytes", intake.MaxBytes)
	}
	r := &reader{t: text(data)}
	k := kindOf(r.t.Next())
	switch {
	case !k.ok:
		return nil, intake.Faultf(format, r.t.Where(), "it does not start with the word OFF")
	case k.four || k.nd:
		return nil, intake.Faultf(format, r.t.Where(), "its vertices are not places in three dimensions")
	}
	if w := r.t.Word(); w != nil {
		if string(w) == "BINARY" {
			return nil, &intake.Fault{Format: format, What: "this is the binary form, which cannot be read", Try: "export it as text, or as STL"}
		}
		r.t.Pos -= len(w) // the counts stand on the header line
	}
	return r.body(k)
}

// reader walks the words of the file.
type reader struct{ t *intake.Text }

// fault is one at the present line.
func (r *reader) fault(what string, args ...any) error {
	return &intake.Fault{Format: format, What: fmt.Sprintf(what, args...), Where: r.t.Where(), Try: "export it again"}
}

// count reads one of the three counts of the head.
func (r *reader) count(what string) (int64, error) {
	w := r.t.Next()
	n, ok := intake.ParseInt(w)
	if !ok || n < 0 {
		return 0, r.fault("the number of %s is %q", what, intake.Printable(w))
	}
	return n, nil
}

// body reads everything behind the header word.
func (r *reader) body(k kind) (*intake.Part, error) {
	nv, err := r.count("vertices")
	if err != nil {
		return nil, err
	}
	nf, err := r.count("facets")
	if err != nil {
		return nil, err
	}
	if w := r.t.Word(); w == nil { // some leave the edges out
	} else if _, ok := intake.ParseInt(w); !ok {
		return nil, r.fault("the number of edges is %q", intake.Printable(w))
	}
	// A coordinate takes two bytes at least, and so does an index.
	left := int64(len(r.t.Data) - r.t.Pos)
	if nv > left/6+1 || nf > left/2+1 {
		return nil, r.fault("it promises %d vertices and %d facets, more than its %d bytes can hold", nv, nf, len(r.t.Data))
	}
	if nv > intake.MaxVertices || nf > intake.MaxTriangles {
		return nil, r.fault("%d vertices and %d facets are more than can be read", nv, nf)
	}
	m := &mesh.Mesh{Pos: make([]r3.Vec, nv)}
	for i := range m.Pos {
		if m.Pos[i], err = r.vertex(i); err != nil {
			return nil, err
		}
	}
	var poly intake.Polygons
	poly.Mesh = m
	var corners []uint32
	for i := range int(nf) {
		w := r.t.Next()
		n, ok := intake.ParseInt(w)
		switch {
		case w == nil:
			return nil, r.fault("the file ends before facet %d of %d", i+1, nf)
		case !ok || n < 0:
			return nil, r.fault("facet %d has %q corners", i+1, intake.Printable(w))
		case n > int64(len(r.t.Data)-r.t.Pos)/2+1:
			return nil, r.fault("facet %d promises %d corners, more than the file holds", i+1, n)
		}
		corners = corners[:0]
		for range n {
			w := r.t.Next()
			v, ok := intake.ParseInt(w)
			if w == nil {
				return nil, r.fault("the file ends inside facet %d of %d", i+1, nf)
			}
			if !ok || v < 0 || v >= nv {
				return nil, r.fault("facet %d names vertex %q of %d", i+1, intake.Printable(w), nv)
			}
			corners = append(corners, uint32(v))
		}
		r.t.Rest() // a colour
		if err := poly.Add(corners); err != nil {
			return nil, r.fault("facet %d has %s", i+1, err)
		}
	}
	if len(m.Tri) == 0 {
		return nil, intake.Faultf(format, "", "there are no facets in it")
	}
	part := &intake.Part{Format: format, Mesh: m, Notes: poly.Notes()}
	if k.colour || k.texture || k.normal {
		part.Notes = append(part.Notes, "colours, normals and texture places were skipped")
	}
	return part, nil
}

// vertex reads one line of coordinates and leaves the rest of it: what a
// normal, a colour or a texture place adds comes behind the place.
func (r *reader) vertex(i int) (r3.Vec, error) {
	var p [3]float64
	for k := range p {
		w := r.t.Next()
		v, ok := intake.ParseFloat(w)
		switch {
		case w == nil:
			return r3.Vec{}, r.fault("the file ends at vertex %d", i+1)
		case !ok || math.IsNaN(v) || !intake.Finite(v):
			return r3.Vec{}, r.fault("vertex %d has the coordinate %q", i+1, intake.Printable(w))
		}
		p[k] = v
	}
	r.t.Rest()
	return r3.Vec{X: p[0], Y: p[1], Z: p[2]}, nil
}
