package threemf

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/format/intake/intaketest"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	head = `<?xml version="1.0" encoding="UTF-8"?>
<model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06" xmlns:b="http://schemas.example/3dmanufacturing/beams/2017/02" requiredextensions="p">`
	// A corner cut off a cube of side 6: volume 36, a third of base times height.
	tetra = `<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="6" y="0" z="0"/><vertex x="0" y="6" z="0"/><vertex z="6" y="0" x="0"/></vertices>` +
		`<triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles></mesh>`
	rels = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/part.model" Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>`
)

// pack puts parts, name and text by turns, into a zip file.
func pack(parts ...string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(parts); i += 2 {
		w, err := z.Create(parts[i])
		if err != nil {
			panic(err)
		}
		if _, err := w.Write([]byte(parts[i+1])); err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// wrap packs a body of a model with its relationships.
func wrap(body string) []byte {
	return pack("_rels/.rels", rels, "3D/part.model", head+body+"</model>")
}

// one is a model of one tetrahedron.
func one() []byte {
	return wrap(`<resources><object id="1" type="model" name="foot &amp; &#x41;">` + tetra + `</object></resources><build><item objectid="1"/></build>`)
}

func TestRead(t *testing.T) {
	obj := func(id int, inner string) string { return fmt.Sprintf(`<object id="%d">%s</object>`, id, inner) }
	for _, c := range []struct {
		name   string
		data   []byte
		tris   int
		volume float64
		unit   float64
		note   string
	}{
		{"plain", one(), 4, 36, 1, ""},
		{"no relationships", pack("3D/other.model", head+"<resources>"+obj(1, tetra)+`</resources><build><item objectid="1"/></build></model>`), 4, 36, 1, ""},
		{"inch", pack("_rels/.rels", rels, "3D/part.model", strings.Replace(head, "millimeter", "inch", 1)+"<resources>"+obj(1, tetra)+`</resources><build><item objectid="1"/></build></model>`), 4, 36, 25.4, ""},
		{"no unit", pack("3d/PART.MODEL", strings.Replace(head, `unit="millimeter"`, "", 1)+"<resources>"+obj(1, tetra)+`</resources><build><item objectid="1"/></build></model>`), 4, 36, 1, ""},
		{"prefixed", pack("3D/a.model", strings.NewReplacer("<?", "<?", "<!", "<!", "</", "</m:", "<", "<m:", "xmlns=", "xmlns:m=").Replace(head+"<!-- a > b --><resources>"+obj(1, tetra)+`</resources><build><item objectid="1"/></build></model>`)), 4, 36, 1, ""},
		{"moved and grown", wrap("<resources>" + obj(1, tetra) + `</resources><build><item objectid="1" transform="2 0 0 0 2 0 0 0 2 10 20 30"/></build>`), 4, 288, 1, ""},
		{"mirrored", wrap("<resources>" + obj(1, tetra) + `</resources><build><item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/></build>`), 4, 36, 1, ""},
		{"components", wrap("<resources>" + obj(1, tetra) + obj(2, `<components><component objectid="1"/><component objectid="1" transform="1 0 0 0 1 0 0 0 -1 0 0 0"/></components>`) +
			obj(3, `<components><component objectid="2" transform="0 1 0 -1 0 0 0 0 1 50 0 0"/></components>`) + `</resources><build><item objectid="3" transform="2 0 0 0 1 0 0 0 1 0 0 0"/><item objectid="1"/></build>`), 12, 180, 1, ""},
		{"other part, other unit", pack("_rels/.rels", rels,
			"3D/part.model", head+"<resources>"+obj(1, `<components><component objectid="7" p:path="/3D/sub%20part.model"/></components>`)+`</resources><build><item objectid="1"/></build></model>`,
			"3D/sub part.model", strings.Replace(head, "millimeter", "centimeter", 1)+"<resources>"+obj(7, tetra)+"</resources></model>"), 4, 36000, 1, ""},
		{"support", wrap("<resources>" + obj(1, tetra) + `<object id="2" type="support">` + tetra + `</object></resources><build><item objectid="1"/><item objectid="2"/></build>`), 4, 36, 1, `"support"`},
		{"not in the build", wrap("<resources>" + obj(1, tetra) + obj(2, tetra) + `</resources><build><item objectid="1"/></build>`), 4, 36, 1, "not to be built"},
		{"no build", wrap("<resources>" + obj(1, tetra) + obj(2, `<components><component objectid="1"/></components>`) + `</resources>`), 4, 36, 1, "does not say what to build"},
		{"skipped extension", wrap("<resources>" + obj(1, strings.Replace(tetra, "</mesh>", `<b:beams><b:beam v1="0" v2="9"/></b:beams></mesh>`, 1)) + `</resources><build><item objectid="1"/></build>`), 4, 36, 1, "skipped: b"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := Read(c.data)
			if err != nil {
				t.Fatal(err)
			}
			if len(p.Mesh.Tri) != c.tris {
				t.Errorf("%d triangles, want %d", len(p.Mesh.Tri), c.tris)
			}
			if v := intaketest.Volume(p.Mesh); math.Abs(v-c.volume) > 1e-9*c.volume {
				t.Errorf("volume %v, want %v", v, c.volume)
			}
			if p.UnitMM != c.unit {
				t.Errorf("unit %v mm, want %v", p.UnitMM, c.unit)
			}
			if notes := strings.Join(p.Notes, "\n"); !strings.Contains(notes, c.note) || c.note == "" && notes != "" {
				t.Errorf("notes %q, want one with %q", notes, c.note)
			}
		})
	}
	p, err := Read(one())
	if err != nil || len(p.Names) != 1 || p.Names[0] != "foot & A" {
		t.Errorf("names %q, err %v", p.Names, err)
	}
}

// A place is a row vector times the matrix: the core standard's section on
// transforms. A quarter turn about z and a move.
func TestTransform(t *testing.T) {
	turn, _ := parseTransform([]byte("0 1 0 -1 0 0 0 0 1 10 0 0"))
	grow, _ := parseTransform([]byte(" 2 0 0  0 3 0  0 0 4  0 0 1 "))
	if got := turn.apply(r3.Vec{X: 1, Z: 5}); got != (r3.Vec{X: 10, Y: 1, Z: 5}) {
		t.Errorf("turned to %v", got)
	}
	p := r3.Vec{X: 1, Y: 2, Z: 3}
	if got, want := turn.then(&grow).apply(p), grow.apply(turn.apply(p)); got != want {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestReadRefuses(t *testing.T) {
	obj := func(id int, inner string) string { return fmt.Sprintf(`<object id="%d">%s</object>`, id, inner) }
	comps := func(ids ...int) string {
		s := "<components>"
		for _, id := range ids {
			s += fmt.Sprintf(`<component objectid="%d"/>`, id)
		}
		return s + "</components>"
	}
	double, chain := obj(1, tetra), obj(1, tetra)
	for i := 2; i <= 40; i++ {
		double += obj(i, comps(i-1, i-1))
	}
	for i := 2; i <= 200; i++ {
		chain += obj(i, comps(i-1))
	}
	laughs := `<?xml version="1.0"?><!DOCTYPE m [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]><model unit="&b;"/>`
	flipped := bytes.Clone(one())
	flipped[bytes.Index(flipped, []byte("3D/part.model"))+150] ^= 0xff
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "empty"},
		{"no zip", []byte("PK\x03\x04 and then nothing"), "zip directory"},
		{"cut short", one()[:300], "zip directory"},
		{"damaged", flipped, "damaged"},
		{"plain zip", pack("readme.txt", "hello"), "holds no 3D model"},
		{"bomb", wrap(strings.Repeat(" ", 64<<20)), "unpacks to far more"},
		{"document type", pack("3D/a.model", laughs), "declares a document type or entities"},
		{"UTF-16", pack("3D/a.model", "\xff\xfe<\x00m\x00"), "not in UTF-8"},
		{"deep elements", wrap(strings.Repeat("<a>", 100000)), "nested more than 64 deep"},
		{"circle", wrap("<resources>" + obj(1, comps(2)) + obj(2, comps(1)) + `</resources><build><item objectid="1"/></build>`), "contains itself"},
		{"itself, no build", wrap("<resources>" + obj(1, comps(1)) + `</resources>`), "contains itself"},
		{"deep components", wrap("<resources>" + chain + `</resources><build><item objectid="200"/></build>`), "components are nested more than 64 deep"},
		{"doubling", wrap("<resources>" + double + `</resources><build><item objectid="40"/></build>`), "more than can be read"},
		{"missing object", wrap("<resources>" + obj(1, comps(9)) + `</resources><build><item objectid="1"/></build>`), "object 9 is named and is not there"},
		{"missing part", wrap("<resources>" + obj(1, `<components><component objectid="1" p:path="/3D/gone.model"/></components>`) + `</resources><build><item objectid="1"/></build>`), `"3d/gone.model" is missing`},
		{"object twice", wrap("<resources>" + obj(1, tetra) + obj(1, tetra) + `</resources>`), "there twice"},
		{"required extension", pack("3D/a.model", strings.Replace(head, `requiredextensions="p"`, `requiredextensions="p b"`, 1)+"</model>"), "requires the extension \"http://schemas.example/3dmanufacturing/beams"},
		{"unit", pack("3D/a.model", strings.Replace(head, "millimeter", "cubit", 1)+"</model>"), `unit "cubit"`},
		{"vertex out of range", wrap("<resources>" + obj(1, strings.Replace(tetra, `v3="3"`, `v3="4"`, 1)) + `</resources><build><item objectid="1"/></build>`), "names vertex 4 of 4"},
		{"not a number", wrap("<resources>" + obj(1, strings.Replace(tetra, `"6"`, `"nan"`, 1)) + `</resources><build><item objectid="1"/></build>`), `the coordinate "nan"`},
		{"coordinate missing", wrap("<resources>" + obj(1, strings.Replace(tetra, `z="6" `, ``, 1)) + `</resources>`), "not all of x, y and z"},
		{"mixed-up tags", wrap("<resources></build>"), "ends where it is not open"},
		{"transform", wrap("<resources>" + obj(1, tetra) + `</resources><build><item objectid="1" transform="1 0 0"/></build>`), "twelve usable numbers"},
		{"far away", wrap("<resources>" + obj(1, tetra) + `</resources><build><item objectid="1" transform="1e15 0 0 0 1e15 0 0 0 1 0 0 0"/></build>`), "beyond all measure"},
		{"nothing", wrap(`<resources></resources><build></build>`), "no triangles"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := Read(c.data)
			var f *intake.Fault
			if !errors.As(err, &f) {
				t.Fatalf("read %v, err %v; want a fault", p, err)
			}
			if !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("%q does not say %q in one line", err, c.want)
			}
		})
	}
}

// A directory that lies about sizes does not make the reader allocate.
func TestReadLyingSizes(t *testing.T) {
	data := one()
	at := bytes.LastIndex(data, []byte("PK\x01\x02"))
	for i := range 4 {
		data[at+24+i] = 0x3f // unpacked size: about 1 GB
	}
	var f *intake.Fault
	if _, err := Read(data); !errors.As(err, &f) {
		t.Errorf("err %v, want a fault", err)
	}
	n := testing.AllocsPerRun(1, func() { _, _ = Read(data) })
	if n > 10_000 {
		t.Errorf("%v allocations for a lying file", n)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(one())
	f.Add(one()[:200])
	f.Add(pack("3D/a.model", `<!DOCTYPE m><model/>`))
	f.Add(wrap(`<resources><object id="1"><components><component objectid="1"/></components></object></resources><build><item objectid="1"/></build>`))
	f.Add(wrap(strings.Repeat("<a>", 70)))
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data, data) })
}

// FuzzModel puts any text in a sound archive, which chance would never make.
func FuzzModel(f *testing.F) {
	f.Add(head + `<resources><object id="1">` + tetra + `</object></resources><build><item objectid="1" transform="1 0 0 0 1 0 0 0 -1 0 0 0"/></build></model>`)
	f.Add(head + `<resources><object id="1"><mesh><vertices><vertex x="nan" y="1e999" z='0'/>`)
	f.Add(`<model><a><![CDATA[ ]]></a><!-- --><?x?><object id="9"`)
	f.Add(head + `<resources><object id="1"><components><component objectid="1"/></components></object><object id="2">` + tetra + `</object></resources></model>`)
	f.Fuzz(func(t *testing.T, text string) { checkRead(t, pack("3D/a.model", text), []byte(text)) })
}

// checkRead holds what every read must.
func checkRead(t *testing.T, data, text []byte) {
	p, err := Read(data)
	intaketest.Sound(t, p, err, maxCopied+len(text)*intake.MaxRatio)
}

func BenchmarkRead1M(b *testing.B) {
	var s strings.Builder
	s.WriteString(`<resources><object id="1"><mesh><vertices>`)
	const n = 708
	for i := range n {
		for j := range n {
			x, y := float64(i)*0.1, float64(j)*0.1
			fmt.Fprintf(&s, "<vertex x=\"%.6g\" y=\"%.6g\" z=\"%.6g\"/>\n", x, y, math.Sin(x)*math.Cos(y))
		}
	}
	s.WriteString("</vertices><triangles>")
	for i := range n - 1 {
		for j := range n - 1 {
			a := i*n + j
			fmt.Fprintf(&s, "<triangle v1=\"%d\" v2=\"%d\" v3=\"%d\"/>\n<triangle v1=\"%d\" v2=\"%d\" v3=\"%d\"/>\n", a, a+n, a+n+1, a, a+n+1, a+1)
		}
	}
	s.WriteString(`</triangles></mesh></object></resources><build><item objectid="1"/></build>`)
	text := head + s.String() + "</model>"
	data := pack("3D/a.model", text)
	b.Run("whole", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Read(data); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(2*(n-1)*(n-1), "triangles")
	})
	b.Run("unpack", func(b *testing.B) {
		for b.Loop() {
			a, err := intake.OpenArchive(format, data)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := a.Unpack("3d/a.model"); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(len(text))/1e6, "MB")
	})
}
