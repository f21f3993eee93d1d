package field

import (
	"context"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// bruteBall looks at every cell of every ball: out is true where one of them is
// want.
func bruteBall(mask []bool, g Grid, r2 int, want bool) []bool {
	out := make([]bool, len(mask))
	for at := range out {
		i, j, k := g.Split(at)
		for b, m := range mask {
			x, y, z := g.Split(b)
			if m == want && (x-i)*(x-i)+(y-j)*(y-j)+(z-k)*(z-k) <= r2 {
				out[at] = true
				break
			}
		}
	}
	return out
}

func not(mask []bool) []bool {
	out := make([]bool, len(mask))
	for i, m := range mask {
		out[i] = !m
	}
	return out
}

func TestMorphologyAgainstAllPairs(t *testing.T) {
	type op func(context.Context, []bool, Grid, int32) ([]bool, error)
	rapid.Check(t, func(t *rapid.T) {
		g, mask := drawMask(t)
		r2 := rapid.SampledFrom([]int{0, 1, 2, 3, 5, 13, 60}).Draw(t, "r2")
		dilate := func(m []bool) []bool { return bruteBall(m, g, r2, true) }
		erode := func(m []bool) []bool { return not(bruteBall(m, g, r2, false)) }
		for _, c := range []struct {
			name string
			do   op
			want []bool
		}{
			{"dilation", Dilate, dilate(mask)},
			{"erosion", Erode, erode(mask)},
			{"opening", Open, dilate(erode(mask))},
			{"closing", Close, erode(dilate(mask))},
		} {
			got, err := c.do(context.Background(), mask, g, int32(r2))
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got, c.want) {
				t.Fatalf("%s by %d of %v: %v, want %v", c.name, r2, g.N, got, c.want)
			}
		}
	})
	if _, err := Dilate(context.Background(), nil, Grid{}, -1); err == nil {
		t.Error("a negative square is not told")
	}
}

// An opening takes away, a closing adds, and neither does anything the second
// time (J. Serra, Image Analysis and Mathematical Morphology (1982)).
func TestOpenAndCloseOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, mask := drawMask(t)
		r2 := rapid.Int32Range(0, 30).Draw(t, "r2")
		ctx := context.Background()
		opened, err := Open(ctx, mask, g, r2)
		if err != nil {
			t.Fatal(err)
		}
		closed, err := Close(ctx, mask, g, r2)
		if err != nil {
			t.Fatal(err)
		}
		for i, m := range mask {
			if opened[i] && !m || m && !closed[i] {
				t.Fatalf("cell %d: %v, opened %v, closed %v", i, m, opened[i], closed[i])
			}
		}
		if again, _ := Open(ctx, opened, g, r2); !slices.Equal(again, opened) {
			t.Fatal("the second opening takes more away")
		}
		if again, _ := Close(ctx, closed, g, r2); !slices.Equal(again, closed) {
			t.Fatal("the second closing adds more")
		}
	})
}
