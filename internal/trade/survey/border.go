package survey

import (
	"math"
	"runtime"
	"sort"
	"sync"

	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

// border is where two faces meet, a below b in number.
type border struct {
	a, b                  int32
	edges                 []edge
	ridge, valley, smooth float64 // lengths in mm
}

// edge is a side of a triangle of the border's face a.
type edge struct {
	tri int32
	k   int
}

func (b *border) length() float64 { return b.ridge + b.valley + b.smooth }

// other is the face on the other side.
func (b *border) other(f int32) int32 {
	if b.a == f {
		return b.b
	}
	return b.a
}

// findBorders lists where faces meet, in the order of faces.
func (s *surveyor) findBorders() {
	at := map[[2]int32]*border{}
	for t := range s.m.Tri {
		for k, u := range s.tp.Across[t] {
			if u == mesh.NoTri {
				continue
			}
			a, b := s.p.Face[t], s.p.Face[u]
			if a >= b {
				continue
			}
			e := at[[2]int32{a, b}]
			if e == nil {
				e = &border{a: a, b: b}
				at[[2]int32{a, b}] = e
				s.borders = append(s.borders, e)
			}
			e.edges = append(e.edges, edge{int32(t), k})
			l := s.side(int32(t), k)
			switch {
			case !s.p.Sharp[t][k]:
				e.smooth += l
			case s.p.Turn[t][k] > 0:
				e.ridge += l
			default:
				e.valley += l
			}
		}
	}
	sort.SliceStable(s.borders, func(i, j int) bool {
		p, q := s.borders[i], s.borders[j]
		return p.a < q.a || p.a == q.a && p.b < q.b
	})
	s.beside = make([][]int32, len(s.p.Faces))
	for i, b := range s.borders {
		s.beside[b.a] = append(s.beside[b.a], int32(i))
		s.beside[b.b] = append(s.beside[b.b], int32(i))
	}
}

// facing is what a face sees straight out.
type facing struct {
	met   float64 // share of its area that looks at the part
	sight []sight
	wide  float64 // the smallest distance met, mm; infinite for none
}

// sight is a share of a face's area that looks at another face.
type sight struct {
	face  int32
	share float64
}

// looks is how many places of each face are asked; fewer where faces are many.
const looks, fewLooks, manyFaces = 40, 10, 4000

// findFacing looks straight out from places spread evenly over each face.
func (s *surveyor) findFacing() {
	n := len(s.p.Faces)
	s.look = make([]facing, n)
	var wg sync.WaitGroup
	workers := max(1, min(runtime.GOMAXPROCS(0), n))
	for w := range workers {
		wg.Go(func() {
			for f := w; f < n; f += workers {
				s.look[f] = s.lookOut(&s.p.Faces[f])
			}
		})
	}
	wg.Wait()
}

func (s *surveyor) lookOut(f *patch.Face) facing {
	out := facing{wide: math.Inf(1)}
	count := looks
	if len(s.p.Faces) > manyFaces {
		count = fewLooks
	}
	for i := range count {
		t, p := s.place(f, i, count)
		n := s.p.Normal[t]
		hit, at, _, _, ok := s.tree.Ray(p, n, 1e-6*s.diag, math.Inf(1))
		if !ok || hit == int(t) || r3.Dot(s.p.Normal[hit], n) > -0.1 {
			continue
		}
		out.met += 1 / float64(count)
		out.wide = min(out.wide, at)
		g := s.p.Face[hit]
		known := false
		for j := range out.sight {
			if out.sight[j].face == g {
				out.sight[j].share += 1 / float64(count)
				known = true
			}
		}
		if !known {
			out.sight = append(out.sight, sight{g, 1 / float64(count)})
		}
	}
	return out
}

// place is the i-th of n places spread evenly over a face by area, the same ones
// every time: along the triangles by even steps, within each by a low
// discrepancy sequence (Roberts, "The Unreasonable Effectiveness of
// Quasirandom Sequences", 2018).
func (s *surveyor) place(f *patch.Face, i, n int) (int32, r3.Vec) {
	want := (float64(i) + 0.5) / float64(n) * f.Area
	tri := f.Tris[len(f.Tris)-1]
	for _, t := range f.Tris {
		if want -= s.p.Area[t]; want <= 0 {
			tri = t
			break
		}
	}
	u := math.Mod(0.5+float64(i)*0.7548776662466927, 1)
	v := math.Mod(0.5+float64(i)*0.5698402909980532, 1)
	if u+v > 1 {
		u, v = 1-u, 1-v
	}
	a, b, c := s.m.Corners(int(tri))
	return tri, r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(c, a))))
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }
