package off

import (
	"errors"
	"math"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/format/intake/intaketest"
	"fettle/internal/shape/mesh"
)

// cube is one of side 2 in four-sided facets: volume 8.
const cube = `OFF
# a block
8 6 12

-1 -1 -1
1 -1 -1   # near
-1 1 -1
1 1 -1
-1 -1 1
1 -1 1
-1 1 1
1 1 1
4 0 2 3 1
4 4 5 7 6  0.5 0.5 0.5
4 0 1 5 4
4 2 6 7 3
4 0 4 6 2
4 1 3 7 5
`

func TestRead(t *testing.T) {
	for name, text := range map[string]string{
		"plain":                cube,
		"CRLF":                 strings.ReplaceAll(cube, "\n", "\r\n"),
		"CR":                   strings.ReplaceAll(cube, "\n", "\r"),
		"counts on first line": strings.Replace(cube, "OFF\n# a block\n", "OFF ", 1),
		"no edges":             strings.Replace(cube, "8 6 12", "8 6", 1),
		"byte-order mark":      "\xef\xbb\xbf" + cube,
		"comment first":        "# by hand\n" + cube,
		"colours":              strings.ReplaceAll("C"+cube, " -1\n", " -1 255 0 0 255\n"),
		"texture and normals":  strings.ReplaceAll("STN"+cube, " 1\n", " 1 0 0 1 0.5 0.5\n"),
	} {
		t.Run(name, func(t *testing.T) {
			p, err := Read([]byte(text))
			if err != nil {
				t.Fatal(err)
			}
			if len(p.Mesh.Tri) != 12 || len(p.Mesh.Pos) != 8 || intaketest.Volume(p.Mesh) != 8 {
				t.Errorf("%d triangles, %d vertices, volume %v; want 12, 8, 8", len(p.Mesh.Tri), len(p.Mesh.Pos), intaketest.Volume(p.Mesh))
			}
			if !mesh.NewTopology(p.Mesh).Closed() {
				t.Error("not closed")
			}
			if len(p.Notes) == 0 || !strings.Contains(p.Notes[0], "6 polygons were cut") {
				t.Errorf("notes %q", p.Notes)
			}
		})
	}
}

// An L has an inward corner: cut from corner 0 it would cover too much.
func TestReadConcave(t *testing.T) {
	p, err := Read([]byte("OFF 6 1 0\n2 1 0\n1 1 0\n1 2 0\n0 2 0\n0 0 0\n2 0 0\n6 0 1 2 3 4 5\n"))
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i := range p.Mesh.Tri {
		n, a := p.Mesh.Normal(i)
		if n.Z != 1 {
			t.Errorf("triangle %d looks along %v", i, n)
		}
		sum += a
	}
	if math.Abs(sum-3) > 1e-12 {
		t.Errorf("area %v, want 3", sum)
	}
}

func TestReadRefuses(t *testing.T) {
	for name, c := range map[string][2]string{
		"empty":             {"", "empty"},
		"no word":           {"8 6 12\n", "word OFF"},
		"binary":            {"OFF BINARY\n\x00\x00", "binary form"},
		"four dimensions":   {"4OFF\n1 1 1", "three dimensions"},
		"thousand million":  {"OFF\n1000000000 1 0\n0 0 0\n", "promises 1000000000 vertices"},
		"facets by million": {"OFF\n3 1000000000 0\n0 0 0\n", "and 1000000000 facets"},
		"negative":          {"OFF\n-3 1 0\n", `is "-3"`},
		"cut in vertices":   {"OFF\n2 0 0\n0 0 0\n1 0", "the file ends at vertex 2"},
		"cut in facets":     {cube[:len(cube)-12], "the file ends inside facet 5 of 6"},
		"cut before facets": {cube[:len(cube)-10], "the file ends before facet 6 of 6"},
		"index":             {strings.Replace(cube, "4 1 3 7 5", "4 1 3 7 8", 1), `names vertex "8" of 8 (line 18)`},
		"corner count":      {strings.Replace(cube, "4 1 3 7 5", "999999999 1 3 7 5", 1), "promises 999999999 corners"},
		"not a number":      {strings.Replace(cube, "1 -1 -1", "nan -1 -1", 1), `vertex 1 has`},
		"points only":       {"OFF\n1 0 0\n1 2 3\n", "no facets"},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := Read([]byte(c[0]))
			var f *intake.Fault
			if !errors.As(err, &f) || !strings.Contains(err.Error(), c[1]) {
				t.Errorf("read %v, err %v; want a fault with %q", p, err, c[1])
			}
		})
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(cube))
	f.Add([]byte("COFF 3 1 0\n0 0 0 1 1 1 1\n1e3 0 0\n0 nan 0\n3 0 1 2 255 0 0"))
	f.Add([]byte("OFF\n4000000000 4000000000 0\n"))
	f.Add([]byte("OFF 5 1\n0 0 0\n2 0 0\n2 2 0\n1 1 0\n0 2 0\n5 0 1 2 3 4"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(data)
		intaketest.Sound(t, p, err, len(data))
	})
}
