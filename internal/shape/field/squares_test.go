package field

import (
	"context"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawMask draws a small grid, thin ones among them, and a mask on it that may be
// empty or full.
func drawMask(t *rapid.T) (Grid, []bool) {
	g := Grid{Cell: 1}
	for a := range 3 {
		g.N[a] = rapid.SampledFrom([]int{1, 2, 3, 5, 9, 14, 40}).Draw(t, "n")
	}
	for g.Len() > 700 {
		g.N[slices.Index(g.N[:], slices.Max(g.N[:]))] /= 3
	}
	return g, randomMask(g, rapid.SampledFrom([]float64{0, 0.003, 0.03, 0.3, 0.7, 0.97, 1}).Draw(t, "filled"), rapid.Uint64().Draw(t, "seed"))
}

func randomMask(g Grid, filled float64, seed uint64) []bool {
	rng := rand.New(rand.NewPCG(seed, 3))
	mask := make([]bool, g.Len())
	for i := range mask {
		mask[i] = rng.Float64() < filled
	}
	return mask
}

func bruteSquares(mask []bool, g Grid) []int32 {
	out := make([]int32, len(mask))
	for at := range out {
		out[at] = Far
		i, j, k := g.Split(at)
		for b, m := range mask {
			if m {
				x, y, z := g.Split(b)
				out[at] = min(out[at], int32((x-i)*(x-i)+(y-j)*(y-j)+(z-k)*(z-k)))
			}
		}
	}
	return out
}

func TestSquaresAgainstAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, mask := drawMask(t)
		want := bruteSquares(mask, g)
		got, err := Squares(context.Background(), mask, g)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got, want) {
			t.Fatalf("%v: %v, want %v", g.N, got, want)
		}
		limit := rapid.Int32Range(0, 400).Draw(t, "limit")
		got, err = squaresWithin(context.Background(), mask, g, limit)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range want {
			if v > limit {
				v = Far
			}
			if got[i] != v {
				t.Fatalf("%v, cell %d: %d within %d, want %d", g.N, i, got[i], limit, v)
			}
		}
	})
}

// A row longer than most, where the last places of the divisions count.
func TestSquaresOfLongRows(t *testing.T) {
	for axis := range 3 {
		g := Grid{Cell: 1, N: [3]int{1, 1, 1}}
		g.N[axis] = longestAxis
		mask := make([]bool, g.Len())
		at := []int{17, 18, 9000, 26000}
		for _, i := range at {
			mask[i] = true
		}
		got, err := Squares(context.Background(), mask, g)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range got {
			want := Far
			for _, s := range at {
				want = min(want, (s-i)*(s-i))
			}
			if int(v) != want {
				t.Fatalf("axis %d, cell %d: %d, want %d", axis, i, v, want)
			}
		}
		g.N[axis]++
		if _, err := Squares(context.Background(), make([]bool, g.Len()), g); err == nil {
			t.Error("a grid that is too long is not told")
		}
	}
}

// The same bits on any number of cores.
func TestSameForAnyCores(t *testing.T) {
	g := Grid{Cell: 1, N: [3]int{41, 50, 63}}
	mask := randomMask(g, 0.002, 5)
	loose := randomMask(g, 0.31, 6)
	type answer struct {
		squares, label []int32
		opened         []bool
		thick          []float32
	}
	var first answer
	for _, n := range []int{1, 2, 5} {
		was := runtime.GOMAXPROCS(n)
		var a answer
		var err [3]error
		a.squares, err[0] = Squares(context.Background(), mask, g)
		f := &Field{Grid: g, D: make([]float32, g.Len())}
		for i, s := range a.squares {
			f.D[i] = float32(s) / 9
		}
		a.opened, err[1] = Open(context.Background(), loose, g, 2)
		a.thick, err[2] = Thickness(context.Background(), f, []float64{1, 2, 3, 5, 8})
		a.label, _ = Label(loose, g, false)
		runtime.GOMAXPROCS(was)
		for _, err := range err {
			if err != nil {
				t.Fatal(err)
			}
		}
		if first.squares == nil {
			first = a
		}
		if !slices.Equal(a.squares, first.squares) || !slices.Equal(a.label, first.label) ||
			!slices.Equal(a.opened, first.opened) || !slices.Equal(a.thick, first.thick) {
			t.Errorf("%d cores give another answer", n)
		}
	}
}

func TestStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	g := Grid{Cell: 1, N: [3]int{4, 5, 6}}
	mask := make([]bool, g.Len())
	if _, err := Squares(ctx, mask, g); err != context.Canceled {
		t.Error("Squares:", err)
	}
	if _, err := Open(ctx, mask, g, 3); err != context.Canceled {
		t.Error("Open:", err)
	}
	if _, err := Close(ctx, mask, g, 3); err != context.Canceled {
		t.Error("Close:", err)
	}
	if _, err := Thickness(ctx, &Field{Grid: g, D: make([]float32, g.Len())}, []float64{1}); err != context.Canceled {
		t.Error("Thickness:", err)
	}
}
