package threemf

import (
	"bytes"

	"fettle/internal/format/intake"

	"gonum.org/v1/gonum/spatial/r3"
)

// Vertices and triangles are nearly all that a file holds, and nearly always
// written in one way. The functions here read that way and no other; whatever
// looks different is left where it is, to the scanner.

// quick steps over want at i; -1 stays -1.
func (s *scanner) quick(i int, want string) int {
	if i < 0 || len(s.d)-i < len(want) || string(s.d[i:i+len(want)]) != want {
		return -1
	}
	return i + len(want)
}

// blank steps over blanks.
func (s *scanner) blank(i int) int {
	for i < len(s.d) && s.d[i] <= ' ' {
		i++
	}
	return i
}

// shutQuick steps over the end of a tag that shuts itself.
func (s *scanner) shutQuick(i int) int {
	if i = s.quick(i, `"`); i >= 0 {
		i = s.quick(s.blank(i), "/>")
	}
	return i
}

// number steps over digits; none gives -1.
func (s *scanner) number(i int) (v uint32, to int) {
	if i < 0 {
		return 0, -1
	}
	from := i
	for i < len(s.d) && s.d[i]-'0' < 10 {
		v = v*10 + uint32(s.d[i]-'0')
		i++
	}
	if i == from || i-from > 9 {
		return 0, -1
	}
	return v, i
}

// coordinate steps over a number and leaves its end quote.
func (s *scanner) coordinate(i int) (v float64, to int) {
	if i < 0 {
		return 0, -1
	}
	from := i
	for i < len(s.d) && s.d[i] != '"' {
		i++
	}
	v, ok := intake.ParseFloat(s.d[from:i])
	if !ok || !intake.Finite(v) {
		return 0, -1
	}
	return v, i
}

// quickVertices reads vertices in the common form from where the scanner
// stands, inside the element of vertices.
func (p *parser) quickVertices(o *object) {
	o.mesh.Pos = reserve(p, o.mesh.Pos)
	for len(o.mesh.Pos) < intake.MaxVertices {
		var v r3.Vec
		i := p.quick(p.blank(p.i), `<vertex x="`)
		v.X, i = p.coordinate(i)
		v.Y, i = p.coordinate(p.quick(i, `" y="`))
		v.Z, i = p.coordinate(p.quick(i, `" z="`))
		if i = p.shutQuick(i); i < 0 {
			return
		}
		p.i = i
		o.mesh.Pos = append(o.mesh.Pos, v)
	}
}

// quickTriangles reads triangles in the common form.
func (p *parser) quickTriangles(o *object) {
	o.mesh.Tri = reserve(p, o.mesh.Tri)
	for len(o.mesh.Tri) < intake.MaxTriangles {
		var t [3]uint32
		i := p.quick(p.blank(p.i), `<triangle v1="`)
		t[0], i = p.number(i)
		t[1], i = p.number(p.quick(i, `" v2="`))
		t[2], i = p.number(p.quick(i, `" v3="`))
		if i = p.shutQuick(i); i < 0 {
			return
		}
		p.i = i
		o.mesh.Tri = append(o.mesh.Tri, t)
	}
}

// least is the shortest that a vertex or triangle can be written.
const least = len(`<vertex x="" y="" z=""/>`)

// reserve makes room for as many records as there are tags before the next end
// tag: the bytes of the file, not its word, say how many.
func reserve[T any](p *parser, s []T) []T {
	rest := p.d[p.i:]
	if k := bytes.Index(rest, []byte("</")); k > 0 {
		rest = rest[:k]
	}
	n := min(bytes.Count(rest, []byte("<")), len(rest)/least+1, intake.MaxTriangles)
	if len(s) > 0 || n == 0 {
		return s
	}
	return make([]T, 0, n)
}
