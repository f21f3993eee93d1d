package stl

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/format/intake/intaketest"

	"github.com/google/go-cmp/cmp"
)

// facet is three corners.
type facet [3][3]float32

// tetra is a corner cut off a cube of side 6: volume 36, as every handbook has
// it (a third of base times height).
var tetra = []facet{
	{{0, 0, 0}, {0, 6, 0}, {6, 0, 0}},
	{{0, 0, 0}, {6, 0, 0}, {0, 0, 6}},
	{{0, 0, 0}, {0, 0, 6}, {0, 6, 0}},
	{{6, 0, 0}, {0, 6, 0}, {0, 0, 6}},
}

// binarySTL writes facets with a header and a declared count.
func binarySTL(head string, count uint32, fs []facet) []byte {
	b := make([]byte, 80, 84+50*len(fs))
	copy(b, head)
	b = binary.LittleEndian.AppendUint32(b, count)
	for _, f := range fs {
		b = append(b, make([]byte, 12)...)
		for _, c := range f {
			for _, x := range c {
				b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
			}
		}
		b = append(b, 0, 0)
	}
	return b
}

// asciiSTL writes facets as text.
func asciiSTL(name string, fs []facet) string {
	var b strings.Builder
	fmt.Fprintf(&b, "solid %s\n", name)
	for _, f := range fs {
		b.WriteString("  facet normal 0 0 0\n    outer loop\n")
		for _, c := range f {
			fmt.Fprintf(&b, "      vertex %e %e %e\n", c[0], c[1], c[2])
		}
		b.WriteString("    endloop\n  endfacet\n")
	}
	fmt.Fprintf(&b, "endsolid %s\n", name)
	return b.String()
}

func TestRead(t *testing.T) {
	text := asciiSTL("plate", tetra)
	nan := float32(math.NaN())
	many := make([]facet, 0, 400)
	for len(many) < 400 {
		many = append(many, tetra...)
	}
	many[7][1][2] = nan
	many[9][0][0] = float32(math.Inf(-1))
	for _, c := range []struct {
		name   string
		data   []byte
		format string
		names  []string
		notes  int
	}{
		{"binary", binarySTL("plate", 4, tetra), "binary STL", []string{"plate"}, 0},
		{"binary that says solid", binarySTL("solid plate\nfacet normal", 4, tetra), "binary STL", nil, 0},
		{"binary, trailing bytes", append(binarySTL("", 4, tetra), "made on a Monday"...), "binary STL", nil, 1},
		{"binary, count not filled in", binarySTL("", 0, tetra), "binary STL", nil, 1},
		{"binary, count all ones", binarySTL("", math.MaxUint32, tetra), "binary STL", nil, 1},
		{"binary, minus zero", binarySTL("", 4, []facet{tetra[0], {{float32(math.Copysign(0, -1)), 0, 0}, {6, 0, 0}, {0, 0, 6}}, tetra[2], tetra[3]}), "binary STL", nil, 0},
		{"ascii", []byte(text), "ASCII STL", []string{"plate"}, 0},
		{"ascii, CRLF", []byte(strings.ReplaceAll(text, "\n", "\r\n")), "ASCII STL", []string{"plate"}, 0},
		{"ascii, CR", []byte(strings.ReplaceAll(text, "\n", "\r")), "ASCII STL", []string{"plate"}, 0},
		{"ascii, upper case", []byte(strings.ToUpper(text)), "ASCII STL", []string{"PLATE"}, 0},
		{"ascii, byte-order mark", []byte("\xef\xbb\xbf" + text), "ASCII STL", []string{"plate"}, 0},
		{"ascii, all on one line after the name", []byte("solid\n" + strings.Join(strings.Fields(text)[2:], " ")), "ASCII STL", nil, 0},
		{"ascii, no endsolid", []byte(text[:strings.Index(text, "endsolid")]), "ASCII STL", []string{"plate"}, 1},
		{"ascii, two solids", []byte(asciiSTL("a", tetra[:2]) + asciiSTL("b c", tetra[2:])), "ASCII STL", []string{"a", "b c"}, 0},
		{"ascii, odd header", []byte("a plate, drawn in spring\n\n" + text), "ASCII STL", []string{"plate"}, 0},
		{"ascii, no header", []byte(text[strings.Index(text, "facet"):]), "ASCII STL", nil, 0},
		{"ascii, Latin-1 name", []byte(strings.ReplaceAll(text, "plate", "pl\xe4tt")), "ASCII STL", []string{"pltt"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := Read(c.data)
			if err != nil {
				t.Fatal(err)
			}
			if p.Format != c.format || len(p.Notes) != c.notes {
				t.Errorf("%s with notes %q, want %s with %d", p.Format, p.Notes, c.format, c.notes)
			}
			if d := cmp.Diff(c.names, p.Names); d != "" {
				t.Errorf("names (-want +got):\n%s", d)
			}
			if len(p.Mesh.Pos) != 4 || len(p.Mesh.Tri) != 4 {
				t.Errorf("%d vertices, %d facets; want 4 and 4", len(p.Mesh.Pos), len(p.Mesh.Tri))
			}
			if v := intaketest.Volume(p.Mesh); v != 36 {
				t.Errorf("volume %v, want 36", v)
			}
		})
	}
	t.Run("few not numbers", func(t *testing.T) {
		p, err := Read(binarySTL("", 400, many))
		if err != nil || len(p.Mesh.Tri) != 398 || len(p.Notes) != 1 || !strings.Contains(p.Notes[0], "facet 8") {
			t.Errorf("got %v, %v; want 398 facets and a note of facet 8", p, err)
		}
	})
}

func TestReadRefuses(t *testing.T) {
	text := asciiSTL("plate", tetra)
	nan := []facet{tetra[0], {{0, 0, float32(math.NaN())}, {1, 0, 0}, {0, 1, 0}}}
	for _, c := range []struct{ name, data, want string }{
		{"empty", "", "empty"},
		{"short", "solid", "no facets"},
		{"header only", string(binarySTL("", 0, nil)), "no facets"},
		{"inside the header", string(make([]byte, 70)), "inside its header"},
		{"four thousand million", string(binarySTL("", 4_000_000_000, nil)), "promises 4000000000 facets, the file holds 0"},
		{"cut short", string(binarySTL("", 4, tetra)[:200]), "promises 4 facets, the file holds 2"},
		{"neither", strings.Repeat("\x00\x01\x02 ", 100), "promises"},
		{"not numbers", string(binarySTL("", 2, nan)), "the first is facet 2 (byte 134)"},
		{"text cut inside a facet", text[:len(text)*2/3], "ends inside facet"},
		{"decimal commas", strings.ReplaceAll(text, ".", ","), "is not a number, in facet 1 (line 4)"},
		{"wrong word", strings.Replace(text, "endloop", "endlop", 1), `"endlop" stands where "endloop" should`},
		{"four corners", strings.Replace(text, "    endloop", "vertex 1 2 3\nendloop", 1), `"vertex" stands where "endloop" should`},
		{"text infinite", strings.ReplaceAll(text, "6.000000e+00", "1e999"), "the first is facet 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := Read([]byte(c.data))
			var f *intake.Fault
			if !errors.As(err, &f) {
				t.Fatalf("read %v, err %v; want a fault", p, err)
			}
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("%q does not say %q", err, c.want)
			}
		})
	}
}

// ball is a closed ball of 4·n·n - 4·n facets.
func ball(n int) []facet {
	at := func(i, j int) [3]float32 {
		a, b := math.Pi*float64(i)/float64(n), math.Pi*float64(j%(2*n))/float64(n)
		s, c := math.Sincos(a)
		if i == 0 || i == n {
			s = 0
		}
		return [3]float32{float32(20 * s * math.Cos(b)), float32(20 * s * math.Sin(b)), float32(20 * c)}
	}
	var fs []facet
	for i := range n {
		for j := range 2 * n {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			if i > 0 {
				fs = append(fs, facet{a, c, d})
			}
			if i < n-1 {
				fs = append(fs, facet{a, b, c})
			}
		}
	}
	return fs
}

// A sphere's facets share their vertices after reading: Euler's formula.
func TestReadWelds(t *testing.T) {
	fs := ball(40)
	p, err := Read(binarySTL("", uint32(len(fs)), fs))
	if err != nil {
		t.Fatal(err)
	}
	if v, f := len(p.Mesh.Pos), len(p.Mesh.Tri); v-f/2 != 2 {
		t.Errorf("%d vertices and %d facets: V - F/2 = %d, want 2", v, f, v-f/2)
	}
	text, err := Read([]byte(asciiSTL("", fs)))
	if err != nil || len(text.Mesh.Pos) != len(p.Mesh.Pos) {
		t.Errorf("ASCII: %d vertices, err %v; want %d", len(text.Mesh.Pos), err, len(p.Mesh.Pos))
	}
}

func FuzzRead(f *testing.F) {
	text := asciiSTL("plate", tetra)
	b := binarySTL("plate", 4, tetra)
	for _, s := range [][]byte{nil, b, b[:133], b[:84], []byte(text), []byte(text[:150]), []byte(strings.ToUpper(text)),
		binarySTL("", 4_000_000_000, tetra), binarySTL("", 0, tetra), []byte("solid\r\nfacet normal nan nan nan outer loop vertex 1 2 3 vertex 1e400 0 0 vertex -inf 0 0 endloop endfacet"),
		binarySTL("solid", 1, []facet{{{float32(math.NaN())}}}), []byte("solid " + strings.Repeat("solid ", 50))} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(data)
		intaketest.Sound(t, p, err, len(data)/36)
	})
}

// Half a million facets round one edge: a table that grows crowded would not
// come to an end.
func TestReadSharedEdge(t *testing.T) {
	fs := make([]facet, 500_000)
	for i := range fs {
		fs[i] = facet{{0, 0, 0}, {0, 0, 1}, {1, float32(i), 0}}
	}
	p, err := Read(binarySTL("", uint32(len(fs)), fs))
	if err != nil || len(p.Mesh.Pos) != len(fs)+2 {
		t.Errorf("%d vertices, %v", len(p.Mesh.Pos), err)
	}
}

func BenchmarkRead1M(b *testing.B) {
	fs := ball(501)
	for _, c := range []struct {
		name string
		data []byte
	}{{"binary", binarySTL("", uint32(len(fs)), fs)}, {"ascii", []byte(asciiSTL("", fs))}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(c.data)))
			for b.Loop() {
				if _, err := Read(c.data); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(fs)), "facets")
		})
	}
}
