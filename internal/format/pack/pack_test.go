package pack

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fettle/internal/format/intake"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func file(name, role string, data []byte) File {
	return File{Name: name, Role: role, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }}
}

func manifest() Manifest {
	return Manifest{Title: "Escutcheon plate", From: "A small shop", Written: "2026-03-01T10:20:30+01:00", Program: "fettle test",
		NotOurs: []Reason{{Limit: "max_mm", Says: "118 mm long; the shop takes up to 100 mm"}}}
}

var noise = func() []byte {
	rng := rand.New(rand.NewPCG(1, 2))
	b := make([]byte, 3000)
	for i := range b {
		b[i] = byte(rng.Uint32())
	}
	return b
}()

func job() []File {
	return []File{
		file("recipe.json", Recipe, []byte(`{"title":"Satin"}`)),
		file("model/plate ä.step", Model, bytes.Repeat([]byte("#1=CARTESIAN_POINT('',(0.,0.,0.));\n"), 300)),
		file("pictures/show.png", Picture, noise),
		file("empty.txt", Paper, nil),
		file("solid/zero.stl", Solid, make([]byte, 3<<19)), // shrinks a thousandfold
	}
}

func packed(t testing.TB, m Manifest, files []File) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, m, files); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func opened(b []byte) (*Reader, error) { return Read(bytes.NewReader(b), int64(len(b))) }

// isFault holds an error to one sentence of a reader.
func isFault(t testing.TB, err error) string {
	t.Helper()
	var f *intake.Fault
	if !errors.As(err, &f) || strings.ContainsAny(err.Error(), "\n\r") || !strings.HasPrefix(err.Error(), "pack: ") {
		t.Fatalf("no fault of one line: %v", err)
	}
	return err.Error()
}

func TestThereAndBack(t *testing.T) {
	b := packed(t, manifest(), job())
	r, err := opened(b)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Verify(); err != nil {
		t.Fatal(err)
	}
	want := manifest()
	want.Format = Format
	for _, f := range job() {
		rc, _ := f.Open()
		data, _ := io.ReadAll(rc)
		sum := sha256.Sum256(data)
		want.Files = append(want.Files, Item{f.Name, f.Role, int64(len(data)), hex.EncodeToString(sum[:])})
		got, err := r.Open(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		back, err := io.ReadAll(got)
		if err != nil || !bytes.Equal(back, data) {
			t.Errorf("%s: %v", f.Name, err)
		}
		got.Close()
	}
	slices.SortFunc(want.Files, func(a, b Item) int { return strings.Compare(a.Name, b.Name) })
	if d := cmp.Diff(want, r.Manifest); d != "" {
		t.Error(d)
	}
	if _, err := r.Open("nothing"); err == nil {
		t.Error("opened what is not there")
	} else {
		isFault(t, err)
	}
	// The same bytes in any order of the same files; the manifest first; no gain, no packing.
	turned := job()
	slices.Reverse(turned)
	if !bytes.Equal(b, packed(t, manifest(), turned)) {
		t.Error("the bytes depend on the order of the files")
	}
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	if z.File[0].Name != ManifestName {
		t.Error(z.File[0].Name)
	}
	method := map[string]uint16{}
	for _, f := range z.File {
		method[f.Name] = f.Method
		if got := f.Modified.UTC().Format("2006-01-02T15:04:05"); got != "2026-03-01T09:20:30" {
			t.Errorf("%s is of %s", f.Name, got)
		}
	}
	if method["pictures/show.png"] != zip.Store || method["model/plate ä.step"] != zip.Deflate || method["solid/zero.stl"] != zip.Store {
		t.Error(method)
	}
}

// Whatever Write takes, Read takes, and gives back.
func TestReadTakesWhatWriteMakes(t *testing.T) {
	part := rapid.StringMatching(`[a-zA-Zä0-9. _\-:/\\]{1,12}`)
	rapid.Check(t, func(rt *rapid.T) {
		m := manifest()
		m.Customer, m.Money = rapid.Bool().Draw(rt, "customer"), rapid.Bool().Draw(rt, "money")
		m.Title = rapid.StringN(0, 20, 600).Draw(rt, "title")
		var files []File
		data := map[string][]byte{}
		for range rapid.IntRange(0, 6).Draw(rt, "files") {
			name := part.Draw(rt, "name")
			b := rapid.SliceOfN(rapid.Byte(), 0, 60).Draw(rt, "data")
			data[name] = b
			files = append(files, file(name, rapid.SampledFrom(Roles()).Draw(rt, "role"), b))
		}
		var b bytes.Buffer
		if err := Write(&b, m, files); err != nil {
			isFault(t, err)
			if b.Len() > 0 {
				rt.Fatal("half a pack was written")
			}
			return
		}
		r, err := opened(b.Bytes())
		if err != nil {
			rt.Fatal(err)
		}
		if len(r.Manifest.Files) != len(files) || r.Manifest.Title != m.Title {
			rt.Fatalf("%+v", r.Manifest)
		}
		for _, it := range r.Manifest.Files {
			f, err := r.Open(it.Name)
			if err != nil {
				rt.Fatal(err)
			}
			if got, err := io.ReadAll(f); err != nil || !bytes.Equal(got, data[it.Name]) {
				rt.Fatalf("%q: %v", it.Name, err)
			}
		}
	})
}

func TestWriteRefuses(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(m *Manifest)
		files []File
	}{
		{"no title", func(m *Manifest) { m.Title = "" }, nil},
		{"no UTF-8", func(m *Manifest) { m.Title = "a\xff" }, nil},
		{"longer than 500", func(m *Manifest) { m.From = strings.Repeat("ä", 501) }, nil},
		{"date and time", func(m *Manifest) { m.Written = "2026-03-01" }, nil},
		{"version of the program", func(m *Manifest) { m.Program = "" }, nil},
		{"names no limit", func(m *Manifest) { m.NotOurs[0].Limit = "" }, nil},
		{"role", nil, []File{file("a", "secret", nil)}},
		{"climbs", nil, []File{file("a/../b", Model, nil)}},
		{"differ in case", nil, []File{file("A/b", Model, nil), file("a/B", Model, nil)}},
		{"differ in case", nil, []File{file("ärger", Model, nil), file("ÄRGER", Model, nil)}},
		{"differ in case", nil, []File{file("Manifest.JSON", Model, nil)}},
		{"a file's and a folder's", nil, []File{file("a/b", Model, nil), file("A", Model, nil)}},
	} {
		m := manifest()
		if c.spoil != nil {
			c.spoil(&m)
		}
		var b bytes.Buffer
		err := Write(&b, m, c.files)
		if says := isFault(t, err); !strings.Contains(says, c.says) || b.Len() > 0 {
			t.Errorf("%q, want %q; %d bytes written", says, c.says, b.Len())
		}
	}
	// What a file fails with is passed on, and one that changes in between is noticed.
	broken := errors.New("disk on fire")
	if err := Write(io.Discard, manifest(), []File{{Name: "a", Role: Model, Open: func() (io.ReadCloser, error) { return nil, broken }}}); !errors.Is(err, broken) {
		t.Error(err)
	}
	n := 0
	changing := File{Name: "a", Role: Model, Open: func() (io.ReadCloser, error) {
		n++
		return io.NopCloser(strings.NewReader(strings.Repeat("x", n))), nil
	}}
	if err := Write(io.Discard, manifest(), []File{changing}); !strings.Contains(isFault(t, err), "changed while") {
		t.Error(err)
	}
}

func TestNames(t *testing.T) {
	for _, name := range []string{
		"", "/etc/passwd", "../x", "a/../../x", "a/..", "..", ".", "./a", "a/./b", "a//b", "a/", `a\b`, `..\x`, `\\host\x`, "C:/x", "C:x", "a:stream",
		"con", "CON.txt", "a/nul.json", "lpt1", "COM9.step", "aux .x", "a\x00b", "a\nb", "a\u202egnp.exe", "a\u200bb", "trail.", "trail ", "a /b", " a", "a?b", "a*b",
		"a|b", "a<b", `a"b`, "bad\xff", strings.Repeat("a", 101), strings.Repeat("ab/", 67) + "x", "a/b/c/d/e/f/g/h/i",
	} {
		if badName(name) == "" {
			t.Errorf("%q is taken", name)
		}
		if err := Write(io.Discard, manifest(), []File{file(name, Model, nil)}); err == nil {
			t.Errorf("%q is packed", name)
		} else {
			isFault(t, err)
		}
	}
	for _, name := range []string{"a", ".hidden", "..a", "a..b", "model/plate.step", "pictures/ä ö.png", "console.txt", "com10", "com", "a/b/c/d/e/f/g/h", "名前.stl"} {
		if why := badName(name); why != "" {
			t.Errorf("%q %s", name, why)
		}
	}
}

func BenchmarkWrite16MB(b *testing.B) {
	text := bytes.Repeat([]byte("#1=CARTESIAN_POINT('',(0.123,4.567,8.910));\n"), 16<<20/44)
	for b.Loop() {
		if err := Write(io.Discard, manifest(), []File{file("model/plate.step", Model, text)}); err != nil {
			b.Fatal(err)
		}
	}
}
