package ply

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/format/intake/intaketest"
	"fettle/internal/shape/mesh"
)

// cube is one of side 2 in four-sided facets, volume 8, with more beside the
// shape than a reader needs.
const cube = `ply
format ascii 1.0
comment a block
obj_info nothing
element note 2
property int code
property list uchar float values
element vertex 8
property float x
property uchar red
property double y
property list uchar int neighbours
property float32 z
element face 6
property uchar flag
property list uchar int vertex_indices
property list uint16 float32 texcoord
element edge 1
property int vertex1
property int vertex2
end_header
7 2 0.5 0.25
8 0
-1 255 -1 0 -1
1 255 -1 1 4 -1
-1 0 1 0 -1
1 0 1 0 -1
-1 0 -1 0 1
1 0 -1 0 1
-1 0 1 0 1
1 0 1 0 1
9 4 0 2 3 1 0
9 4 4 5 7 6 2 0.5 0.5
9 4 0 1 5 4 0
9 4 2 6 7 3 0
9 4 0 4 6 2 0
9 4 1 3 7 5 0
0 1
`

// packed writes the body of cube in binary, value by value after the head's own
// types.
func packed(order binary.AppendByteOrder, eol string) []byte {
	head, body, _ := strings.Cut(cube, "end_header\n")
	form := "binary_little_endian"
	if order == binary.AppendByteOrder(binary.BigEndian) {
		form = "binary_big_endian"
	}
	out := []byte(strings.ReplaceAll(strings.Replace(head, "ascii", form, 1)+"end_header\n", "\n", eol))
	h, err := readHead([]byte(cube))
	if err != nil {
		panic(err)
	}
	t := intake.NewText([]byte(body))
	put := func(s scalar) float64 {
		v, ok := intake.ParseFloat(t.Next())
		if !ok {
			panic("no number")
		}
		switch s {
		case i8, u8:
			out = append(out, byte(int64(v)))
		case i16, u16:
			out = order.AppendUint16(out, uint16(int64(v)))
		case i32, u32:
			out = order.AppendUint32(out, uint32(int64(v)))
		case f32:
			out = order.AppendUint32(out, math.Float32bits(float32(v)))
		case f64:
			out = order.AppendUint64(out, math.Float64bits(v))
		}
		return v
	}
	for _, e := range h.elements {
		for range e.n {
			for _, p := range e.props {
				if p.count == none {
					put(p.typ)
					continue
				}
				for n := put(p.count); n > 0; n-- {
					put(p.typ)
				}
			}
		}
	}
	return out
}

func TestRead(t *testing.T) {
	for name, data := range map[string][]byte{
		"ascii":               []byte(cube),
		"ascii CRLF":          []byte(strings.ReplaceAll(cube, "\n", "\r\n")),
		"ascii CR":            []byte(strings.ReplaceAll(cube, "\n", "\r")),
		"little-endian":       packed(binary.LittleEndian, "\n"),
		"big-endian":          packed(binary.BigEndian, "\n"),
		"little-endian, CRLF": packed(binary.LittleEndian, "\r\n"),
		"big-endian, CR":      packed(binary.BigEndian, "\r"),
		"vertex_index":        []byte(strings.Replace(cube, "vertex_indices", "vertex_index", 1)),
	} {
		t.Run(name, func(t *testing.T) {
			p, err := Read(data)
			if err != nil {
				t.Fatal(err)
			}
			if len(p.Mesh.Tri) != 12 || len(p.Mesh.Pos) != 8 || intaketest.Volume(p.Mesh) != 8 || !mesh.NewTopology(p.Mesh).Closed() {
				t.Errorf("%d triangles, %d vertices, volume %v; want 12, 8, 8 and closed", len(p.Mesh.Tri), len(p.Mesh.Pos), intaketest.Volume(p.Mesh))
			}
		})
	}
}

// After a head that ends its lines with a lone CR, a body that happens to begin
// with the byte of LF loses nothing.
func TestReadLoneCR(t *testing.T) {
	data := []byte("ply\rformat binary_little_endian 1.0\relement vertex 3\rproperty uchar x\rproperty uchar y\rproperty uchar z\relement face 1\rproperty list uchar uchar vertex_indices\rend_header\r")
	data = append(data, '\n', 0, 0, 20, 0, 0, 10, 10, 0, 3, 0, 1, 2)
	p, err := Read(data)
	if err != nil || p.Mesh.Pos[0].X != 10 || len(p.Mesh.Tri) != 1 {
		t.Errorf("%v, err %v; want the first vertex at x = 10", p, err)
	}
}

// A strip turns every other triangle; -1 starts a new one.
func TestReadStrips(t *testing.T) {
	p, err := Read([]byte("ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\nelement tristrips 1\nproperty list int int vertex_indices\nend_header\n" +
		"0 0 0\n1 0 0\n0 1 0\n1 1 0\n8 0 1 2 3 -1 0 1 2\n"))
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Mesh.Tri) != 3 {
		t.Fatalf("%d triangles, want 3", len(p.Mesh.Tri))
	}
	for i := range p.Mesh.Tri {
		if n, _ := p.Mesh.Normal(i); n.Z != 1 {
			t.Errorf("triangle %d looks along %v", i, n)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	little := packed(binary.LittleEndian, "\n")
	many := func(s string) string { return strings.Replace(s, "element vertex 8", "element vertex 1000000000", 1) }
	for name, c := range map[string][2]string{
		"empty":                    {"", "empty"},
		"not this":                 {"polygon", "word ply"},
		"cut in the head":          {cube[:strings.Index(cube, "element note")], "ends inside its head"},
		"cut in the body":          {cube[:len(cube)-40], "the file ends or is broken at number 3"},
		"cut in a binary body":     {string(little[:len(little)-30]), "the file ends or is broken"},
		"thousand million":         {many(cube), "promises 1000000000"},
		"thousand million, binary": {many(string(little)), "promises 1000000000"},
		"more than int64":          {strings.Replace(cube, "element vertex 8", "element vertex 99999999999999999999", 1), "not a number"},
		"form":                     {strings.Replace(cube, "ascii", "morse", 1), `"morse" is not known`},
		"type":                     {strings.Replace(cube, "uchar red", "half red", 1), "cannot be understood"},
		"list of 10^9":             {strings.Replace(cube, "9 4 4 5 7 6", "9 1000000000 4 5 7 6", 1), "number 1 of the element \"face\""},
		"no z":                     {strings.Replace(cube, "float32 z", "float32 w", 1), "do not have x, y and z"},
		"index":                    {strings.Replace(cube, "4 1 3 7 5", "4 1 3 7 8", 1), "facet 5 names vertex 8 of 8"},
		"index below":              {strings.Replace(cube, "4 1 3 7 5", "4 1 3 7 -1", 1), "names vertex -1"},
		"not a number":             {strings.Replace(cube, "-1 255 -1 0 -1", "nan 255 -1 0 -1", 1), "vertex 0 is at (NaN, -1, -1)"},
		"points":                   {"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\nend_header\n1 2 3\n", "points only"},
		"empty records":            {"ply\nformat ascii 1.0\nelement thing 999999999999\nend_header\n", "no facets"},
		"facets first":             {"ply\nformat ascii 1.0\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n3 0 0 0\n", "before the vertices"},
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
	f.Add(packed(binary.LittleEndian, "\n"))
	f.Add(packed(binary.BigEndian, "\r"))
	f.Add(packed(binary.LittleEndian, "\n")[:600])
	f.Add([]byte("ply\nformat ascii 1.0\nelement vertex 999999999\nproperty float x\nproperty float y\nproperty float z\nend_header\nnan inf -1e400"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(data)
		intaketest.Sound(t, p, err, len(data))
	})
}

// A line of the head that lacks the word comment is passed over out loud: files
// from real programs have it.
func TestForgottenCommentIsPassedOver(t *testing.T) {
	text := "ply\nformat ascii 1.0\nMade by hand\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n" +
		"element face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"
	p, err := Read([]byte(text))
	if err != nil || len(p.Mesh.Tri) != 1 || len(p.Notes) != 1 || !strings.Contains(p.Notes[0], `line 3 of the head begins with "Made"`) {
		t.Errorf("read as %+v, %v", p, err)
	}
}
