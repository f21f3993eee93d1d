package field

import (
	"context"
	"math"
	"slices"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"

	"gonum.org/v1/gonum/spatial/r3"
)

// seeds are points of the surface, each the nearest one to the middle of a cell
// that it lies in or right beside: some more than one to a cell of the surface, so
// that the outside of sharp edges has its own.
type seeds struct {
	at   []int32      // cell
	q    [][3]float32 // the point, in cells from the grid's origin
	slot []int32      // its triangle; −1 where that is so small that the point stands for it
	wide []bool       // whether the triangle counts at any distance
	// beside[from[n]:from[n+1]] are the seeds in the cells round seed n.
	from   []int32
	beside []int32
	// other are the wide triangles, but its own, that those lie on, likewise.
	fromOther []int32
	other     []int32
}

// The sizes of triangles, in cells, below which a seed stands for the one it lies
// on: below speck always, because seeds lie as close as its corners; up to wide
// from farOff cells away, because the gap s between seeds then adds less than
// s²/(2·farOff).
const (
	speck  = 0.5
	wide   = 3
	farOff = 12
)

// seedReach is how far, in cells along any axis, a seed lies from the middle of its
// cell at most. With a half, which would give every point one cell, too few seeds
// stand along sharp edges; what the envelopes lose by overlaps the walk wins back.
const seedReach = 0.7

func seedsOf(tree *bvh.Tree, g Grid, near [][]close) *seeds {
	s := &seeds{}
	limit := float32(g.Cell * math.Sqrt(3) / 2 * 1.0001)
	for _, list := range near {
		for _, c := range list {
			if c.dist > limit {
				continue
			}
			i, j, k := g.Split(int(c.at))
			_, p, _ := tree.Slot(c.slot, g.At(i, j, k))
			p = r3.Scale(1/g.Cell, r3.Sub(p, g.Origin))
			if max(math.Abs(p.X-float64(i)), math.Abs(p.Y-float64(j)), math.Abs(p.Z-float64(k))) > seedReach {
				continue
			}
			a, b, d := tree.Corners(int(c.slot))
			slot := c.slot
			size2 := max(r3.Norm2(r3.Sub(a, b)), r3.Norm2(r3.Sub(b, d)), r3.Norm2(r3.Sub(d, a))) / (g.Cell * g.Cell)
			if size2 < speck*speck {
				slot = -1
			}
			s.at = append(s.at, c.at)
			s.q = append(s.q, [3]float32{float32(p.X), float32(p.Y), float32(p.Z)})
			s.slot = append(s.slot, slot)
			s.wide = append(s.wide, size2 > wide*wide)
		}
	}
	return s
}

// never stands for the square of the distance to a seed where there is none.
const never = float32(1e9)

// reach finds for every cell a seed that is nearest or nearly so, in feature, and
// the square of the distance to it in cells, in square: by rows, by columns, and in
// depth, each time as the lower envelope of parabolas (P. F. Felzenszwalb and D. P.
// Huttenlocher, "Distance Transforms of Sampled Functions", Theory of Computing 8
// (2012) 415), which here stand where the seeds are and not in the middle of their
// cells. Each pass keeps one seed of a cell's row, chosen as seen from there, so
// that the answer is the nearest seed but for those.
func (s *seeds) reach(ctx context.Context, g Grid, feature []int32, square []float32) error {
	nx, ny, nz := g.N[0], g.N[1], g.N[2]
	if err := cores.Each(ctx, nz, func(k int) {
		plane := feature[k*nx*ny : (k+1)*nx*ny]
		for i := range plane {
			plane[i] = -1
		}
	}); err != nil {
		return err
	}
	for n, at := range s.at {
		feature[at] = int32(n)
	}
	s.link(g, feature)
	if err := cores.Each(ctx, nz, func(k int) {
		for j := range ny {
			b := (k*ny + j) * nx
			s.alongRow(feature[b:b+nx], square[b:b+nx])
		}
	}); err != nil {
		return err
	}
	tiles := (nx + tile - 1) / tile
	if err := cores.Each(ctx, nz*tiles, func(n int) {
		k, i := n/tiles, n%tiles*tile
		e := newEnvelope(s.q, 1, ny)
		e.run(feature, square, k*nx*ny+i, nx, ny, min(tile, nx-i))
	}); err != nil {
		return err
	}
	return cores.Each(ctx, ny*tiles, func(n int) {
		j, i := n/tiles, n%tiles*tile
		e := newEnvelope(s.q, 2, nz)
		e.run(feature, square, j*nx+i, nx*ny, nz, min(tile, nx-i))
	})
}

// link finds the neighbours of every seed while feature still holds the cells'
// own seeds.
func (s *seeds) link(g Grid, feature []int32) {
	s.from = make([]int32, len(s.at)+1)
	s.beside = make([]int32, 0, 10*len(s.at))
	s.fromOther = make([]int32, len(s.at)+1)
	for n, at := range s.at {
		i, j, k := g.Split(int(at))
		i0, i1 := max(i-1, 0), min(i+2, g.N[0])
		for z := max(k-1, 0); z < min(k+2, g.N[2]); z++ {
			for y := max(j-1, 0); y < min(j+2, g.N[1]); y++ {
				for _, f := range feature[g.Index(i0, y, z):g.Index(i1, y, z)] {
					if f < 0 || f == int32(n) {
						continue
					}
					s.beside = append(s.beside, f)
					if t := s.slot[f]; s.wide[n] && s.wide[f] && t != s.slot[n] && !slices.Contains(s.other[s.fromOther[n]:], t) {
						s.other = append(s.other, t)
					}
				}
			}
		}
		s.from[n+1], s.fromOther[n+1] = int32(len(s.beside)), int32(len(s.other))
	}
}

// alongRow gives each cell of a row the nearest seed in it.
func (s *seeds) alongRow(feature []int32, square []float32) {
	seed := int32(-1)
	for i, f := range feature {
		if f >= 0 {
			seed = f
		}
		square[i] = never
		if seed >= 0 {
			d := float32(i) - s.q[seed][0]
			square[i] = d * d
		}
	}
	// Backwards, while feature still holds the cells' own seeds; a cell to the
	// right of a seed keeps that of the way there unless the next is nearer.
	next, last := int32(-1), len(feature)
	for i := len(feature) - 1; i >= 0; i-- {
		f := feature[i]
		if f < 0 {
			continue
		}
		for c := i + 1; c < last; c++ {
			feature[c] = f
			if next >= 0 {
				if d := float32(c) - s.q[next][0]; d*d < square[c] {
					square[c], feature[c] = d*d, next
				}
			}
		}
		next, last = f, i
	}
	if next >= 0 {
		for c := range last {
			d := float32(c) - s.q[next][0]
			square[c], feature[c] = d*d, next
		}
	}
}

// tile is how many neighbouring columns are worked on together, so that what one
// line of the cache brings is used.
const tile = 16

// envelope works on columns of n cells.
type envelope struct {
	q       [][3]float32 // the seeds
	axis    int          // along which the columns run
	n       int
	f       []float32 // tile × n, column by column
	feature []int32
	v       []float32 // where the parabolas of the envelope stand
	w       []float32 // their heights
	h       []float64 // height plus square of the place
	id      []int32
}

func newEnvelope(q [][3]float32, axis, n int) *envelope {
	return &envelope{
		q: q, axis: axis, n: n, f: make([]float32, tile*n), feature: make([]int32, tile*n),
		v: make([]float32, n), w: make([]float32, n), h: make([]float64, n), id: make([]int32, n),
	}
}

// run takes `columns` columns that begin side by side at an index.
func (e *envelope) run(feature []int32, square []float32, at, stride, n, columns int) {
	for r := range n {
		row, ids := square[at+r*stride:at+r*stride+columns], feature[at+r*stride:at+r*stride+columns]
		for c := range row {
			e.f[c*n+r], e.feature[c*n+r] = row[c], ids[c]
		}
	}
	for c := range columns {
		e.column(e.f[c*n:(c+1)*n], e.feature[c*n:(c+1)*n])
	}
	for r := range n {
		row, ids := square[at+r*stride:at+r*stride+columns], feature[at+r*stride:at+r*stride+columns]
		for c := range row {
			row[c], ids[c] = e.f[c*n+r], e.feature[c*n+r]
		}
	}
}

// column replaces heights by the lower envelope of the parabolas that stand on
// them. Where two cross is compared by multiplying out, without a division.
func (e *envelope) column(f []float32, feature []int32) {
	m := 0
	for r, fq := range f {
		if fq >= never {
			continue
		}
		q := e.q[feature[r]][e.axis]
		hq := float64(fq) + float64(q)*float64(q)
		for m > 1 {
			a, b := e.v[m-2], e.v[m-1]
			if (hq-e.h[m-1])*float64(b-a) > (e.h[m-1]-e.h[m-2])*float64(q-b) {
				break
			}
			m--
		}
		e.v[m], e.w[m], e.h[m], e.id[m] = q, fq, hq, feature[r]
		m++
	}
	if m == 0 {
		return
	}
	k := 0
	v, w := e.v[:m], e.w[:m]
	for p := range f {
		x := float32(p)
		d := x - v[k]
		best := d*d + w[k]
		for k+1 < m {
			d := x - v[k+1]
			next := d*d + w[k+1]
			if next > best {
				break
			}
			best = next
			k++
		}
		f[p], feature[p] = best, e.id[k]
	}
}

// measure turns seeds into distances in mm. What the passes by rows lost is won
// back by walking from seed to neighbouring seed while that comes nearer, from
// the nearest of the cell's own, its neighbours' and the one where the walk of the
// cell before it ended; the triangle of the last counts.
func (s *seeds) measure(ctx context.Context, tree *bvh.Tree, g Grid, feature []int32, dist []float32) error {
	nx, ny, nz := g.N[0], g.N[1], g.N[2]
	return cores.Each(ctx, nz*ny, func(row int) {
		j, k := row%ny, row/ny
		y, z := float32(j), float32(k)
		base := row * nx
		around := make([][]int32, 0, 4)
		for _, o := range [...]struct {
			ok bool
			by int
		}{{j > 0, -nx}, {j+1 < ny, nx}, {k > 0, -nx * ny}, {k+1 < nz, nx * ny}} {
			if o.ok {
				around = append(around, feature[base+o.by:base+o.by+nx])
			}
		}
		last := feature[base]
		for i, own := range feature[base : base+nx] {
			at := [3]float32{float32(i), y, z}
			seed, best := last, s.away(last, at)
			try := func(c int32) {
				if c != seed {
					if d := s.away(c, at); d < best {
						best, seed = d, c
					}
				}
			}
			try(own)
			for _, r := range around {
				try(r[i])
			}
			if seed != last || i&stride(best) == 0 {
				seed, best = s.walk(seed, best, at)
			}
			// Between two far parts of the surface that are nearly as near, the walk
			// that began nearer need not end nearer.
			further := func(c int32) {
				if c == seed || s.beyond(c, seed) < apart*apart {
					return
				}
				if d := s.away(c, at); d < best+2*sqrt32(best)+1 {
					if e, d := s.walk(c, d, at); d < best {
						best, seed = d, e
					}
				}
			}
			further(own)
			for _, r := range around {
				further(r[i])
			}
			last = seed
			d := math.Sqrt(float64(best)) * g.Cell
			if slot := s.slot[seed]; slot >= 0 && (s.wide[seed] || best < farOff*farOff) {
				p := g.At(i, j, k)
				_, _, least := tree.Slot(slot, p)
				for _, o := range s.other[s.fromOther[seed]:s.fromOther[seed+1]] {
					_, _, d2 := tree.Slot(o, p)
					least = min(least, d2)
				}
				d = math.Sqrt(min(least, d*d))
			}
			dist[base+i] = float32(d)
		}
	})
}

// stride tells, as a mask of the place in a row, how often the seed of the cell
// before is walked from: far from the surface the nearest point moves by less than
// a cell from one cell to the next, and one that is e cells off adds e²/2d.
func stride(square float32) int {
	switch {
	case square < 16*16:
		return 0
	case square < 40*40:
		return 1
	}
	return 3
}

// apart is how far, in cells, two seeds lie when they may belong to different
// parts of the surface.
const apart = 3

// away is the square of the distance of a seed from a place, in cells.
func (s *seeds) away(c int32, at [3]float32) float32 {
	q := &s.q[c]
	dx, dy, dz := at[0]-q[0], at[1]-q[1], at[2]-q[2]
	return dx*dx + dy*dy + dz*dz
}

// beyond is the square of the distance between two seeds.
func (s *seeds) beyond(c, d int32) float32 { return s.away(c, s.q[d]) }

// walk goes from seed to neighbouring seed as long as that comes nearer.
func (s *seeds) walk(seed int32, best float32, at [3]float32) (int32, float32) {
	for from := int32(-1); from != seed; {
		from = seed
		for _, c := range s.beside[s.from[from]:s.from[from+1]] {
			if d := s.away(c, at); d < best {
				best, seed = d, c
			}
		}
	}
	return seed, best
}

func sqrt32(x float32) float32 { return float32(math.Sqrt(float64(x))) }
