// Package ply reads PLY files (polygon files), as text and in both binary byte
// orders. [Read] is all there is to it.
package ply

import (
	"encoding/binary"
	"fmt"
	"math"

	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Read makes a part of a PLY file. Polygons and strips are cut into triangles,
// with a note; other elements and properties are skipped. It refuses with an
// [intake.Fault] counts and indices that the file does not hold, and
// coordinates that are not numbers.
func Read(data []byte) (*intake.Part, error) {
	if len(data) == 0 {
		return nil, intake.Faultf(format, "", "the file is empty")
	}
	if len(data) > intake.MaxBytes {
		return nil, intake.Faultf(format, "", "the file has more than %d bytes", intake.MaxBytes)
	}
	h, err := readHead(data)
	if err != nil {
		return nil, err
	}
	r := &reader{head: h, format: [...]string{"", "ASCII PLY", "binary PLY", "binary PLY"}[h.form], mesh: &mesh.Mesh{}}
	r.poly.Mesh = r.mesh
	if h.form == ascii {
		r.t = intake.NewText(h.body)
		r.t.Line = h.line
	} else {
		r.from = len(data) - len(h.body)
		r.order = binary.LittleEndian
		if h.form == big {
			r.order = binary.BigEndian
		}
	}
	seen := false
	for _, e := range h.elements {
		switch {
		case len(e.props) == 0 || e.n == 0:
			continue
		case e.name == "vertex":
			err = r.vertices(e)
			seen = true
		case e.name == "face" && seen, e.name == "tristrips" && seen:
			err = r.faces(e)
		case e.name == "face", e.name == "tristrips":
			err = r.fault("the facets stand before the vertices")
		default:
			err = r.skip(e)
		}
		if err != nil {
			return nil, err
		}
	}
	if len(r.mesh.Tri) == 0 {
		what := "there are no facets in it"
		if len(r.mesh.Pos) > 0 {
			what = "it holds points only and no facets"
		}
		return nil, &intake.Fault{Format: r.format, What: what, Try: "export the surface instead"}
	}
	return &intake.Part{Format: r.format, Mesh: r.mesh, Notes: append(h.notes, r.poly.Notes()...)}, nil
}

// reader walks the body.
type reader struct {
	*head
	format string
	t      *intake.Text // the body, as text
	from   int          // where the body starts, in binary
	at     int          // in the body, in binary
	order  binary.ByteOrder
	mesh   *mesh.Mesh
	poly   intake.Polygons
	list   []uint32
}

// fault is one at the present place.
func (r *reader) fault(what string, args ...any) error {
	where := fmt.Sprintf("byte %d", r.from+r.at)
	if r.t != nil {
		where = r.t.Where()
	}
	return &intake.Fault{Format: r.format, What: fmt.Sprintf(what, args...), Where: where, Try: "export it again"}
}

// check holds the declared number of an element against the bytes that are
// left.
func (r *reader) check(e *element) error {
	least, _ := e.fixed()
	left := len(r.body) - r.at
	if r.t != nil { // a digit and a blank each, but for the last
		least = 2 * len(e.props)
		left = len(r.body) - r.t.Pos + 1
	}
	if e.n > int64(left/least) {
		return r.fault("it promises %d of the element %q, and the %d bytes left cannot hold them", e.n, intake.Printable([]byte(e.name)), left)
	}
	return nil
}

// number reads one number of a type; ok is false at the end of the body and for
// a word that is none.
func (r *reader) number(s scalar) (float64, bool) {
	if r.t != nil {
		return intake.ParseFloat(r.t.Next())
	}
	n := s.size()
	if len(r.body)-r.at < n {
		return 0, false
	}
	b := r.body[r.at : r.at+n]
	r.at += n
	switch s {
	case i8:
		return float64(int8(b[0])), true
	case u8:
		return float64(b[0]), true
	case i16:
		return float64(int16(r.order.Uint16(b))), true
	case u16:
		return float64(r.order.Uint16(b)), true
	case i32:
		return float64(int32(r.order.Uint32(b))), true
	case u32:
		return float64(r.order.Uint32(b)), true
	case f32:
		return float64(math.Float32frombits(r.order.Uint32(b))), true
	}
	return math.Float64frombits(r.order.Uint64(b)), true
}

// length reads the length of a list, which the bytes left must be able to hold.
func (r *reader) length(p property) (int, bool) {
	n, ok := r.number(p.count)
	least, left := p.typ.size(), len(r.body)-r.at
	if r.t != nil {
		least, left = 2, len(r.body)-r.t.Pos+1
	}
	if !ok || !(n >= 0) || n > float64(left/least) {
		return 0, false
	}
	return int(n), n == math.Trunc(n)
}

// vertices reads the vertices.
func (r *reader) vertices(e *element) error {
	axis := make([]int, len(e.props)) // 1, 2, 3 for x, y, z
	got := 0
	for i, p := range e.props {
		if p.count != none {
			continue
		}
		switch p.name {
		case "x":
			axis[i] = 1
		case "y":
			axis[i] = 2
		case "z":
			axis[i] = 3
		default:
			continue
		}
		got |= 1 << axis[i]
	}
	if got != 0b1110 {
		return r.fault("its vertices do not have x, y and z")
	}
	if err := r.check(e); err != nil {
		return err
	}
	if e.n+int64(len(r.mesh.Pos)) > intake.MaxVertices {
		return r.fault("%d vertices are more than can be read", e.n)
	}
	base := len(r.mesh.Pos)
	r.mesh.Pos = append(r.mesh.Pos, make([]r3.Vec, e.n)...)
	for i := range r.mesh.Pos[base:] {
		var v [4]float64
		for k, p := range e.props {
			if p.count != none {
				if err := r.skipList(p, e, i); err != nil {
					return err
				}
				continue
			}
			x, ok := r.number(p.typ)
			if !ok {
				return r.broken(e, i)
			}
			v[axis[k]] = x
		}
		if !intake.Finite(v[1]) || !intake.Finite(v[2]) || !intake.Finite(v[3]) {
			return r.fault("vertex %d is at (%v, %v, %v)", base+i, v[1], v[2], v[3])
		}
		r.mesh.Pos[base+i] = r3.Vec{X: v[1], Y: v[2], Z: v[3]}
	}
	return nil
}

// broken is the fault for a record that ends or holds no number.
func (r *reader) broken(e *element, i int) error {
	return r.fault("the file ends or is broken at number %d of the element %q", i, intake.Printable([]byte(e.name)))
}

// faces reads polygons or strips.
func (r *reader) faces(e *element) error {
	at := -1
	for i, p := range e.props {
		if p.count != none && (p.name == "vertex_indices" || p.name == "vertex_index") {
			at = i
		}
	}
	if at < 0 {
		return r.fault("its element %q has no list of vertices", e.name)
	}
	if err := r.check(e); err != nil {
		return err
	}
	for i := range int(e.n) {
		for k, p := range e.props {
			switch {
			case k == at:
				if err := r.corners(p, e, i); err != nil {
					return err
				}
			case p.count != none:
				if err := r.skipList(p, e, i); err != nil {
					return err
				}
			default:
				if _, ok := r.number(p.typ); !ok {
					return r.broken(e, i)
				}
			}
		}
	}
	return nil
}

// restart marks the end of a strip in a list of strips.
const restart = math.MaxUint32

// corners reads one list of vertices and adds its triangles.
func (r *reader) corners(p property, e *element, i int) error {
	n, ok := r.length(p)
	if !ok {
		return r.broken(e, i)
	}
	strips := e.name == "tristrips"
	r.list = r.list[:0]
	for range n {
		v, ok := r.number(p.typ)
		switch {
		case ok && strips && v == -1:
			r.list = append(r.list, restart)
		case !ok:
			return r.broken(e, i)
		case !(v >= 0 && v < float64(len(r.mesh.Pos))) || v != math.Trunc(v):
			return r.fault("facet %d names vertex %v of %d", i, v, len(r.mesh.Pos))
		default:
			r.list = append(r.list, uint32(v))
		}
	}
	if !strips {
		if err := r.poly.Add(r.list); err != nil {
			return r.fault("facet %d has %s", i, err)
		}
		return nil
	}
	run := 0 // corners of the present strip
	for k, v := range r.list {
		if v == restart {
			run = 0
			continue
		}
		if run++; run < 3 {
			continue
		}
		tri := [3]uint32{r.list[k-2], r.list[k-1], v}
		if run%2 == 0 {
			tri[0], tri[1] = tri[1], tri[0]
		}
		if tri[0] == tri[1] || tri[1] == tri[2] || tri[2] == tri[0] {
			continue // strips turn corners over such triangles
		}
		if err := r.poly.Add(tri[:]); err != nil {
			return r.fault("strip %d has %s", i, err)
		}
	}
	return nil
}

// skipList reads over a list.
func (r *reader) skipList(p property, e *element, i int) error {
	n, ok := r.length(p)
	if !ok {
		return r.broken(e, i)
	}
	if r.t == nil {
		r.at += n * p.typ.size()
		return nil
	}
	for range n {
		if r.t.Next() == nil {
			return r.broken(e, i)
		}
	}
	return nil
}

// skip reads over an element.
func (r *reader) skip(e *element) error {
	if err := r.check(e); err != nil {
		return err
	}
	if size, all := e.fixed(); all && r.t == nil {
		r.at += int(e.n) * size
		return nil
	}
	for i := range int(e.n) {
		for _, p := range e.props {
			if p.count != none {
				if err := r.skipList(p, e, i); err != nil {
					return err
				}
			} else if _, ok := r.number(p.typ); !ok {
				return r.broken(e, i)
			}
		}
	}
	return nil
}
