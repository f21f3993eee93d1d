package step

import (
	"fmt"
	"math"
	"strings"

	"fettle/internal/format/brep"
	"fettle/internal/format/intake"
	"fettle/internal/format/part21"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// builder puts the kernel's meshes into one part.
type builder struct {
	scene *brep.Scene
	names []string // of the meshes in order, where the file's own are known to be theirs
	part  *intake.Part
	sheet []piece // open surfaces, kept in case there is nothing else
	used  int     // meshes met on the walk
}

// piece is a mesh on its way into the part.
type piece struct {
	from *brep.Mesh
	mesh *mesh.Mesh
	name string
	in   []string
}

// partOf walks the assembly and welds every body. Closed bodies are measured;
// open surfaces are listed, unless there is nothing else.
func partOf(scene *brep.Scene, sum *part21.Summary) (*intake.Part, error) {
	b := &builder{scene: scene, part: &intake.Part{Format: "STEP", InMM: true, Mesh: &mesh.Mesh{}}}
	if sum.Protocol != "" {
		b.part.Format = "STEP " + sum.Protocol
	}
	// The kernel takes a file that names no unit as one in millimetres.
	b.part.UnitMM = 1
	if len(sum.Units) > 0 {
		b.part.UnitName, b.part.UnitMM = sum.Units[0].Name, sum.Units[0].MM
	}
	if n := len(sum.Units); n > 1 {
		b.part.Notes = append(b.part.Notes, fmt.Sprintf("the file is in %d units; the sizes are right all the same: each was taken as the file says", n))
	}
	// The kernel tells the names of products. Those of bodies are in the text, and
	// in one product they come in the same order.
	if len(sum.Products) == 1 && sum.Uses == 0 && sum.Solids == len(scene.Meshes) {
		b.names = sum.Bodies
	}
	if err := b.walk(&scene.Root, nil); err != nil {
		return nil, err
	}
	p := b.part
	p.Aside = append(p.Aside, sum.Beside...)
	switch {
	case len(p.Bodies) == 0 && len(b.sheet) == 0:
		f := &intake.Fault{Format: "STEP", What: "there is no solid in it", Try: "export the part as a solid body"}
		if len(p.Aside) > 0 {
			f.What += ", only " + some(p.Aside)
		}
		return nil, f
	case len(p.Bodies) == 0:
		for _, s := range b.sheet {
			if err := b.add(s, false); err != nil {
				return nil, err
			}
		}
		p.Notes = append(p.Notes, "there is no closed body in the file, only open surfaces; they were taken as one, and nothing that needs a volume can be told")
	case len(b.sheet) > 0 && !mentions(sum.Beside, "open surface"):
		p.Aside = append(p.Aside, count(len(b.sheet), "open surface"))
	}
	if closed := len(p.Bodies); closed > 0 && sum.Uses == 0 && sum.Solids > closed && len(b.sheet) > 0 {
		p.Notes = append(p.Notes, fmt.Sprintf("the file has %d solids, of which %d came out with open edges and were left out; mend the model where it was drawn", sum.Solids, sum.Solids-closed))
	}
	for _, body := range p.Bodies {
		p.Names = append(p.Names, body.Name)
	}
	return p, nil
}

// walk goes through the assembly, depth first, in the file's order.
func (b *builder) walk(n *brep.Node, in []string) error {
	for _, i := range n.Meshes {
		from := &b.scene.Meshes[i]
		if b.used++; b.used > intake.MaxParts {
			return intake.Faultf("STEP", "", "it has more than %d bodies", intake.MaxParts)
		}
		m := welded(from)
		if len(m.Tri) == 0 {
			continue
		}
		name := from.Name
		if b.names != nil {
			name = b.names[i]
		}
		p := piece{from: from, mesh: m, name: nameOf(name, n.Name, len(n.Meshes)), in: in}
		if !mesh.NewTopology(m).Closed() {
			b.sheet = append(b.sheet, p)
			continue
		}
		if err := b.add(p, true); err != nil {
			return err
		}
	}
	if n.Name != "" && len(n.Children) > 0 {
		in = append(in[:len(in):len(in)], n.Name)
	}
	for i := range n.Children {
		if err := b.walk(&n.Children[i], in); err != nil {
			return err
		}
	}
	return nil
}

// nameOf picks the more telling of a body's and its product's names. A product
// of one body is known by its own; bodies are often called "SOLID" or not at all.
func nameOf(body, product string, bodies int) string {
	body, product = strings.TrimSpace(body), strings.TrimSpace(product)
	if product == "" {
		return body
	}
	switch strings.ToUpper(body) {
	case "", "SOLID", "SHELL", "COMPOUND", "NONE":
		return product
	}
	if bodies == 1 {
		return product
	}
	return body
}

// add appends a body to the part.
func (b *builder) add(p piece, solid bool) error {
	m := b.part.Mesh
	if len(m.Tri)+len(p.mesh.Tri) > intake.MaxTriangles {
		return intake.Faultf("STEP", "", "it makes more than %d triangles", intake.MaxTriangles)
	}
	from, base, face := len(m.Tri), uint32(len(m.Pos)), int32(len(b.part.FaceColours))
	m.Pos = append(m.Pos, p.mesh.Pos...)
	for i, t := range p.mesh.Tri {
		m.Tri = append(m.Tri, [3]uint32{t[0] + base, t[1] + base, t[2] + base})
		m.Face = append(m.Face, p.mesh.Face[i]+face)
	}
	for _, f := range p.from.Faces {
		b.part.FaceColours = append(b.part.FaceColours, colour(f.Colour))
	}
	b.part.Bodies = append(b.part.Bodies, intake.Body{
		Name: p.name, In: p.in, From: from, To: len(m.Tri), Colour: colour(p.from.Colour), Solid: solid,
	})
	return nil
}

// welded is a mesh with the vertices that faces share made one, without
// triangles that this leaves empty; each triangle knows its face, by its number
// within the body.
func welded(from *brep.Mesh) *mesh.Mesh {
	w := mesh.NewWelder(len(from.Pos) / 3)
	to := make([]uint32, len(from.Pos)/3)
	for i := range to {
		to[i] = w.Add(from.Pos[3*i], from.Pos[3*i+1], from.Pos[3*i+2])
	}
	m := &mesh.Mesh{Pos: w.Pos, Tri: make([][3]uint32, 0, len(from.Tri)/3), Face: make([]int32, 0, len(from.Tri)/3)}
	for f, face := range from.Faces {
		for t := face.First; t <= face.Last; t++ {
			v := [3]uint32{to[from.Tri[3*t]], to[from.Tri[3*t+1]], to[from.Tri[3*t+2]]}
			if v[0] == v[1] || v[1] == v[2] || v[2] == v[0] || !finite(w.Pos, v) {
				continue
			}
			m.Tri = append(m.Tri, v)
			m.Face = append(m.Face, int32(f))
		}
	}
	return m
}

func finite(pos []r3.Vec, v [3]uint32) bool {
	for _, i := range v {
		if p := pos[i]; !intake.Finite(p.X) || !intake.Finite(p.Y) || !intake.Finite(p.Z) {
			return false
		}
	}
	return true
}

// colour turns the kernel's linear light into what a screen shows (IEC
// 61966-2-1, sRGB), which is what STEP files hold.
func colour(c *[3]float64) *intake.Colour {
	if c == nil {
		return nil
	}
	var out intake.Colour
	for i, v := range c {
		v = min(max(v, 0), 1)
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		out[i] = uint8(math.Round(255 * v))
	}
	return &out
}

func mentions(phrases []string, what string) bool {
	for _, p := range phrases {
		if strings.Contains(p, what) {
			return true
		}
	}
	return false
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
