package solid

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"fettle/internal/format/stl"
	"fettle/internal/format/threemf"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// anyMesh draws a mesh whose coordinates single precision holds and whose
// vertices are at different places and used in order.
func anyMesh(t *rapid.T) *mesh.Mesh {
	w := mesh.NewWelder(8)
	m := &mesh.Mesh{}
	for range rapid.IntRange(1, 20).Draw(t, "triangles") {
		var tri [3]uint32
		for k := range tri {
			var p [3]float64
			for i := range p {
				p[i] = float64(rapid.Float32Range(-1000, 1000).Draw(t, "x"))
			}
			tri[k] = w.Add(p[0], p[1], p[2])
		}
		m.Tri = append(m.Tri, tri)
	}
	m.Pos = w.Pos
	return m
}

func TestSTLRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMesh(t)
		var b bytes.Buffer
		if err := WriteSTL(&b, m, "soft jaw, left"); err != nil {
			t.Fatal(err)
		}
		p, err := stl.Read(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(m, p.Mesh); d != "" {
			t.Fatalf("mesh (-written +read):\n%s", d)
		}
		if len(p.Names) != 1 || p.Names[0] != "soft jaw, left" || len(p.Notes) != 0 {
			t.Fatalf("names %q, notes %q", p.Names, p.Notes)
		}
	})
}

func Test3MFRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMesh(t)
		name := rapid.StringMatching(`[a-zå<>&"' ]{1,12}`).Draw(t, "name")
		var b, again bytes.Buffer
		if err := Write3MF(&b, m, name); err != nil {
			t.Fatal(err)
		}
		p, err := threemf.Read(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(m, p.Mesh); d != "" {
			t.Fatalf("mesh (-written +read):\n%s", d)
		}
		if p.UnitMM != 1 || len(p.Names) != 1 || p.Names[0] != name || len(p.Notes) != 0 {
			t.Fatalf("unit %v, names %q, notes %q", p.UnitMM, p.Names, p.Notes)
		}
		if err := Write3MF(&again, m, name); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Fatalf("the bytes differ from run to run, err %v", err)
		}
	})
}

// The normal in the file is the right-hand one, as the form asks for.
func TestSTLNormal(t *testing.T) {
	m := &mesh.Mesh{Pos: []r3.Vec{{}, {X: 2}, {Y: 3}}, Tri: [][3]uint32{{0, 1, 2}}}
	var b bytes.Buffer
	if err := WriteSTL(&b, m, "Solid block\n"+strings.Repeat("é", 100)); err != nil {
		t.Fatal(err)
	}
	if got := b.Bytes()[84:96]; !bytes.Equal(got, []byte{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0x80, 0x3f}) {
		t.Errorf("normal bytes % x, want 0 0 1", got)
	}
	if b.Len() != 134 || !strings.HasPrefix(b.String(), "_Solid block_") {
		t.Errorf("%d bytes, header %q", b.Len(), b.Bytes()[:80])
	}
}

func TestWriteRefuses(t *testing.T) {
	m := &mesh.Mesh{Pos: []r3.Vec{{X: math.NaN()}}}
	if err := Write3MF(&bytes.Buffer{}, m, ""); err == nil {
		t.Error("a mesh with a vertex that is no number was written")
	}
	ok := &mesh.Mesh{Pos: []r3.Vec{{}, {X: 2}, {Y: 3}}, Tri: [][3]uint32{{0, 1, 2}}}
	if WriteSTL(full{}, ok, "") == nil || Write3MF(full{}, ok, "") == nil {
		t.Error("writing to a full disk is no error")
	}
}

// full is a disk without room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, bytes.ErrTooLarge }
