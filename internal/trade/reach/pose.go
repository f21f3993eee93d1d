package reach

import (
	"context"
	"math"

	"fettle/internal/shape/convex"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	turns = 60 // orientations tried at a place, besides those that fit the place
	// band is by what factor the touching spheres of facets may differ that are
	// tried out as one.
	band = 1.3
)

// poses are the answers of trying out one kind of media where spheres alone do
// not decide: for each cluster of facets, new and worn.
type poses struct {
	of []int32 // cluster of each facet, shared by all media; nil without a void
	ok [2][]bool
}

func (p *poses) fits(state int, f int32) bool { return p.ok[state][p.of[f]] }

// tryPoses tries pieces that are not balls in the places that their
// circumscribed sphere does not reach. Without a void there is nothing to lay
// them into; of is nil then, and the ball that stands for the piece decides.
func (r *reacher) tryPoses(ctx context.Context) error {
	r.poses = make([]*poses, len(r.in.Media))
	var of, lead []int32
	for i := range r.pieces {
		r.poses[i] = &poses{}
		if r.pieces[i][0].core == nil || r.in.Void == nil {
			continue
		}
		if of == nil {
			of, lead = r.alike()
		}
		p := r.poses[i]
		p.of = of
		for state := range 2 {
			p.ok[state] = make([]bool, len(lead))
			t := newTrial(r, &r.pieces[i][state])
			err := cores.Batches(ctx, len(lead), 32, func(lo, hi int) {
				won := 0
				for c := lo; c < hi; c++ {
					p.ok[state][c] = t.at(lead[c], &won)
				}
			})
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// alike clusters facets whose places differ little: in one cube of a lattice, of
// one face, with spheres that differ little. It gives each facet's cluster and,
// for each, the facet nearest to its middle.
func (r *reacher) alike() (of, lead []int32) {
	s := r.skin
	type key struct {
		cell
		size int8
	}
	spacing := r.spacing()
	id := map[key]int32{}
	of = make([]int32, len(s.tri))
	var mid []r3.Vec
	var area []float64
	for f := range s.tri {
		p := s.at[f]
		size := 100.0
		if t := float64(s.touch[f]); t > 0 {
			size = math.Round(math.Log(t) / math.Log(band))
		}
		face := r.in.Detail.Patches.Face[s.from[f]]
		k := key{cell{int32(math.Floor(p.X / spacing)), int32(math.Floor(p.Y / spacing)), int32(math.Floor(p.Z / spacing)), face}, int8(size)}
		i, ok := id[k]
		if !ok {
			i = int32(len(mid))
			id[k] = i
			mid, area = append(mid, r3.Vec{}), append(area, 0)
		}
		of[f] = i
		mid[i] = r3.Add(mid[i], r3.Scale(s.area[f], p))
		area[i] += s.area[f]
	}
	return of, nearest(s, of, mid, area)
}

// nearest is, for each cluster, the facet nearest to its middle; mid is summed
// over area.
func nearest(s *skin, of []int32, mid []r3.Vec, area []float64) []int32 {
	lead := make([]int32, len(mid))
	best := make([]float64, len(mid))
	for i := range mid {
		mid[i] = r3.Scale(1/max(area[i], 1e-300), mid[i])
		best[i], lead[i] = math.Inf(1), -1
	}
	for f, i := range of {
		if d := r3.Norm2(r3.Sub(s.at[f], mid[i])); d < best[i] || lead[i] < 0 {
			best[i], lead[i] = d, int32(f)
		}
	}
	return lead
}

// trial tries one piece out.
type trial struct {
	r     *reacher
	piece *piece
	probe *convex.Probe
	turns []convex.Turn
	tol   float64
}

func newTrial(r *reacher, p *piece) *trial {
	return &trial{
		r: r, piece: p, probe: p.core.Probe(max(r.in.Void.Cell, p.in/2)), turns: p.core.Turns(turns).List,
		tol: 0.5 * r.in.Void.Cell,
	}
}

// at reports whether the piece can stand at a facet so that it touches it, clear
// of everything else, at a place that a sphere as large as the one in it can come
// to. It tries the pose that last did first, then poses that suit the place, then
// all round. won is the pose that did.
func (t *trial) at(f int32, won *int) bool {
	s, p := t.r.skin, t.piece
	if float64(t.r.radius[f]) >= p.out*enough {
		return true
	}
	if float64(s.touch[f]) < p.tip*enough {
		return false
	}
	n := t.r.smooth.at(s.from[f], s.at[f])
	if t.stands(s.at[f], n, t.turns[*won]) {
		return true
	}
	side := geom.Perpendicular(n)
	if by := s.by[f]; by >= 0 {
		// What stands in the way decides how a long piece has to lie.
		if m := t.r.in.Detail.Patches.Normal[by]; math.Abs(r3.Dot(m, n)) < 0.99 {
			side = r3.Unit(r3.Sub(m, r3.Scale(r3.Dot(m, n), n)))
		}
	}
	along := r3.Cross(n, side)
	for _, z := range [...]r3.Vec{n, along, side, r3.Scale(-1, n), r3.Scale(-1, side), r3.Unit(r3.Add(n, side)), r3.Unit(r3.Sub(n, side)), r3.Unit(r3.Add(n, along))} {
		for _, x := range [...]r3.Vec{n, side, along} {
			if x = r3.Sub(x, r3.Scale(r3.Dot(x, z), z)); r3.Norm(x) < 0.5 {
				continue
			}
			x = r3.Unit(x)
			if t.stands(s.at[f], n, convex.Turn{X: x, Y: r3.Cross(z, x), Z: z}) {
				return true
			}
			if p.core.Round() {
				break // about its own axis all poses are alike
			}
		}
	}
	for i, turn := range t.turns {
		if i != *won && t.stands(s.at[f], n, turn) {
			*won = i
			return true
		}
	}
	return false
}

// stands reports whether the piece, so turned, is clear when it touches the
// surface at q, whose normal is n, with the part of it that lies farthest
// towards the surface.
func (t *trial) stands(q, n r3.Vec, turn convex.Turn) bool {
	core := t.piece.core
	down := turn.Back(r3.Scale(-1, n))
	far := core.Support(down)
	best, low := math.Inf(-1), r3.Vec{}
	for i := range t.probe.Points {
		p := t.probe.Points[i].At
		if d := r3.Dot(p, down); d > best {
			best, low = d, p
		}
	}
	// From the touching point to the middle: up by the support and the rounding, and
	// back by as much as the lowest point stands off to the side.
	lean := turn.Of(r3.Sub(low, r3.Scale(best, down)))
	at := r3.Sub(r3.Add(q, r3.Scale(far+t.piece.tip, n)), lean)
	if !t.probe.Clear(t.r.in.Void.Field, convex.Pose{At: at, Turn: turn}, t.tol-t.piece.tip) {
		return false
	}
	if len(t.r.in.Void.Passage) == 0 {
		return true
	}
	w, known := t.r.passage(at)
	return !known || w >= t.piece.in*enough
}
