package obj

import (
	"errors"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/format/intake/intaketest"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
)

// cube is one of side 2 in four-sided facets: volume 8.
const cube = `# a block
mtllib brass.mtl
o block
v -1 -1 -1
v 1 -1 -1 1.0
v -1 1 -1 0.5 0.5 0.5
v 1 1 -1
v -1 -1 1
v 1 -1 1
v -1 1 1
v 1 1 1
vt 0 0
vn 0 0 1
g lower
usemtl brass
s off
f 1 3 4 2
g upper
f 5/1 6/1 8/1 7/1
f 1//1 2//1 6//1 5//1
f 3/1/1 7/1/1 8/1/1 4/1/1
f -8 -4 -2 \
  -6
f 2 4 8 6
`

func TestRead(t *testing.T) {
	for name, text := range map[string]string{
		"plain":           cube,
		"CRLF":            strings.ReplaceAll(cube, "\n", "\r\n"),
		"CR":              strings.ReplaceAll(cube, "\n", "\r"),
		"byte-order mark": "\xef\xbb\xbf" + cube,
		"no end of line":  strings.TrimSpace(cube),
	} {
		t.Run(name, func(t *testing.T) {
			if !Is([]byte(text)) {
				t.Error("not known for what it is")
			}
			p, err := Read([]byte(text))
			if err != nil {
				t.Fatal(err)
			}
			if len(p.Mesh.Tri) != 12 || intaketest.Volume(p.Mesh) != 8 || !mesh.NewTopology(p.Mesh).Closed() {
				t.Errorf("%d triangles, volume %v; want 12, 8 and closed", len(p.Mesh.Tri), intaketest.Volume(p.Mesh))
			}
			if d := cmp.Diff([]string{"block", "lower", "upper"}, p.Names); d != "" {
				t.Errorf("names (-want +got):\n%s", d)
			}
			if d := cmp.Diff([]string{"6 polygons were cut into triangles"}, p.Notes); d != "" {
				t.Errorf("notes (-want +got):\n%s", d)
			}
		})
	}
}

func TestReadNotes(t *testing.T) {
	p, err := Read([]byte(cube + "cstype bezier\ndeg 3\ncurv 0 1 1 2 3 4\nend\nwobble 3\nf 1 2\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"6 polygons were cut into triangles", "1 facet with fewer than three corners was skipped",
		"curves and surfaces in mathematical form were skipped", "lines that are not known were skipped: wobble"}
	if d := cmp.Diff(want, p.Notes); d != "" {
		t.Errorf("notes (-want +got):\n%s", d)
	}
}

func TestReadRefuses(t *testing.T) {
	for name, c := range map[string][2]string{
		"empty":        {"", "empty"},
		"curves only":  {"v 0 0 0\ncstype bezier\ncurv 0 1 1 1\nend\n", "mathematical form only"},
		"points only":  {"v 0 0 0\n", "no polygons"},
		"zero":         {"v 0 0 0\nf 0 1 1\n", `names the vertex "0", and there are 1 so far (line 2)`},
		"beyond":       {"v 0 0 0\nf 1 1 2/1\n", `"2/1"`},
		"before":       {"v 0 0 0\nf -1 -1 -2\n", `"-2"`},
		"word":         {"v 0 0 0\nf 1 one 1\n", `"one"`},
		"not a number": {"v 0 nan 0\n", `vertex 1 has the coordinate "nan" (line 1)`},
		"cut short":    {"v 0 0", `the coordinate ""`},
		"comma":        {"v 0,5 1 2", `"0,5"`},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := Read([]byte(c[0]))
			var f *intake.Fault
			if !errors.As(err, &f) || !strings.Contains(err.Error(), c[1]) {
				t.Errorf("read %v, err %v; want a fault with %q", p, err, c[1])
			}
		})
	}
	if Is([]byte("hello\nv 1 2 3\n")) || Is([]byte("v one two three\n")) {
		t.Error("any text is taken for this format")
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(cube))
	f.Add([]byte("v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0.5 0.5 0\nv 0 1 0\nf 1 2 3 4 5\nf -1 -2 -3"))
	f.Add([]byte("v 1e999 nan -inf\nf 99999999999999999999 0 -1"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(data)
		intaketest.Sound(t, p, err, len(data))
	})
}
