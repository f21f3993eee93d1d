package mesh

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// meshOf makes a mesh of bytes: places on a coarse grid, so that chance makes
// flat facets, duplicates and crossings, now and then a hair off or not a
// number; then triangles, now and then out of range.
func meshOf(data []byte) *Mesh {
	m := &Mesh{}
	if len(data) == 0 {
		return m
	}
	n := int(data[0])%24 + 3
	data = data[1:]
	for range n {
		if len(data) < 2 {
			break
		}
		b := binary.LittleEndian.Uint16(data)
		data = data[2:]
		p := r3.Vec{X: float64(b & 7), Y: float64(b >> 3 & 7), Z: float64(b >> 6 & 7)}
		switch b >> 12 {
		case 1:
			p.X += 3e-6
		case 2:
			p.Y -= 5e-6
		case 3:
			p.Z += 1e-13
		case 4:
			p.X = math.NaN()
		case 5:
			p = r3.Scale(1e-160, p)
		case 6:
			p = r3.Scale(1e13, p)
		}
		m.Pos = append(m.Pos, p)
	}
	for len(data) >= 3 && len(m.Tri) < 200 {
		m.Tri = append(m.Tri, [3]uint32{uint32(data[0]) % 28, uint32(data[1]) % 28, uint32(data[2]) % 28})
		m.Face = append(m.Face, int32(len(m.Tri)))
		data = data[3:]
	}
	return m
}

// checkClean holds what every cleaning must.
func checkClean(t *testing.T, m *Mesh) {
	t.Helper()
	got, rs := Clean(m, Options{})
	sound(t, got)
	for _, r := range rs {
		if r.Count <= 0 || r.Says == "" {
			t.Fatalf("an empty repair: %+v", r)
		}
	}
	again, _ := Clean(got, Options{})
	if d := cmp.Diff(got, again); d != "" {
		t.Fatalf("cleaning twice changes the mesh (-once +twice):\n%s", d)
	}
	if tp := NewTopology(got); tp.Flips > 0 && counts(rs)[OneSided] == 0 {
		t.Fatalf("%d edges with facets that do not agree, and no shell is one-sided: %v", tp.Flips, rs)
	}
}

func FuzzClean(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("a mesh made of letters, for want of anything better to begin with"))
	f.Add([]byte{1, 0, 0, 7, 0, 56, 0, 192, 1, 0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3})
	f.Add([]byte{5, 0, 0, 1, 0, 2, 0, 3, 0, 8, 0, 9, 0, 10, 16, 11, 32, 0, 1, 4, 1, 2, 5, 0, 2, 1, 0, 3, 1, 4, 5, 6, 6, 5, 4, 0, 4, 1, 0, 1, 4})
	f.Fuzz(func(t *testing.T, data []byte) { checkClean(t, meshOf(data)) })
}

func TestCleanAnything(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		checkClean(t, meshOf(rapid.SliceOfN(rapid.Byte(), 0, 300).Draw(rt, "bytes")))
	})
}

// A sound body that was taken apart, with facets turned, doubled and shuffled,
// comes back whole.
func TestCleanMends(t *testing.T) {
	whole := wave(10)
	want := volumeOf(whole)
	rapid.Check(t, func(t *rapid.T) {
		m := soup(whole)
		for range rapid.IntRange(0, 60).Draw(t, "turned") {
			tri := &m.Tri[rapid.IntRange(0, len(m.Tri)-1).Draw(t, "which")]
			tri[1], tri[2] = tri[2], tri[1]
		}
		for range rapid.IntRange(0, 5).Draw(t, "doubled") {
			m.Tri = append(m.Tri, m.Tri[rapid.IntRange(0, len(m.Tri)-1).Draw(t, "which")])
		}
		m.Tri = rapid.Permutation(m.Tri).Draw(t, "order")
		got, _ := Clean(m, Options{})
		tp := NewTopology(got)
		if v := volumeOf(got); !tp.Closed() || math.Abs(v-want) > 1e-9*want || len(got.Tri) != len(whole.Tri) {
			t.Fatalf("closed %v, volume %v, %d facets; want closed, %v, %d", tp.Closed(), v, len(got.Tri), want, len(whole.Tri))
		}
	})
}

// Triangles cut from a star-shaped polygon cover its area, which the shoelace
// formula gives, all run the same way and leave no corner out.
func TestCutPolygon(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 40).Draw(t, "corners")
		frame := [3]r3.Vec{{X: 1}, {Y: 0.6, Z: 0.8}, {Y: -0.8, Z: 0.6}}
		pts := make([]r3.Vec, n)
		shoelace := 0.0
		var px, py []float64
		for i := range pts {
			r := rapid.Float64Range(1, 10).Draw(t, "r")
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			px, py = append(px, r*c), append(py, r*s)
			pts[i] = r3.Add(r3.Scale(r*c, frame[0]), r3.Scale(r*s, frame[1]))
		}
		for i := range pts {
			j := (i + 1) % n
			shoelace += (px[i]*py[j] - px[j]*py[i]) / 2
		}
		tri, ok := CutPolygon(pts, nil)
		if !ok || len(tri) != n-2 {
			t.Fatalf("%d triangles, ok %v; want %d", len(tri), ok, n-2)
		}
		area, used := 0.0, map[uint32]bool{}
		for _, v := range tri {
			a := r3.Dot(frame[2], r3.Cross(r3.Sub(pts[v[1]], pts[v[0]]), r3.Sub(pts[v[2]], pts[v[0]]))) / 2
			if a < 0 {
				t.Fatalf("triangle %v runs the wrong way", v)
			}
			area += a
			used[v[0]], used[v[1]], used[v[2]] = true, true, true
		}
		if math.Abs(area-shoelace) > 1e-9*shoelace || len(used) != n {
			t.Fatalf("area %v over %d corners, want %v over %d", area, len(used), shoelace, n)
		}
	})
}

// Corners on a straight side must not make triangles without area, and a
// polygon that crosses itself is said to.
func TestCutPolygonOddities(t *testing.T) {
	side := []r3.Vec{{}, {X: 1}, {X: 2}, {X: 3}, {X: 3, Y: 2}, {X: 1, Y: 2}, {Y: 2}}
	tri, ok := CutPolygon(side, nil)
	if !ok || len(tri) != 5 {
		t.Errorf("straight side: %v, ok %v", tri, ok)
	}
	for _, v := range tri {
		if flat(side[v[0]], side[v[1]], side[v[2]]) {
			t.Errorf("straight side: triangle %v has no area", v)
		}
	}
	dart := []r3.Vec{{}, {X: 4}, {X: 1, Y: 1}, {Y: 4}}
	if tri, ok := CutPolygon(dart, nil); !ok || cmp.Diff([][3]uint32{{0, 1, 2}, {0, 2, 3}}, tri) != "" {
		t.Errorf("dart: %v, ok %v", tri, ok)
	}
	for name, p := range map[string][]r3.Vec{
		"bow tie":       {{}, {X: 2, Y: 2}, {X: 2}, {Y: 2}},
		"no area":       {{}, {X: 1}, {X: 2}, {X: 3}, {X: 1.5}},
		"two":           {{}, {X: 1}},
		"pentagon star": {{Y: 3}, {X: 1, Y: -3}, {X: -3, Y: 1}, {X: 3, Y: 1}, {X: -1, Y: -3}},
	} {
		if tri, ok := CutPolygon(p, nil); ok {
			t.Errorf("%s: cut into %v without a word", name, tri)
		}
	}
}
