// Package threemf reads 3MF packages (3D Manufacturing Format, ISO/IEC 25422):
// meshes, components and build items with their transforms, units, and the
// production extension's parts. [Read] is all there is to it.
//
// Other extensions are skipped with a note, unless the file says that they are
// required and they could change the shape.
package threemf

import (
	"fmt"
	"slices"
	"strings"

	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"
)

// format is how this format is called.
const format = "3MF"

// units are the lengths that a model may be written in, in millimetres.
var units = map[string]float64{"micron": 0.001, "millimeter": 1, "centimeter": 10, "inch": 25.4, "foot": 304.8, "meter": 1000}

// Read makes a part of a 3MF file: all build items in their places. It refuses
// with an [intake.Fault] archives that unpack to far more than they should,
// document types, components that contain themselves, nesting beyond reason,
// and extensions that are required and not known.
func Read(data []byte) (*intake.Part, error) {
	if len(data) == 0 {
		return nil, intake.Faultf(format, "", "the file is empty")
	}
	if len(data) > intake.MaxBytes {
		return nil, intake.Faultf(format, "", "the file has more than %d bytes", intake.MaxBytes)
	}
	a, err := intake.OpenArchive(format, data)
	if err != nil {
		return nil, err
	}
	root, err := modelPart(a)
	if err != nil {
		return nil, err
	}
	b := &book{archive: a, models: map[string]*model{}, skipped: map[string]bool{}}
	m, err := b.model(root)
	if err != nil {
		return nil, err
	}
	return b.build(m)
}

// book holds the models of a package as they are read.
type book struct {
	archive *intake.Archive
	models  map[string]*model
	skipped map[string]bool // extensions whose elements were skipped
	count   int             // objects read
	unitMM  float64         // of the model that was read first
}

// model is one model part.
type model struct {
	part    string
	unit    string // "" where it does not say
	objects map[int64]*object
	order   []*object
	items   []component
}

// object is a mesh or a set of components.
type object struct {
	id     int64
	name   string
	typ    string
	where  string
	unitMM float64
	mesh   mesh.Mesh
	comps  []component

	// What it comes to with its components, once counted.
	state            uint8 // 1 while being counted, 2 after
	tris, verts, use int
	depth            int
	used             bool // as a component or an item
}

// component places an object.
type component struct {
	part string // the model part it is in
	id   int64
	at   *transform // nil for none
}

// model reads a model part, or finds it read.
func (b *book) model(part string) (*model, error) {
	if m := b.models[part]; m != nil {
		return m, nil
	}
	d, err := b.archive.Unpack(part)
	if err != nil {
		return nil, err
	}
	m, err := b.parse(part, d)
	if err != nil {
		return nil, err
	}
	b.models[part] = m
	return m, nil
}

// find is the object that a component places.
func (b *book) find(c component) (*object, error) {
	m, err := b.model(c.part)
	if err != nil {
		return nil, err
	}
	o := m.objects[c.id]
	if o == nil {
		return nil, &intake.Fault{Format: format, What: fmt.Sprintf("object %d is named and is not there", c.id), Where: shown(c.part), Try: "export it again"}
	}
	o.used = true
	return o, nil
}

const (
	// maxPlaced is how many copies of meshes a file may place.
	maxPlaced = 100_000
	// maxCopied is how many triangles copies may come to, where the file itself
	// does not hold more.
	maxCopied = 8_000_000
)

// measure counts what an object comes to with its components, before anything
// is copied, and refuses circles.
func (b *book) measure(o *object) error {
	switch o.state {
	case 2:
		return nil
	case 1:
		return &intake.Fault{Format: format, What: fmt.Sprintf("object %d contains itself", o.id), Where: shown(o.where), Try: "export it again"}
	}
	o.state = 1
	o.tris, o.verts, o.use = len(o.mesh.Tri), len(o.mesh.Pos), 1
	for _, c := range o.comps {
		p, err := b.find(c)
		if err != nil {
			return err
		}
		if err := b.measure(p); err != nil {
			return err
		}
		o.depth = max(o.depth, p.depth+1)
		o.tris = min(o.tris+p.tris, 1<<40)
		o.verts = min(o.verts+p.verts, 1<<40)
		o.use = min(o.use+p.use, 1<<40)
	}
	if o.depth > intake.MaxDepth {
		return &intake.Fault{Format: format, What: fmt.Sprintf("components are nested more than %d deep", intake.MaxDepth), Where: shown(o.where)}
	}
	o.state = 2
	return nil
}

// build puts all build items of the root model together.
func (b *book) build(root *model) (*intake.Part, error) {
	part := &intake.Part{Format: format, Mesh: &mesh.Mesh{}, UnitName: root.unit}
	if root.unit == "" {
		part.UnitName = "millimeter" // the standard's default
	}
	part.UnitMM = units[part.UnitName]

	var objects []*object
	items := root.items
	if len(items) == 0 {
		for _, o := range root.order {
			if err := b.measure(o); err != nil {
				return nil, err
			}
		}
		for _, o := range root.order {
			if !o.used {
				items = append(items, component{part: root.part, id: o.id})
			}
		}
		if len(items) > 0 {
			part.Notes = append(part.Notes, "the file does not say what to build; all its objects were read as they lie")
		}
	}
	total := object{}
	var kept []component
	left := map[string]int{}
	for _, it := range items {
		o, err := b.find(it)
		if err != nil {
			return nil, err
		}
		if err := b.measure(o); err != nil {
			return nil, err
		}
		if o.typ == "support" || o.typ == "solidsupport" || o.typ == "other" {
			left[o.typ]++
			continue
		}
		kept, objects = append(kept, it), append(objects, o)
		total.tris, total.verts, total.use = total.tris+o.tris, total.verts+o.verts, total.use+o.use
	}
	own := 0
	for _, m := range b.models {
		for _, o := range m.order {
			own += len(o.mesh.Tri)
		}
	}
	if total.use > maxPlaced || total.tris > intake.MaxTriangles || total.tris > max(own, maxCopied) || total.verts > intake.MaxVertices {
		return nil, &intake.Fault{Format: format, What: fmt.Sprintf("it places %d copies with %d triangles together, more than can be read", total.use, total.tris), Try: "keep one copy of each part"}
	}
	for i, o := range objects {
		if i == 0 && len(objects) == 1 && kept[0].at == nil && len(o.comps) == 0 && o.unitMM == part.UnitMM {
			part.Mesh.Pos, part.Mesh.Tri = o.mesh.Pos, o.mesh.Tri // nothing to move: no copy
		} else if err := b.place(part, o, kept[i].at); err != nil {
			return nil, err
		}
		if o.name != "" && len(part.Names) < intake.MaxParts {
			part.Names = append(part.Names, o.name)
		}
	}
	b.tell(part, root, objects, left)
	if len(part.Mesh.Tri) == 0 {
		return nil, &intake.Fault{Format: format, What: "there are no triangles in it", Where: shown(root.part), Try: "export the part again"}
	}
	return part, nil
}

// tell adds the notes.
func (b *book) tell(part *intake.Part, root *model, objects []*object, left map[string]int) {
	for _, typ := range []string{"support", "solidsupport", "other"} {
		if n := left[typ]; n > 0 {
			part.Notes = append(part.Notes, fmt.Sprintf("objects of the type %q were left out: %d", typ, n))
		}
	}
	surfaces := 0
	for _, o := range objects {
		if o.typ == "surface" {
			surfaces++
		}
	}
	if surfaces > 0 {
		part.Notes = append(part.Notes, fmt.Sprintf("objects that are surfaces and not solids: %d", surfaces))
	}
	unused := 0
	for _, o := range root.order {
		if !o.used {
			unused++
		}
	}
	if unused > 0 {
		part.Notes = append(part.Notes, fmt.Sprintf("objects that are not to be built were left out: %d", unused))
	}
	var names []string
	for n := range b.skipped {
		names = append(names, n)
	}
	if len(names) > 0 {
		slices.Sort(names)
		names = names[:min(len(names), 8)]
		part.Notes = append(part.Notes, "extensions that were skipped: "+strings.Join(names, ", "))
	}
}
