package field

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// floodLabel floods one part after another.
func floodLabel(mask []bool, g Grid, corners bool) ([]int32, int) {
	label := make([]int32, len(mask))
	n := int32(0)
	for at := range mask {
		if !mask[at] || label[at] != 0 {
			continue
		}
		n++
		label[at] = n
		for todo := []int{at}; len(todo) > 0; {
			i, j, k := g.Split(todo[len(todo)-1])
			todo = todo[:len(todo)-1]
			for o := range 27 {
				dx, dy, dz := o%3-1, o/3%3-1, o/9-1
				if !corners && dx*dx+dy*dy+dz*dz > 1 {
					continue
				}
				x, y, z := i+dx, j+dy, k+dz
				if min(x, y, z) < 0 || x >= g.N[0] || y >= g.N[1] || z >= g.N[2] {
					continue
				}
				if b := g.Index(x, y, z); mask[b] && label[b] == 0 {
					label[b] = n
					todo = append(todo, b)
				}
			}
		}
	}
	return label, int(n)
}

func TestLabelAgainstFlooding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, mask := drawMask(t)
		for _, corners := range []bool{false, true} {
			want, parts := floodLabel(mask, g, corners)
			got, n := Label(mask, g, corners)
			if n != parts || !slices.Equal(got, want) {
				t.Fatalf("%v, corners %v: %d parts %v, want %d: %v", g.N, corners, n, got, parts, want)
			}
		}
	})
}

// Loops, loose ends and parts that meet late, near the density where a mask
// falls to pieces.
func TestLabelTangled(t *testing.T) {
	g := Grid{Cell: 1, N: [3]int{50, 31, 37}}
	for seed, filled := range []float64{0.09, 0.2, 0.31, 0.33, 0.5} {
		mask := randomMask(g, filled, uint64(seed))
		for _, corners := range []bool{false, true} {
			want, parts := floodLabel(mask, g, corners)
			got, n := Label(mask, g, corners)
			if n != parts || !slices.Equal(got, want) {
				t.Errorf("%g filled, corners %v: %d parts, want %d, or not the same ones", filled, corners, n, parts)
			}
		}
	}
	if label, n := Label(nil, Grid{}, true); len(label) != 0 || n != 0 {
		t.Error("nothing has parts")
	}
}
