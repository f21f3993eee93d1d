//go:build outside

package outside

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"fettle/internal/shape/field"
)

// fieldCase is what testdata/field.py works on.
type fieldCase struct {
	Shape     [3]int    `json:"shape"`
	Mask      string    `json:"mask"`
	Distances string    `json:"distances"`
	Squares   []int32   `json:"squares"`
	Cell      float64   `json:"cell"`
	Radii     []float64 `json:"radii"`

	grid field.Grid
	mask []bool
	f    *field.Field
}

// Squared distances, morphology, parts and local thickness of random masks,
// cell by cell as SciPy has them.
func TestFieldsAgainstSciPy(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(21, 22))
	var cases []*fieldCase
	for _, n := range [][3]int{{1, 1, 1}, {1, 40, 7}, {33, 1, 50}, {200, 3, 1}, {64, 64, 64}, {97, 61, 43}, {150, 30, 90}} {
		for _, filled := range []float64{0, 0.0005, 0.02, 0.3, 0.7, 0.98, 1} {
			c := &fieldCase{
				Shape: [3]int{n[2], n[1], n[0]}, Mask: filepath.Join(dir, fmt.Sprint(len(cases))),
				Squares: []int32{0, 1, 2, 3, 6, 14, 40}, Cell: 0.3, Radii: []float64{2.7, 0.3, 0.75, 0.5, 1.4},
				grid: field.Grid{Cell: 0.3, N: n},
			}
			if c.grid.Len() > 100000 { // SciPy visits every cell of every ball
				c.Squares = []int32{2, 14}
			}
			c.Distances = c.Mask + ".distances"
			c.mask = blobs(rng, c.grid, filled)
			write(t, c.Mask, c.mask)
			c.f = &field.Field{Grid: c.grid, D: make([]float32, c.grid.Len())}
			sq, err := field.Squares(ctx, c.mask, c.grid)
			if err != nil {
				t.Fatal(err)
			}
			for i, s := range sq {
				c.f.D[i] = 0.3 * (float32(min(s, 200))/12 - 0.5 + 0.4*rng.Float32())
			}
			write(t, c.Distances, c.f.D)
			cases = append(cases, c)
		}
	}
	var list, stderr bytes.Buffer
	for _, c := range cases {
		line, err := json.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		list.Write(append(line, '\n'))
	}
	cmd := exec.Command(python, "testdata/field.py")
	cmd.Stdin, cmd.Stderr = &list, &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("SciPy: %v\n%s\nThis test needs Debian's python3-scipy", err, stderr.Bytes())
	}
	answers := json.NewDecoder(bytes.NewReader(out))
	cells := 0
	for _, c := range cases {
		var a struct{ Parts [2]int }
		if err := answers.Decode(&a); err != nil {
			t.Fatal(err)
		}
		c.compare(t, a.Parts)
		cells += len(c.mask)
	}
	t.Logf("%d masks, %d cells, all as SciPy has them", len(cases), cells)
}

func (c *fieldCase) compare(t *testing.T, parts [2]int) {
	t.Helper()
	ctx := context.Background()
	same(t, c, "squares", func() ([]int32, error) {
		sq, err := field.Squares(ctx, c.mask, c.grid)
		if !slices.Contains(c.mask, true) { // SciPy has no answer then
			if slices.Min(sq) != field.Far {
				t.Errorf("%v, empty: something is near", c.grid.N)
			}
			return nil, err
		}
		return sq, err
	})
	for _, r2 := range c.Squares {
		for name, do := range map[string]func(context.Context, []bool, field.Grid, int32) ([]bool, error){
			"dilate": field.Dilate, "erode": field.Erode, "open": field.Open, "close": field.Close,
		} {
			same(t, c, fmt.Sprint(name, r2), func() ([]bool, error) { return do(ctx, c.mask, c.grid, r2) })
		}
	}
	for i, how := range []string{"faces", "corners"} {
		same(t, c, how, func() ([]int32, error) {
			label, n := field.Label(c.mask, c.grid, how == "corners")
			if n != parts[i] {
				t.Errorf("%v: %d parts by %s, SciPy %d", c.grid.N, n, how, parts[i])
			}
			return label, nil
		})
	}
	same(t, c, "thickness", func() ([]float32, error) { return field.Thickness(ctx, c.f, c.Radii) })
}

// same compares with SciPy's answer of that name; no answer is compared with
// none.
func same[T comparable](t *testing.T, c *fieldCase, name string, do func() ([]T, error)) {
	t.Helper()
	got, err := do()
	if err != nil {
		t.Error(err)
		return
	}
	if got == nil {
		return
	}
	data, err := os.ReadFile(c.Mask + "." + name)
	if err != nil {
		t.Error(err)
		return
	}
	want := make([]T, len(got))
	if n, err := binary.Decode(data, binary.LittleEndian, want); err != nil || n != len(data) {
		t.Errorf("%s of %v: SciPy's answer has %d bytes (%v)", name, c.grid.N, len(data), err)
		return
	}
	differ := 0
	for i := range got {
		if got[i] != want[i] {
			differ++
		}
	}
	if differ > 0 {
		t.Errorf("%s of %v: %d of %d cells differ", name, c.grid.N, differ, len(got))
	}
}

func write(t *testing.T, path string, numbers any) {
	t.Helper()
	var buf bytes.Buffer
	if err := binary.Write(&buf, binary.LittleEndian, numbers); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, buf.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

// blobs are cells strewn about and, of a mask that is neither empty nor full,
// balls of some cells across set in or cut out.
func blobs(rng *rand.Rand, g field.Grid, filled float64) []bool {
	mask := make([]bool, g.Len())
	for i := range mask {
		mask[i] = rng.Float64() < filled
	}
	if filled == 0 || filled == 1 {
		return mask
	}
	for range g.Len() / 8000 {
		at, r, to := [3]int{rng.IntN(g.N[0]), rng.IntN(g.N[1]), rng.IntN(g.N[2])}, 1+rng.IntN(9), rng.IntN(2) == 0
		for k := max(at[2]-r, 0); k < min(at[2]+r+1, g.N[2]); k++ {
			for j := max(at[1]-r, 0); j < min(at[1]+r+1, g.N[1]); j++ {
				for i := max(at[0]-r, 0); i < min(at[0]+r+1, g.N[0]); i++ {
					if x, y, z := i-at[0], j-at[1], k-at[2]; x*x+y*y+z*z <= r*r {
						mask[g.Index(i, j, k)] = to
					}
				}
			}
		}
	}
	return mask
}
