package cusp

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/spatial/r3"
)

// scene is a zone as the cutter sees it: from its Up, passes along X, which is
// the longer side of the zone in plan.
type scene struct {
	mesh   *mesh.Mesh
	zone   fettle.Zone
	frame  relief.Frame
	x0, y0 float64 // the zone's box in plan
	x1, y1 float64
}

func newScene(m *mesh.Mesh, z fettle.Zone) *scene {
	s := &scene{mesh: m, zone: z, frame: relief.Facing(r3.Unit(geom.Vec(z.Up)))}
	s.frame.Origin = m.Box().Centre()
	s.measure()
	if s.y1-s.y0 > s.x1-s.x0 {
		s.frame = s.frame.Turned(math.Pi / 2)
		s.measure()
	}
	return s
}

func (s *scene) measure() {
	s.x0, s.y0 = math.Inf(1), math.Inf(1)
	s.x1, s.y1 = math.Inf(-1), math.Inf(-1)
	for _, t := range s.zone.Facets {
		for _, v := range s.mesh.Tri[t] {
			p := s.frame.Into(s.mesh.Pos[v])
			s.x0, s.x1 = math.Min(s.x0, p.X), math.Max(s.x1, p.X)
			s.y0, s.y1 = math.Min(s.y0, p.Y), math.Max(s.y1, p.Y)
		}
	}
}

// view is the zone on a grid: its heights, those of all of the part, and the
// slope of the zone where it is on top.
type view struct {
	grid  relief.Grid
	zone  *relief.Map
	all   *relief.Map
	slope []float32 // tangent; NaN off the zone and where something is above it
}

// hiddenMM is how far the rest of the part may stand over the zone before the
// zone counts as hidden below it.
const hiddenMM = 1e-3

// view looks at the zone's box and so far around it, in cells of the given size.
func (s *scene) view(ctx context.Context, cell, around float64) (*view, error) {
	g := relief.Cover(s.x0-around, s.y0-around, s.x1+around, s.y1+around, cell)
	zone, err := relief.Raster(ctx, s.mesh, s.frame, g, s.zone.Facets)
	if err != nil {
		return nil, err
	}
	all, err := relief.Raster(ctx, s.mesh, s.frame, g, nil)
	if err != nil {
		return nil, err
	}
	v := &view{grid: g, zone: zone, all: all, slope: make([]float32, g.Cells())}
	nan := float32(math.NaN())
	for j := range g.H {
		for i := range g.W {
			n := j*g.W + i
			v.slope[n] = nan
			z := zone.At(i, j)
			if math.IsNaN(z) || all.At(i, j) > z+hiddenMM {
				continue
			}
			v.slope[n] = float32(math.Hypot(v.grade(i, j, 1, 0), v.grade(i, j, 0, 1)))
		}
	}
	return v, nil
}

// grade is the zone's slope along a row or a column, from what neighbours there
// are.
func (v *view) grade(i, j, di, dj int) float64 {
	at := func(k int) float64 {
		p, q := i+k*di, j+k*dj
		if p < 0 || q < 0 || p >= v.grid.W || q >= v.grid.H {
			return math.NaN()
		}
		return v.zone.At(p, q)
	}
	a, b, c := at(-1), at(0), at(1)
	switch d := v.grid.DX; {
	case !math.IsNaN(a) && !math.IsNaN(c):
		return (c - a) / (2 * d)
	case !math.IsNaN(c):
		return (c - b) / d
	case !math.IsNaN(a):
		return (b - a) / d
	}
	return 0
}

// ToolOf is the end of a cutter on the shelf.
func ToolOf(c fettle.Cutter) relief.Tool {
	return relief.Tool{Radius: c.DiameterMM / 2, Corner: math.Min(c.NoseMM(), c.DiameterMM/2)}
}
