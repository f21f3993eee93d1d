//go:build outside

package outside

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
)

// planeCase is two regions and what is done with them.
type planeCase struct {
	A      [][][2]float64 `json:"a"`
	B      [][][2]float64 `json:"b"`
	Grow   float64        `json:"grow"`
	Shrink float64        `json:"shrink"`
	Points [][2]float64   `json:"points"`
}

// Regions against GEOS (Debian's python3-shapely): unions, differences and
// intersections to the grid that corners are rounded to, buffers to the stray that
// was asked for.
func TestRegionsAgainstGEOS(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	star := func(cx, cy, lo, hi float64, n int) []r2.Vec {
		var l []r2.Vec
		for i := range n {
			a := 2 * math.Pi * (float64(i) + 0.6*rng.Float64()) / float64(n)
			d := lo + (hi-lo)*rng.Float64()
			l = append(l, r2.Vec{X: cx + d*math.Cos(a), Y: cy + d*math.Sin(a)})
		}
		return l
	}
	plain := func(r region.Region) (out [][][2]float64) {
		for _, l := range r.Loops {
			var loop [][2]float64
			for _, p := range l {
				loop = append(loop, [2]float64{p.X, p.Y})
			}
			out = append(out, loop)
		}
		return out
	}
	var as, bs []region.Region
	var cases []planeCase
	for i := range 25 {
		a := region.Of(star(0, 0, 6, 20, 5+i)).Minus(region.Of(star(3, 1, 1, 4, 7)))
		b := region.Of(star(8, 3, 4, 18, 9)).Union(region.Of(form.Rectangle(r2.Vec{X: -8, Y: 2}, 9, 7, 2, 12)))
		c := planeCase{A: plain(a), B: plain(b), Grow: 0.05 + 2*rng.Float64(), Shrink: 0.1 + rng.Float64()}
		for range 50 {
			c.Points = append(c.Points, [2]float64{-25 + 50*rng.Float64(), -25 + 50*rng.Float64()})
		}
		as, bs, cases = append(as, a), append(bs, b), append(cases, c)
	}
	in, err := json.Marshal(cases)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "testdata/plane.py")
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s\nThis test needs Debian's python3-shapely: apt-get install --no-install-recommends python3-shapely", err, stderr.Bytes())
	}
	dec := json.NewDecoder(bytes.NewReader(out))
	for i, c := range cases {
		var want struct {
			Union, Minus, And, Grown, Shrunk, Opened float64
			Inside                                   []bool
			Distance                                 []float64
		}
		if err := dec.Decode(&want); err != nil {
			t.Fatal(err)
		}
		a, b := as[i], bs[i]
		const tol = 1e-4 // of arcs, mm
		border := 0.0
		for _, l := range a.Loops {
			for k, p := range l {
				border += r2.Norm(r2.Sub(l[(k+1)%len(l)], p))
			}
		}
		for _, q := range []struct {
			name      string
			got, want float64
			within    float64
		}{
			{"union", a.Union(b).Area(), want.Union, 1e-3},
			{"difference", a.Minus(b).Area(), want.Minus, 1e-3},
			{"intersection", a.And(b).Area(), want.And, 1e-3},
			{"grown", a.Offset(c.Grow, tol).Area(), want.Grown, 3 * tol * border},
			{"shrunk", a.Offset(-c.Shrink, tol).Area(), want.Shrunk, 3 * tol * border},
			{"opened", a.Opened(c.Shrink, tol).Area(), want.Opened, 6 * tol * border},
		} {
			if math.Abs(q.got-q.want) > q.within {
				t.Errorf("case %d, %s: %.6f mm², GEOS %.6f", i, q.name, q.got, q.want)
			}
		}
		both := a.Union(b)
		for k, p := range c.Points {
			v := r2.Vec{X: p[0], Y: p[1]}
			if both.Holds(v) != want.Inside[k] && math.Abs(both.Distance(v)) > 1e-5 {
				t.Errorf("case %d: %v is inside %v, GEOS says %v", i, p, both.Holds(v), want.Inside[k])
			}
			if d := math.Abs(a.Distance(v)); math.Abs(d-want.Distance[k]) > 1e-5 {
				t.Errorf("case %d: %v is %.6f mm from the border, GEOS says %.6f", i, p, d, want.Distance[k])
			}
		}
	}
}
