package cavity

import (
	"context"
	"math"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// place is an opening as it lies in space: heights count from its mouth along
// its axis, and are negative in it.
type place struct {
	at         r3.Vec // centre of the mouth
	u, v, axis r3.Vec // u the long way, where there is one
	depth      float64
	// lo and hi bound its faces along u, v and the axis; box does so in space.
	lo, hi  [3]float64
	box     geom.Box
	through bool
	ring    bool    // a groove round the part: depth is towards its axis
	outer   float64 // a ring's outer radius
	tris    []int32
	hollow  bool    // walled in all round
	loose   bool    // a gap: its bounds say what is in it, not its cells
	room    float64 // how far beyond its bounds along v and the axis it may widen
}

// ways finds u and v from the directions that the walls look in: most of a long
// opening's walls look across it.
func (f *finder) ways(p *place) {
	x := geom.Perpendicular(p.axis)
	y := r3.Cross(p.axis, x)
	var xx, xy, yy float64
	for _, t := range p.tris {
		n, area := f.Mesh.Normal(int(t))
		a, b := r3.Dot(n, x), r3.Dot(n, y)
		xx, xy, yy = xx+area*a*a, xy+area*a*b, yy+area*b*b
	}
	sin, cos := math.Sincos(0.5 * math.Atan2(2*xy, xx-yy))
	p.v = r3.Add(r3.Scale(cos, x), r3.Scale(sin, y))
	p.u = r3.Cross(p.v, p.axis)
}

// bound measures the faces of a place.
func (f *finder) bound(p *place) {
	p.box = geom.EmptyBox()
	for k := range 3 {
		p.lo[k], p.hi[k] = math.Inf(1), math.Inf(-1)
	}
	for _, t := range p.tris {
		for _, w := range f.Mesh.Tri[t] {
			q := f.Mesh.Pos[w]
			p.box = p.box.Add(q)
			u, v, h := p.local(q)
			for k, x := range [3]float64{u, v, h} {
				p.lo[k], p.hi[k] = min(p.lo[k], x), max(p.hi[k], x)
			}
			p.outer = max(p.outer, math.Hypot(u, v))
		}
	}
}

// owners tells of each triangle which opening it belongs to.
func (f *finder) owners() {
	f.owner = make([]int32, len(f.Mesh.Tri))
	for t := range f.owner {
		f.owner[t] = -1
		if d := f.Detail; d != nil && d.Patches != nil {
			f.owner[t] = d.Opening[d.Patches.Face[t]]
		}
	}
}

// holds reports whether a place of the void at these coordinates can lie in the
// opening: beside its faces, below its mouth and above its bottom. Where mouth
// and end are not level, what the rolling sphere leaves there counts in.
func (p *place) holds(u, v, h float64, rest bool) bool {
	const slack = 1e-9
	if u < p.lo[0]-slack || u > p.hi[0]+slack || v < p.lo[1]-slack || v > p.hi[1]+slack || h < p.lo[2]-slack || h > p.hi[2]+slack {
		return false
	}
	if p.ring {
		return math.Hypot(u, v) <= p.outer
	}
	return rest || h <= slack && (!p.through || h >= -p.depth-slack)
}

// claim gives cells to the openings of the survey: those in a place's range
// whose nearest triangle is one of its own. Where an edge between two openings
// is nearest, such as the rim of a hole in a pocket's floor, height decides.
func (f *finder) claim(ctx context.Context) error {
	f.owners()
	tris := make([][]int32, len(f.list))
	for t, o := range f.owner {
		if o >= 0 && int(o) < len(tris) {
			tris[o] = append(tris[o], int32(t))
		}
	}
	for i := range f.list {
		o := &f.list[i]
		p := &place{
			at: geom.Vec(o.At), axis: geom.Vec(o.Axis), depth: o.DepthMM, through: o.Through,
			ring: o.Form == "groove", tris: tris[i],
		}
		f.ways(p)
		f.bound(p)
		f.places = append(f.places, p)
	}
	for i := range f.places {
		if err := f.claimFor(ctx, int32(i)); err != nil {
			return err
		}
	}
	return nil
}

// span is the range of cells in a box, and up to a cell round it.
func (f *finder) span(b geom.Box) (lo, hi [3]int) {
	if b.Empty() {
		return [3]int{}, [3]int{-1, -1, -1}
	}
	a, c := geom.Array(r3.Sub(b.Min, f.Origin)), geom.Array(r3.Sub(b.Max, f.Origin))
	for k := range 3 {
		lo[k] = max(int(math.Floor(a[k]/f.Cell)), 0)
		hi[k] = min(int(math.Ceil(c[k]/f.Cell)), f.N[k]-1)
	}
	return lo, hi
}

func (f *finder) claimFor(ctx context.Context, i int32) error {
	p := f.places[i]
	lo, hi := f.span(p.box)
	return cores.Each(ctx, hi[2]-lo[2]+1, func(n int) {
		k := lo[2] + n
		slot := int32(bvh.None)
		for j := lo[1]; j <= hi[1]; j++ {
			for x := lo[0]; x <= hi[0]; x++ {
				at := f.Index(x, j, k)
				if f.D[at] <= 0 || f.of[at] >= 0 {
					continue
				}
				q := f.At(x, j, k)
				u, v, h := p.local(q)
				rest := f.state[at]&left != 0
				if !p.holds(u, v, h, rest) {
					continue
				}
				var own int32
				own, slot = f.ownerAt(q, slot)
				switch {
				case own == i:
				case own >= 0:
					u, v, h := f.places[own].local(q)
					if f.places[own].holds(u, v, h, rest) {
						continue
					}
				case !rest || p.ring:
					continue
				}
				f.of[at] = i
			}
		}
	})
}

// ownerAt is the opening of the triangle nearest to a point, −1 for none.
func (f *finder) ownerAt(q r3.Vec, slot int32) (int32, int32) {
	slot, _, _ = f.Tree.NearestBeside(q, slot, math.Inf(1))
	if slot == bvh.None {
		return -1, slot
	}
	tri, _, _ := f.Tree.Slot(slot, q)
	return f.owner[tri], slot
}
