package form

import (
	"math"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
)

// Section is a loop at a depth below the face that a cut starts from.
type Section struct {
	Loop  []r2.Vec
	Depth float64
}

// Cut is a hole, slot or pocket sunk into a plate. Sections run from the mouth
// inwards; between two with equal counts lies a wall (upright, or sloping like a
// countersink), between two of unequal counts at one depth a level shelf.
type Cut struct {
	Sections []Section
	Through  bool // the last section's loop goes on to the other face
	FromBack bool // starts from z = 0 and goes up
	Tip      bool // the last section's loop has shrunk to a point: Point mm deeper
	Point    float64
}

// Through is a cut of one outline from face to face.
func Through(loop []r2.Vec) Cut {
	return Cut{Sections: []Section{{loop, 0}}, Through: true}
}

// Blind is a cut of one outline with upright walls and a level floor.
func Blind(loop []r2.Vec, depth float64) Cut {
	return Cut{Sections: []Section{{loop, 0}, {loop, depth}}}
}

// Drilled is a blind round hole with a drill's point of the given included angle
// below its full depth.
func Drilled(centre r2.Vec, diameter, depth, pointDeg float64, n int) Cut {
	c := Blind(Circle(centre, diameter, n), depth)
	c.Tip, c.Point = true, diameter/2/math.Tan(pointDeg*math.Pi/360)
	return c
}

// Countersunk is a through hole whose mouth opens as a cone of the given
// included angle to the larger diameter.
func Countersunk(centre r2.Vec, hole, mouth, angleDeg float64, n int) Cut {
	depth := (mouth - hole) / 2 / math.Tan(angleDeg*math.Pi/360)
	return Cut{Sections: []Section{{Circle(centre, mouth, n), 0}, {Circle(centre, hole, n), depth}}, Through: true}
}

// Counterbored is a through hole whose mouth is a wider flat-bottomed one.
func Counterbored(centre r2.Vec, hole, mouth, depth float64, n int) Cut {
	wide, narrow := Circle(centre, mouth, n), Circle(centre, hole, n)
	return Cut{Sections: []Section{{wide, 0}, {wide, depth}, {narrow, depth}}, Through: true}
}

// Plate is an outline raised from z = 0 to its thickness, less the cuts.
func Plate(outline []r2.Vec, thickness float64, cuts ...Cut) *mesh.Mesh {
	return PlateSpaced(outline, thickness, 0, cuts...)
}

// PlateSpaced is Plate with inner vertices about spacing apart on its two faces;
// 0 for none.
func PlateSpaced(outline []r2.Vec, thickness, spacing float64, cuts ...Cut) *mesh.Mesh {
	if Area(outline) <= 0 {
		panic("form: an outline must run anticlockwise")
	}
	var b Builder
	bottom, top := b.Ring(outline, 0), b.Ring(outline, thickness)
	b.Wall(bottom, top)
	var above, below []Ring
	for _, c := range cuts {
		near, far := b.cut(c, thickness)
		if c.FromBack {
			near, far = far, near
		}
		if near != nil {
			above = append(above, near)
		}
		if far != nil {
			below = append(below, far)
		}
	}
	if spacing > 0 {
		b.Flat(Up, spacing, top, above...)
		b.Flat(Down, spacing, bottom, below...)
	} else {
		b.Region(Up, top, above...)
		b.Region(Down, bottom, below...)
	}
	return b.Mesh()
}

// cut adds the walls and the floor of a cut and returns the rings that it leaves
// in the near face and, when it goes through, in the far one.
func (b *Builder) cut(c Cut, thickness float64) (near, far Ring) {
	height := func(depth float64) float64 {
		if c.FromBack {
			return depth
		}
		return thickness - depth
	}
	side := Side(!c.FromBack)
	sections := c.Sections
	if c.Through {
		sections = append(append([]Section(nil), sections...), Section{sections[len(sections)-1].Loop, thickness})
	}
	var last Ring
	var depth float64
	for i, s := range sections {
		ring := b.Ring(s.Loop, height(s.Depth))
		switch {
		case i == 0:
			near = ring
		case s.Depth == depth:
			b.Region(side, last, ring)
		case c.FromBack:
			b.Wall(ring, last) // the bore looks inwards: upper ring first
		default:
			b.Wall(last, ring)
		}
		last, depth = ring, s.Depth
	}
	switch {
	case c.Through:
		return near, last
	case c.Tip:
		tip := b.Ring([]r2.Vec{Centroid(c.Sections[len(c.Sections)-1].Loop)}, height(depth+c.Point))
		if c.FromBack {
			b.Wall(tip, last)
		} else {
			b.Wall(last, tip)
		}
	default:
		b.Region(side, last)
	}
	return near, nil
}

// Centroid is the centre of the area that a loop surrounds.
func Centroid(loop []r2.Vec) r2.Vec {
	var c r2.Vec
	o := loop[0]
	sum := 0.0
	for i, p := range loop {
		u, v := r2.Sub(p, o), r2.Sub(loop[(i+1)%len(loop)], o)
		k := r2.Cross(u, v)
		sum += k
		c = r2.Add(c, r2.Scale(k/3, r2.Add(u, v)))
	}
	return r2.Add(o, r2.Scale(1/sum, c))
}
