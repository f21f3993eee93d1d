package form

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// checkRegion demands triangles that turn left, fill the loops' area and hold
// every loop edge once.
func checkRegion(t interface{ Fatalf(string, ...any) }, pts []r2.Vec, tris [][3]int, loops ...[]int) {
	want := 0.0
	for _, l := range loops {
		ring := make([]r2.Vec, len(l))
		for i, v := range l {
			ring[i] = pts[v]
		}
		want += Area(ring) // holes are given clockwise
	}
	sum, edges := 0.0, map[[2]int]int{}
	for _, v := range tris {
		a, b, c := pts[v[0]], pts[v[1]], pts[v[2]]
		if turn(a, b, c) <= 0 {
			t.Fatalf("triangle %v does not turn left", v)
		}
		sum += r2.Cross(r2.Sub(b, a), r2.Sub(c, a)) / 2
		for k := range 3 {
			edges[[2]int{v[k], v[(k+1)%3]}]++
		}
	}
	if math.Abs(sum-want) > 1e-9*math.Max(1, math.Abs(want)) {
		t.Fatalf("triangles cover %.12g of %.12g", sum, want)
	}
	border := map[[2]int]bool{}
	for _, l := range loops {
		for i, a := range l {
			e := [2]int{a, l[(i+1)%len(l)]}
			border[e] = true
			if edges[e] != 1 || edges[[2]int{e[1], e[0]}] != 0 {
				t.Fatalf("loop edge %v is in %d triangles and %d beyond it", e, edges[e], edges[[2]int{e[1], e[0]}])
			}
		}
	}
	for e, n := range edges {
		if n != 1 || (!border[e] && edges[[2]int{e[1], e[0]}] != 1) {
			t.Fatalf("inner edge %v is in %d triangles, its reverse in %d", e, n, edges[[2]int{e[1], e[0]}])
		}
	}
}

// star draws a ring round a centre, with radii between lo and hi; holes run
// clockwise. Coordinates are rounded to step, so that points line up often,
// unless that folds the ring.
func star(t *rapid.T, pts []r2.Vec, c r2.Vec, lo, hi, step float64, hole bool) ([]r2.Vec, []int) {
	n := rapid.IntRange(3, 40).Draw(t, "n")
	loop := make([]int, 0, n)
	for i := range n {
		// A turn of 0.4 at most leaves no gap of half a circle, even for n = 3.
		a := 2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.4).Draw(t, "turn")) / float64(n)
		r := rapid.Float64Range(lo, hi).Draw(t, "r")
		loop = append(loop, len(pts))
		pts = append(pts, r2.Vec{X: c.X + r*math.Cos(a), Y: c.Y + r*math.Sin(a)})
	}
	if step > 0 {
		rounded := append([]r2.Vec(nil), pts...)
		for _, i := range loop {
			rounded[i] = r2.Vec{X: math.Round(pts[i].X/step) * step, Y: math.Round(pts[i].Y/step) * step}
		}
		if sound(rounded, loop) {
			pts = rounded
		}
	}
	if hole {
		for i, j := 0, len(loop)-1; i < j; i, j = i+1, j-1 {
			loop[i], loop[j] = loop[j], loop[i]
		}
	}
	return pts, loop
}

// sound reports whether a loop is simple as drawn: rounding can fold a star.
func sound(pts []r2.Vec, loop []int) bool {
	n := len(loop)
	for i := range n {
		a, b := pts[loop[i]], pts[loop[(i+1)%n]]
		for j := range n {
			if j != i && j != (i+1)%n && turn(a, b, pts[loop[j]]) == 0 && r2.Dot(r2.Sub(pts[loop[j]], a), r2.Sub(pts[loop[j]], b)) <= 0 {
				return false
			}
			c, d := pts[loop[j]], pts[loop[(j+1)%n]]
			if turn(a, b, c)*turn(a, b, d) < 0 && turn(c, d, a)*turn(c, d, b) < 0 {
				return false
			}
		}
	}
	return true
}

func TestTriangulateStarsWithHoles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.SampledFrom([]float64{0, 0.25, 0.01}).Draw(t, "step")
		pts, outer := star(t, nil, r2.Vec{}, 10, 20, step, false)
		loops := [][]int{outer}
		// Holes sit within the circle of radius 5 that lies inside every star of at
		// least 7 corners; with fewer corners chords cut in, so they get none.
		if len(outer) >= 7 {
			for q := range rapid.IntRange(0, 4).Draw(t, "holes") {
				c := r2.Vec{X: 2.2 * float64(q%2*2-1), Y: 2.2 * float64(q/2*2-1)}
				var h []int
				pts, h = star(t, pts, c, 0.6, 1.8, step, true)
				loops = append(loops, h)
			}
		}
		// Points on a coarse grid: inside, outside and in holes.
		taken := map[r2.Vec]bool{}
		for _, p := range pts {
			taken[p] = true
		}
		for range rapid.IntRange(0, 30).Draw(t, "inner") {
			p := r2.Vec{X: 0.5 * float64(rapid.IntRange(-30, 30).Draw(t, "x")), Y: 0.5 * float64(rapid.IntRange(-30, 30).Draw(t, "y"))}
			if !taken[p] && !onLoop(pts, loops, p) {
				taken[p] = true
				pts = append(pts, p)
			}
		}
		tris, err := Triangulate(pts, loops...)
		if err != nil {
			t.Fatalf("%v", err)
		}
		checkRegion(t, pts, tris, loops...)
	})
}

func onLoop(pts []r2.Vec, loops [][]int, p r2.Vec) bool {
	for _, l := range loops {
		for i := range l {
			a, b := pts[l[i]], pts[l[(i+1)%len(l)]]
			if turn(a, b, p) == 0 && r2.Dot(r2.Sub(p, a), r2.Sub(p, b)) <= 0 {
				return true
			}
		}
	}
	return false
}

// A square grid is the worst for predicates: every four neighbours lie on one
// circle, every row on one line.
func TestTriangulateGrid(t *testing.T) {
	var pts []r2.Vec
	for _, c := range [][2]float64{{0, 0}, {1, 0}, {1, 1}, {0, 1}} {
		pts = append(pts, r2.Vec{X: c[0], Y: c[1]})
	}
	for i := 1; i < 40; i++ {
		for j := 1; j < 40; j++ {
			pts = append(pts, r2.Vec{X: float64(i) * 0.025, Y: float64(j) * 0.025})
		}
	}
	loop := []int{0, 1, 2, 3}
	tris, err := Triangulate(pts, loop)
	if err != nil {
		t.Fatal(err)
	}
	checkRegion(t, pts, tris, loop)
	again, _ := Triangulate(pts, loop)
	if d := cmp.Diff(tris, again); d != "" {
		t.Errorf("two runs differ: %s", d)
	}
}

// Without loops' constraints in the way, no corner lies inside another
// triangle's circle.
func TestTriangulateIsDelaunay(t *testing.T) {
	loop, pts := []int{}, Circle(r2.Vec{}, 20, 30)
	for i := range pts {
		loop = append(loop, i)
	}
	pts = append(pts, grid([][]r2.Vec{pts}, 1.7)...)
	tris, err := Triangulate(pts, loop)
	if err != nil {
		t.Fatal(err)
	}
	checkRegion(t, pts, tris, loop)
	for _, v := range tris {
		for i, p := range pts {
			if i != v[0] && i != v[1] && i != v[2] && inCircle(pts[v[0]], pts[v[1]], pts[v[2]], p) {
				t.Fatalf("point %d lies in the circle of %v", i, v)
			}
		}
	}
}

func TestTriangulateRefuses(t *testing.T) {
	square := []r2.Vec{{}, {X: 4}, {X: 4, Y: 4}, {Y: 4}}
	for _, c := range []struct {
		name  string
		extra []r2.Vec
		loops [][]int
		says  string
	}{
		{"a short loop", nil, [][]int{{0, 1}}, "needs three"},
		{"a point twice", nil, [][]int{{0, 1, 2, 0}}, "used twice"},
		{"coinciding points", []r2.Vec{{X: 4, Y: 4}}, [][]int{{0, 1, 2, 3}}, "coincide"},
		{"a bow tie", nil, [][]int{{0, 1, 3, 2}}, "crosses another"},
		{"a point on an edge", []r2.Vec{{X: 2}}, [][]int{{0, 1, 2, 3}}, "runs through point 4"},
		{"no number", []r2.Vec{{X: math.NaN()}}, [][]int{{0, 1, 2, 3}}, "not a number"},
	} {
		_, err := Triangulate(append(square[:4:4], c.extra...), c.loops...)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want a sentence with %q", c.name, err, c.says)
		}
	}
}

func TestTurnIsExact(t *testing.T) {
	// Kettner and others, "Classroom examples of robustness problems in geometric
	// computations" (2008): float64 alone answers this grid of points wrongly.
	q, r := r2.Vec{X: 12, Y: 12}, r2.Vec{X: 24, Y: 24}
	for i := range 64 {
		for j := range 64 {
			p := r2.Vec{X: 0.5 + float64(i)*0x1p-53, Y: 0.5 + float64(j)*0x1p-53}
			// q and r lie on the diagonal: the turn has the sign of y - x.
			got := turn(p, q, r)
			if (got > 0) != (p.Y > p.X) || (got < 0) != (p.Y < p.X) {
				t.Fatalf("turn at (%d, %d) is %g", i, j, got)
			}
		}
	}
}
