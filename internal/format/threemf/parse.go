package threemf

import (
	"bytes"
	"strings"

	"fettle/internal/format/intake"

	"gonum.org/v1/gonum/spatial/r3"
)

// Namespaces of the standard's core and of the extensions that cannot change
// the shape that is read, by their last words.
const (
	coreSpace = "/3dmanufacturing/core/2015/02"
	pathSpace = "/3dmanufacturing/production/2015/06"
)

// harmless are extensions that may be required: they add colours, paths and
// sets of triangles, not shape.
var harmless = []string{coreSpace, pathSpace, "/3dmanufacturing/material/2015/02", "/3dmanufacturing/trianglesets/2021/07"}

// parser reads one model part.
type parser struct {
	*scanner
	book   *book
	m      *model
	spaces map[string]string // namespace by prefix
	unitMM float64
}

// parse reads a model part from its text.
func (b *book) parse(part string, d []byte) (*model, error) {
	p := &parser{scanner: newScanner(part, d), book: b, spaces: map[string]string{},
		m: &model{part: part, objects: map[int64]*object{}}}
	if p.next() == open {
		p.root()
	}
	if p.err != nil {
		return nil, p.err
	}
	return p.m, nil
}

// core is the name of an element of the core standard; ok is false for one of
// another, which is remembered as skipped. What has no namespace counts as core.
func (p *parser) core(name []byte) (rest []byte, ok bool) {
	prefix, n := local(name)
	uri, declared := p.spaces[string(prefix)]
	if !declared && len(prefix) == 0 || strings.HasSuffix(uri, coreSpace) {
		return n, true
	}
	word := string(prefix)
	if word == "" {
		word = uri
	}
	if !strings.HasSuffix(uri, pathSpace) && len(p.book.skipped) < 64 {
		p.book.skipped[intake.Printable([]byte(word))] = true
	}
	return nil, false
}

// children calls each for every core element right inside the one that was
// just opened, which must leave it, and skips the others.
func (p *parser) children(each func(name []byte) bool) {
	depth := len(p.stack)
	for {
		switch p.next() {
		case done:
			return
		case shut:
			if len(p.stack) < depth {
				return
			}
		case open:
			if name, ok := p.core(p.name); !ok || !each(name) {
				p.leave()
			}
		}
	}
}

// root reads the model element, whose tag was just opened.
func (p *parser) root() {
	var unit, required string
	name := p.name
	for k, v, ok := p.attr(); ok; k, v, ok = p.attr() {
		switch {
		case string(k) == "unit":
			unit = plain(v)
		case string(k) == "requiredextensions":
			required = plain(v)
		case string(k) == "xmlns":
			p.spaces[""] = plain(v)
		case bytes.HasPrefix(k, []byte("xmlns:")) && len(p.spaces) < 64:
			p.spaces[string(k[6:])] = plain(v)
		}
	}
	if n, ok := p.core(name); !ok || string(n) != "model" {
		p.fail("it is not a model of the core standard")
		return
	}
	for _, prefix := range strings.Fields(required) {
		uri := p.spaces[prefix]
		if uri == "" {
			uri = prefix // some write the namespace itself
		}
		known := false
		for _, h := range harmless {
			known = known || strings.HasSuffix(uri, h)
		}
		if !known {
			p.fail("it requires the extension %q, which cannot be read", intake.Printable([]byte(uri)))
			p.err.(*intake.Fault).Try = "export it without, or as STL"
			return
		}
	}
	if unit != "" && units[unit] == 0 {
		p.fail("its unit %q is not one of the standard", intake.Printable([]byte(unit)))
		return
	}
	p.m.unit, p.unitMM = unit, units[unit]
	if unit == "" {
		p.unitMM = p.rootUnit()
	}
	if p.book.unitMM == 0 {
		p.book.unitMM = p.unitMM
	}
	p.children(func(name []byte) bool {
		switch string(name) {
		case "resources":
			p.children(func(name []byte) bool {
				if string(name) != "object" {
					return false
				}
				p.object()
				return true
			})
			return true
		case "build":
			p.children(func(name []byte) bool {
				if string(name) != "item" {
					return false
				}
				p.m.items = p.component(p.m.items)
				return true
			})
			return true
		}
		return false
	})
}

// rootUnit is the unit of a part that does not say: that of the model that was
// read first, or the standard's default.
func (p *parser) rootUnit() float64 {
	if u := p.book.unitMM; u > 0 {
		return u
	}
	return 1
}

// object reads an object.
func (p *parser) object() {
	o := &object{id: -1, typ: "model", where: p.part, unitMM: p.unitMM}
	for k, v, ok := p.attr(); ok; k, v, ok = p.attr() {
		switch string(k) {
		case "id":
			o.id = p.index(v)
		case "name":
			o.name = intake.Printable([]byte(plain(v)))
		case "type":
			o.typ = plain(v)
		}
	}
	switch {
	case p.err != nil:
		return
	case o.id < 0:
		p.fail("an object has no id")
		return
	case p.m.objects[o.id] != nil:
		p.fail("object %d is there twice", o.id)
		return
	}
	if p.book.count++; p.book.count > intake.MaxParts {
		p.fail("there are more than %d objects", intake.MaxParts)
		return
	}
	p.m.objects[o.id] = o
	p.m.order = append(p.m.order, o)
	p.children(func(name []byte) bool {
		switch string(name) {
		case "mesh":
			p.children(func(name []byte) bool {
				switch string(name) {
				case "vertices":
					p.vertices(o)
				case "triangles":
					p.triangles(o)
				default:
					return false
				}
				return true
			})
			p.checkMesh(o)
		case "components":
			p.children(func(name []byte) bool {
				if string(name) == "component" {
					o.comps = p.component(o.comps)
				}
				return string(name) == "component"
			})
		default:
			return false
		}
		return true
	})
}

// component reads a component or a build item.
func (p *parser) component(list []component) []component {
	c := component{part: p.part, id: -1}
	for k, v, ok := p.attr(); ok; k, v, ok = p.attr() {
		prefix, n := local(k)
		switch {
		case string(k) == "objectid":
			c.id = p.index(v)
		case string(k) == "transform":
			t, ok := parseTransform(v)
			if !ok {
				p.fail("a transform is not twelve usable numbers")
				return list
			}
			c.at = &t
		case string(n) == "path" && strings.HasSuffix(p.spaces[string(prefix)], pathSpace):
			c.part = intake.ArchiveKey(plain(v))
		}
	}
	if p.err == nil && c.id < 0 {
		p.fail("a component or item names no object")
	}
	if len(list) >= maxPlaced {
		p.fail("there are more than %d components or items in one place", maxPlaced)
	}
	p.leave()
	return append(list, c)
}

// index reads a whole number.
func (p *parser) index(v []byte) int64 {
	n, ok := intake.ParseInt(v)
	if !ok {
		n, ok = intake.ParseInt(bytes.TrimSpace(v))
	}
	if !ok || n < 0 {
		p.fail("%q is not a number of an object or vertex", intake.Printable(v))
		return -1
	}
	return n
}

// plainTag goes behind the tag that was just opened and reports whether elements
// without a prefix inside it are of the core.
func (p *parser) plainTag() bool {
	prefix, _ := local(p.name)
	for p.intag && p.err == nil {
		p.attr()
	}
	return len(prefix) == 0 && !p.empty && p.err == nil
}

// vertices reads the places of a mesh.
func (p *parser) vertices(o *object) {
	if p.plainTag() {
		p.quickVertices(o)
	}
	p.children(func(name []byte) bool {
		if string(name) != "vertex" {
			return false
		}
		var q [3]float64
		got := 0
		for k, v, ok := p.attr(); ok; k, v, ok = p.attr() {
			if len(k) != 1 || k[0] < 'x' || k[0] > 'z' {
				continue
			}
			x, ok := intake.ParseFloat(v)
			if !ok {
				x, ok = intake.ParseFloat(bytes.TrimSpace(v))
			}
			if !ok || !intake.Finite(x) {
				p.fail("vertex %d of object %d has the coordinate %q", len(o.mesh.Pos), o.id, intake.Printable(v))
				return true
			}
			q[k[0]-'x'] = x
			got |= 1 << (k[0] - 'x')
		}
		if got != 7 {
			p.fail("vertex %d of object %d has not all of x, y and z", len(o.mesh.Pos), o.id)
		}
		if len(o.mesh.Pos) >= intake.MaxVertices {
			p.fail("there are more than %d vertices", intake.MaxVertices)
		}
		o.mesh.Pos = append(o.mesh.Pos, r3.Vec{X: q[0], Y: q[1], Z: q[2]})
		p.leave()
		return true
	})
}

// triangles reads the triangles of a mesh.
func (p *parser) triangles(o *object) {
	if p.plainTag() {
		p.quickTriangles(o)
	}
	p.children(func(name []byte) bool {
		if string(name) != "triangle" {
			return false
		}
		var t [3]uint32
		got := 0
		for k, v, ok := p.attr(); ok; k, v, ok = p.attr() {
			if len(k) != 2 || k[0] != 'v' || k[1] < '1' || k[1] > '3' {
				continue
			}
			n := p.index(v)
			if n >= intake.MaxVertices {
				p.fail("triangle %d of object %d names vertex %d", len(o.mesh.Tri), o.id, n)
			}
			t[k[1]-'1'] = uint32(n)
			got |= 1 << (k[1] - '1')
		}
		if got != 7 {
			p.fail("triangle %d of object %d has not all of v1, v2 and v3", len(o.mesh.Tri), o.id)
		}
		if len(o.mesh.Tri) >= intake.MaxTriangles {
			p.fail("there are more than %d triangles", intake.MaxTriangles)
		}
		o.mesh.Tri = append(o.mesh.Tri, t)
		p.leave()
		return true
	})
}

// checkMesh holds the triangles against the vertices, which may come in either
// order.
func (p *parser) checkMesh(o *object) {
	n := uint32(len(o.mesh.Pos))
	for i, t := range o.mesh.Tri {
		if p.err == nil && max(t[0], t[1], t[2]) >= n {
			p.fail("triangle %d of object %d names vertex %d of %d", i, o.id, max(t[0], t[1], t[2]), n)
		}
	}
}
