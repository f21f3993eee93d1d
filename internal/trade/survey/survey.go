// Package survey says what a part is: its faces, the openings where media may
// lodge and a cutter must fit, the inside corners, and the zones that will be
// treated and judged alike. [Of] is the way in.
//
// An opening is told by its walls. A wall is a face that looks at another wall:
// straight out from it, across empty space, one meets the part again. Walls
// that look at each other, or run into each other round a hollow, stand round
// one opening; what closes it below is its floor. Nothing is said about outer
// faces, however they bulge, because nothing stands opposite to them.
package survey

import (
	"context"
	"slices"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

// Options say what the mesh does not.
type Options struct {
	// Up is the direction that the show face looks in, of any length; zero to
	// have it proposed.
	Up r3.Vec
}

// Detail is what rooms that follow need beside the survey itself.
type Detail struct {
	Patches   *patch.Patches
	Curvature *patch.Curvature
	Tree      *bvh.Tree
	// Up is the unit direction that the zones were made for.
	Up r3.Vec
	// Opening is the index of the survey's opening that each face belongs to,
	// −1 for none. Zone is the index of the survey's zone of each triangle.
	Opening []int32
	Zone    []int32
}

// surveyor holds what the parts of a survey share.
type surveyor struct {
	m       *mesh.Mesh
	tp      *mesh.Topology
	p       *patch.Patches
	c       *patch.Curvature
	tree    *bvh.Tree
	diag    float64
	borders []*border
	beside  [][]int32 // indices into borders of each face
	look    []facing  // of each face
	groups  []*group  // openings, in the survey's order
	of      []int32   // group of each face, −1 for none
	up      r3.Vec
	upWhy   string
	zone    []int32 // of each triangle
}

// Of surveys a cleaned mesh in millimetres. It fills faces, openings, corners,
// zones, warnings, the length of sharp edges and the noise of the curvature;
// what is known of the file and what [mesh.Measure] finds is the caller's to
// add. The only error is the context's.
func Of(ctx context.Context, m *mesh.Mesh, tp *mesh.Topology, opt Options) (fettle.Survey, *Detail, error) {
	s := &surveyor{m: m, tp: tp, diag: m.Box().Diagonal()}
	built := make(chan *bvh.Tree, 1)
	go func() { built <- bvh.Build(m) }()
	s.p = patch.Find(m, tp)
	s.tree = <-built
	if err := ctx.Err(); err != nil {
		return fettle.Survey{}, nil, err
	}
	s.c = s.p.Curvature()
	s.findBorders()
	s.findFacing()
	if err := ctx.Err(); err != nil {
		return fettle.Survey{}, nil, err
	}
	s.findGroups()

	out := fettle.Survey{Faces: s.faces()}
	// Which way is up is proposed from the openings too, and which end of a
	// through hole is its mouth depends on what is up.
	s.chooseUp(opt.Up, s.openings())
	out.Openings = s.openings()
	out.Zones = s.zones()
	out.Corners = s.corners(out.Zones, out.Openings)
	s.zoneCorners(out.Zones, out.Corners)
	out.SharpEdgeMM = s.sharpRidges()
	out.CurvatureNoise = s.noise()
	out.Warnings = s.warnings(&out)
	if err := ctx.Err(); err != nil {
		return fettle.Survey{}, nil, err
	}
	return out, &Detail{Patches: s.p, Curvature: s.c, Tree: s.tree, Up: s.up, Opening: s.of, Zone: s.zone}, nil
}

// faces are the patches in the survey's words.
func (s *surveyor) faces() []fettle.Face {
	out := make([]fettle.Face, len(s.p.Faces))
	for i := range s.p.Faces {
		f := &s.p.Faces[i]
		g := fettle.Face{
			ID: i, AreaMM2: f.Area, At: geom.Array(f.At), Axis: geom.Array(f.Axis),
			Hollow: f.Hollow, ErrorUM: 1000 * f.Max, Facets: f.Tris,
		}
		switch f.Kind {
		case geom.Plane:
			g.Kind = fettle.PlaneFace
		case geom.Cylinder:
			g.Kind, g.RadiusMM = fettle.CylinderFace, f.Radius
		case geom.Cone:
			g.Kind, g.RadiusMM, g.HalfAngleDeg = fettle.ConeFace, f.Radius, degrees(f.HalfAngle)
		case geom.Sphere:
			g.Kind, g.RadiusMM = fettle.SphereFace, f.Radius
		case geom.Torus:
			g.Kind, g.RadiusMM, g.MajorMM = fettle.TorusFace, f.Radius, f.Major
		default:
			g.Kind, g.At, g.Axis = fettle.FreeFace, geom.Array(f.Centroid), [3]float64{}
			if l := r3.Norm(f.Mean); l > 1e-6 {
				g.Axis = geom.Array(r3.Scale(1/l, f.Mean))
			}
		}
		out[i] = g
	}
	return out
}

// sharpRidges is the length of all sharp outside edges.
func (s *surveyor) sharpRidges() float64 {
	sum := 0.0
	for t, sharp := range s.p.Sharp {
		for k := range sharp {
			if sharp[k] && s.p.Turn[t][k] > 0 {
				sum += s.arc(int32(t), k) / 2 // each edge is met twice
			}
		}
	}
	return sum
}

// side is the length of a triangle's side.
func (s *surveyor) side(t int32, k int) float64 {
	v := s.m.Tri[t]
	return r3.Norm(r3.Sub(s.m.Pos[v[(k+1)%3]], s.m.Pos[v[k]]))
}

// noise is the median error of the curvature.
func (s *surveyor) noise() float64 {
	if len(s.c.Vertex) == 0 {
		return 0
	}
	all := make([]float32, len(s.c.Vertex))
	for i, b := range s.c.Vertex {
		all[i] = b.Noise
	}
	slices.Sort(all)
	return float64(all[len(all)/2])
}
