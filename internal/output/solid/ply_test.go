package solid

import (
	"bytes"
	"strings"
	"testing"

	"fettle/internal/format/ply"
	"fettle/internal/shape/form"
)

// What is written is read again, values or not.
func TestPLYRoundTrip(t *testing.T) {
	m := form.Icosphere(10, 2)
	depth := make([]float32, len(m.Pos))
	for i, p := range m.Pos {
		depth[i] = float32(p.Z)
	}
	var b bytes.Buffer
	if err := WritePLY(&b, m, "bäll\n", Values{"depth", depth}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String()[:300], "property float depth\n") {
		t.Errorf("the head names no depth: %q", b.String()[:300])
	}
	p, err := ply.Read(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Mesh.Pos) != len(m.Pos) || len(p.Mesh.Tri) != len(m.Tri) {
		t.Fatalf("%d vertices and %d facets of %d and %d", len(p.Mesh.Pos), len(p.Mesh.Tri), len(m.Pos), len(m.Tri))
	}
	for i, q := range p.Mesh.Pos {
		if q.X != float64(float32(m.Pos[i].X)) || q.Z != float64(depth[i]) {
			t.Fatalf("vertex %d came back as %v", i, q)
		}
	}
	for i, v := range p.Mesh.Tri {
		if v != m.Tri[i] {
			t.Fatalf("facet %d came back as %v", i, v)
		}
	}
	for _, bad := range []Values{{"depth", depth[1:]}, {"", depth}, {"two words", depth}} {
		if err := WritePLY(&b, m, "ball", bad); err == nil {
			t.Errorf("values %q are written", bad.Name)
		}
	}
}
