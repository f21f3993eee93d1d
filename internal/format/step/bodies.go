package step

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle/internal/format/brep"
	"fettle/internal/format/intake"
	"fettle/internal/format/part21"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// builder puts the kernel's meshes into one part.
type builder struct {
	scene  *brep.Scene
	told   []part21.Placed // of the meshes in order, where what the text says is known to be of them
	part   *intake.Part
	bodies map[string]int // with names of their own, by product
	sheet  []piece        // open surfaces, kept in case there is nothing else
	used   int            // meshes met on the walk
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
	unit := unitOf(sum)
	b.part.UnitName, b.part.UnitMM = unit.Name, unit.MM
	if n := len(sum.Units); n > 1 {
		b.part.Notes = append(b.part.Notes, fmt.Sprintf("the file is in %d units; the sizes are right all the same: each was taken as the file says", n))
	}
	if agree(scene, sum.Placed) {
		b.told, b.bodies = sum.Placed, map[string]int{}
		seen := map[[2]string]bool{}
		for _, t := range b.told {
			if k := [2]string{t.Product, t.Body}; !seen[k] {
				seen[k] = true
				b.bodies[t.Product]++
			}
		}
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
	if !slices.ContainsFunc(p.FaceColours, func(c *intake.Colour) bool { return c != nil }) {
		p.FaceColours = nil
	}
	if p.Bodies[0].Solid {
		p.Notes = append(p.Notes, missing(len(p.Bodies), sum)...)
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
		p := piece{from: from, mesh: m, name: nameOf(from.Name, n.Name, len(n.Meshes)), in: in}
		if b.told != nil {
			t := b.told[i]
			p.name, p.in = nameOf(t.Body, t.Product, b.bodies[t.Product]), t.In
		}
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

// missing warns where the text tells of more solids than came out.
func missing(closed int, sum *part21.Summary) []string {
	switch placed := len(sum.Placed); {
	case sum.Placed == nil && sum.Uses > 0:
		return []string{fmt.Sprintf("the file's assembly leads into itself or is too large to follow; closed bodies read: %d; see that none is missing", closed)}
	case placed > closed:
		return []string{fmt.Sprintf("the file places %d solids, of which %d came out closed; mend the model where it was drawn if one is missing", placed, closed)}
	}
	return nil
}

// agree reports whether the text tells of the same bodies in the same order as
// the kernel, which keeps the names of products only, and not those of parts of
// assemblies that it makes one of: as many, each with as many faces.
func agree(scene *brep.Scene, told []part21.Placed) bool {
	if len(told) != len(scene.Meshes) {
		return false
	}
	for i, t := range told {
		if len(scene.Meshes[i].Faces) != t.Faces {
			return false
		}
	}
	return true
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
