package partfile

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/format/part21"
	"fettle/internal/format/step"
	"fettle/internal/output/solid"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// sample is a tetrahedron in every form that can be read.
func sample(t testing.TB) map[string][]byte {
	m := &mesh.Mesh{Pos: []r3.Vec{{}, {X: 6}, {Y: 6}, {Z: 6}}, Tri: [][3]uint32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}}}
	var b, z bytes.Buffer
	if err := solid.WriteSTL(&b, m, "foot"); err != nil {
		t.Fatal(err)
	}
	if err := solid.Write3MF(&z, m, "foot"); err != nil {
		t.Fatal(err)
	}
	facet := "facet normal 0 0 0 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 1 0 endloop endfacet\n"
	return map[string][]byte{
		"binary STL": b.Bytes(),
		"3MF":        z.Bytes(),
		"ASCII STL":  []byte("solid foot\n" + facet + "endsolid foot\n"),
		"OFF":        []byte("OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"),
		"OBJ":        []byte("# foot\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"),
		"ASCII PLY":  []byte("ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"),
	}
}

// The content decides, whatever the name says.
func TestRead(t *testing.T) {
	for format, data := range sample(t) {
		for _, name := range []string{"part", "part.stl", "PART.OBJ", "/a/b.c/part.3mf", `c:\parts\part.ply`} {
			p, err := Read(t.Context(), name, data, step.Options{})
			if err != nil || p.Format != format {
				t.Errorf("%s named %s: %v, err %v", format, name, p, err)
			}
		}
	}
}

func TestReadRefuses(t *testing.T) {
	card := strings.Repeat(" ", 72) + "S      1\n"
	for _, c := range []struct{ name, data, want string }{
		{"knob.stl", "", "knob.stl: the file is empty"},
		{"knob.step", "ISO-10303-21;\nHEADER;", "STEP: the file ends"},
		{"knob.stl", "ISO-10303-21;\nHEADER;", "STEP: the file ends"},
		{"knob.stp", "dear sir", "STEP: "},
		{"knob.igs", card, "an IGES file"},
		{"knob.glb", "glTF\x02\x00\x00\x00", "glTF"},
		{"knob.pdf", "%PDF-1.7", "a PDF"},
		{"knob.dwg", "AC1032\x00", "DWG"},
		{"knob.png", "\x89PNG\r\n", "a picture"},
		{"knob.gz", "\x1f\x8b\x08", "packed archive; unpack"},
		{"knob.zip", "PK\x03\x04junk", "zip directory"},
		{"knob.json", `{"a": 1}`, "JSON"},
		{"dir/knob.txt", "dear sir", "knob.txt: this is not a model file of a known kind; export the part as one of STEP, STL, 3MF, OBJ, PLY and OFF"},
		{"knob.stl", "dear sir", "STL"},
		{"knob.obj", "dear sir", "OBJ: there are no polygons"},
		{"knob.ply", "dear sir", "PLY: it does not start"},
		{"knob.off", "dear sir", "OFF: it does not start"},
		{"knob.3mf", "dear sir", "3MF"},
	} {
		p, err := Read(t.Context(), c.name, []byte(c.data), step.Options{})
		var f *intake.Fault
		if !errors.As(err, &f) || !strings.Contains(strings.ReplaceAll(err.Error(), ", which cannot be read; unpack", "; unpack"), c.want) {
			t.Errorf("%s: read %v, err %v; want a fault with %q", c.name, p, err, c.want)
		}
	}
}

// Any bytes under any name give a mesh that can be cleaned, or one sentence.
func FuzzRead(f *testing.F) {
	for format, data := range sample(f) {
		f.Add("part."+strings.ToLower(format[len(format)-3:]), data)
		f.Add("part", data[:len(data)/2])
	}
	f.Fuzz(func(t *testing.T, name string, data []byte) {
		if part21.Is(data) {
			return // takes a kernel; part21 is fed for itself
		}
		p, err := Read(t.Context(), name, data, step.Options{})
		if err != nil {
			var fault *intake.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		if len(p.Mesh.Tri) < 50_000 {
			m, _ := mesh.Clean(p.Mesh, mesh.Options{})
			if len(m.Tri) > 2*len(p.Mesh.Tri) {
				t.Fatalf("%d triangles became %d", len(p.Mesh.Tri), len(m.Tri))
			}
		}
	})
}
