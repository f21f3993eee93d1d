package brep

import "errors"

var errShape = errors.New("it answered with something else than a model")

// sceneOf reads the module's answer: an object of {success, root, meshes}.
func sceneOf(v value) (s *Scene, err error) {
	if v.kind != record {
		return nil, errShape
	}
	if !v.at("success").truth() {
		return nil, errRefused
	}
	meshes, ok := v.at("meshes").ref.(*array)
	if !ok {
		return nil, errShape
	}
	s = &Scene{}
	for i := range meshes.len() {
		m, err := meshOf(meshes.get(i))
		if err != nil {
			return nil, err
		}
		s.Meshes = append(s.Meshes, m)
	}
	s.Root, err = nodeOf(v.at("root"), len(s.Meshes), 0)
	return s, err
}

// at is property by a name, undefined where there is none.
func (v value) at(name string) value {
	if o, ok := v.ref.(*object); ok && v.kind == record {
		return o.of[name]
	}
	return value{}
}

func (v value) string() string {
	s, _ := v.ref.(string)
	return s
}

// numbers are those of a list of nothing else.
func (v value) numbers() ([]float64, bool) {
	a, ok := v.ref.(*array)
	if !ok || v.kind != list || a.values != nil {
		return nil, false
	}
	return a.numbers, true
}

// deepest is how many assemblies may stand in each other.
const deepest = 200

func nodeOf(v value, meshes, depth int) (Node, error) {
	n := Node{Name: v.at("name").string()}
	of, ok := v.at("meshes").numbers()
	children, isList := v.at("children").ref.(*array)
	if !ok || !isList || depth > deepest {
		return n, errShape
	}
	for _, i := range of {
		if i < 0 || int(i) >= meshes {
			return n, errShape
		}
		n.Meshes = append(n.Meshes, int(i))
	}
	for i := range children.len() {
		c, err := nodeOf(children.get(i), meshes, depth+1)
		if err != nil {
			return n, err
		}
		n.Children = append(n.Children, c)
	}
	return n, nil
}

func meshOf(v value) (Mesh, error) {
	m := Mesh{Name: v.at("name").string(), Colour: colourOf(v.at("color"))}
	attributes := v.at("attributes")
	var ok bool
	if m.Pos, ok = attributes.at("position").at("array").numbers(); !ok || len(m.Pos)%3 != 0 {
		return m, errShape
	}
	if n := attributes.at("normal"); n.kind == record {
		if m.Normal, ok = n.at("array").numbers(); !ok || len(m.Normal)%3 != 0 {
			return m, errShape
		}
	}
	index, ok := v.at("index").at("array").numbers()
	if !ok || len(index)%3 != 0 {
		return m, errShape
	}
	m.Tri = make([]uint32, len(index))
	for i, x := range index {
		if x < 0 || int(x) >= len(m.Pos)/3 {
			return m, errShape
		}
		m.Tri[i] = uint32(x)
	}
	faces, ok := v.at("brep_faces").ref.(*array)
	if !ok {
		return m, errShape
	}
	next := 0
	for i := range faces.len() {
		f := faces.get(i)
		face := Face{First: int(f.at("first").num), Last: int(f.at("last").num), Colour: colourOf(f.at("color"))}
		if face.First != next || face.Last < face.First-1 || face.Last >= len(index)/3 {
			return m, errShape
		}
		next = face.Last + 1
		m.Faces = append(m.Faces, face)
	}
	if next != len(index)/3 {
		return m, errShape
	}
	return m, nil
}

func colourOf(v value) *[3]float64 {
	c, ok := v.numbers()
	if !ok || len(c) != 3 {
		return nil
	}
	return &[3]float64{c[0], c[1], c[2]}
}
