package pack

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
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
		file("solid/zero.stl", Solid, make([]byte, 3<<20)), // shrinks a thousandfold
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

// raw makes a zip as someone with bad intent would: any names, any manifest.
type entry struct {
	name   string
	data   []byte
	change func(h *zip.FileHeader)
}

func raw(t testing.TB, comment string, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, e := range entries {
		h := &zip.FileHeader{Name: e.name, Method: zip.Store}
		if e.change != nil {
			e.change(h)
		}
		w, err := z.CreateHeader(h)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(e.data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.SetComment(comment); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func item(name string, data []byte) Item {
	sum := sha256.Sum256(data)
	return Item{Name: name, Role: Model, Bytes: int64(len(data)), SHA256: hex.EncodeToString(sum[:])}
}

func listing(t testing.TB, items ...Item) []byte {
	t.Helper()
	m := manifest()
	m.Format, m.Files = Format, append([]Item{}, items...)
	b, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestHostilePacks(t *testing.T) {
	data := []byte("solid plate")
	a := entry{name: "a.stl", data: data}
	list := func(items ...Item) entry { return entry{name: ManifestName, data: listing(t, items...)} }
	named := func(n string) []byte { return raw(t, "", list(item(n, data)), entry{name: n, data: data}) }
	good := raw(t, "", list(item("a.stl", data)), a)
	if r, err := opened(good); err != nil {
		t.Fatal(err)
	} else if err := r.Verify(); err != nil {
		t.Fatal(err)
	}
	patched := func(old, with string) []byte {
		if !bytes.Contains(good, []byte(old)) {
			t.Fatalf("%q is not there", old)
		}
		return bytes.ReplaceAll(good, []byte(old), []byte(with))
	}
	mode := func(m uint32) func(h *zip.FileHeader) {
		return func(h *zip.FileHeader) { h.CreatorVersion, h.ExternalAttrs = 3<<8, m<<16 }
	}
	bomb := bytes.Repeat([]byte{0}, 4<<20)
	many := []entry{list()}
	for range MaxEntries {
		many = append(many, entry{name: "x", data: nil})
	}
	big := item("a.stl", data)
	big.Bytes = MaxBytes + 1
	half := item("half", data)
	half.Bytes = MaxBytes/2 + 1
	for _, c := range []struct {
		what string
		b    []byte
		says string
	}{
		{"nothing", nil, "too short"},
		{"text", bytes.Repeat([]byte("not a zip at all "), 10), "no pack"},
		{"cut short", good[:len(good)-1], "cut short"},
		{"a comment", raw(t, "hello", list(item("a.stl", data)), a), "no pack"},
		{"something before it", append([]byte("MZ"), good...), "not where"},
		{"something after it", append(slices.Clone(good), 0), "no pack"},
		{"climbs out", named("../a.stl"), "climbs"},
		{"absolute", named("/a.stl"), "root"},
		{"backslash", named(`..\a.stl`), "backslash"},
		{"drive", named("C:a.stl"), "colon"},
		{"folder", raw(t, "", list(item("a/", nil)), entry{name: "a/"}), "ends with a slash"},
		{"a name twice", raw(t, "", list(item("a.stl", data)), a, a), "two files"},
		{"names alike", raw(t, "", list(item("a.stl", data), item("A.STL", data)), a, entry{name: "A.STL", data: data}), "differ in case"},
		{"a manifest twice", raw(t, "", list(item("a.stl", data)), a, entry{name: ManifestName, data: listing(t)}), "two files"},
		{"a link", raw(t, "", list(item("a.stl", data)), entry{"a.stl", data, mode(0o120777)}), "link"},
		{"a device", raw(t, "", list(item("a.stl", data)), entry{"a.stl", data, mode(0o020666)}), "link"},
		{"a folder by its mode", raw(t, "", list(item("a.stl", data)), entry{"a.stl", data, mode(0o040755)}), "link"},
		{"a linked manifest", raw(t, "", entry{ManifestName, listing(t), mode(0o120777)}), "link"},
		{"too many", raw(t, "", many...), "at most 2000"},
		{"no manifest", raw(t, "", a), "first file"},
		{"empty", raw(t, ""), "first file"},
		{"manifest last", raw(t, "", a, list(item("a.stl", data))), "first file"},
		{"large manifest", raw(t, "", entry{name: ManifestName, data: append(listing(t), bytes.Repeat([]byte(" "), MaxManifest)...)}), "larger than 1 MB"},
		{"not in the list", raw(t, "", list(), a), "not in the list"},
		{"missing", raw(t, "", list(item("a.stl", data))), "missing"},
		{"another size", raw(t, "", list(item("a.stl", data[1:])), a), "bytes and the archive"},
		{"over a gigabyte", raw(t, "", list(big), a), "1024 MB"},
		{"over a gigabyte in two", raw(t, "", list(half, func() Item { h := half; h.Name = "other"; return h }()), a), "1024 MB"},
		{"a bomb", raw(t, "", list(item("a.stl", bomb)), entry{"a.stl", bomb, func(h *zip.FileHeader) { h.Method = zip.Deflate }}), "far more"},
		{"encrypted", raw(t, "", list(item("a.stl", data)), entry{"a.stl", data, func(h *zip.FileHeader) { h.Flags |= 1 }}), "encrypted"},
		{"no JSON", raw(t, "", entry{name: ManifestName, data: []byte("{")}), "cannot be read"},
		{"two documents", raw(t, "", entry{name: ManifestName, data: append(listing(t), '1')}), "follows"},
		{"a later form", raw(t, "", entry{name: ManifestName, data: bytes.Replace(listing(t), []byte("pack 1"), []byte("pack 2"), 1)}), `"fettle pack 2" is not known`},
		{"an unknown field", raw(t, "", entry{name: ManifestName, data: bytes.Replace(listing(t), []byte(`"title"`), []byte(`"tittle":1,"title"`), 1)}), "cannot be read"},
		{"a lying directory", patched("PK\x01\x02", "PK\x01\x03"), "directory"},
	} {
		r, err := opened(c.b)
		if err == nil {
			t.Errorf("%s: taken, %+v", c.what, r.Manifest)
			continue
		}
		if says := isFault(t, err); !strings.Contains(says, c.says) {
			t.Errorf("%s: %q, want %q", c.what, says, c.says)
		}
	}
	// What only the bytes can tell is told in place of the end.
	for what, b := range map[string][]byte{
		"other bytes": patched("solid plate", "solid plats"),
		"other hash":  raw(t, "", list(func() Item { i := item("a.stl", data); i.SHA256 = item("", nil).SHA256; return i }()), a),
	} {
		r, err := opened(b)
		if err != nil {
			t.Fatal(what, err)
		}
		f, err := r.Open("a.stl")
		if err != nil {
			t.Fatal(what, err)
		}
		_, err = io.ReadAll(f)
		isFault(t, err)
		if _, again := f.Read(make([]byte, 1)); again == nil || errors.Is(again, io.EOF) {
			t.Errorf("%s: %v once, then %v", what, err, again)
		}
		isFault(t, r.Verify())
	}
}

// A directory that says less than its files hold: deflate that goes on past the size.
func TestFilesThatGoOn(t *testing.T) {
	var packedBytes bytes.Buffer
	w, _ := flate.NewWriter(&packedBytes, 9)
	_, _ = w.Write(bytes.Repeat([]byte("x"), 5000))
	w.Close()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	head := listing(t, item("a.stl", bytes.Repeat([]byte("x"), 10)))
	f, _ := z.CreateHeader(&zip.FileHeader{Name: ManifestName})
	_, _ = f.Write(head)
	raw, err := z.CreateRaw(&zip.FileHeader{Name: "a.stl", Method: zip.Deflate, CompressedSize64: uint64(packedBytes.Len()), UncompressedSize64: 10})
	if err != nil {
		t.Fatal(err)
	}
	_, _ = raw.Write(packedBytes.Bytes())
	z.Close()
	r, err := opened(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	g, err := r.Open("a.stl")
	if err != nil {
		t.Fatal(err)
	}
	got, err := io.ReadAll(g)
	isFault(t, err)
	if len(got) > 10 {
		t.Errorf("%d bytes came out of a file of 10", len(got))
	}
}

func FuzzRead(f *testing.F) {
	small := []File{file("a.stl", Model, []byte("solid plate")), file("b/c.txt", Paper, bytes.Repeat([]byte("x"), 300))}
	f.Add(packed(f, manifest(), small))
	f.Add(packed(f, manifest(), nil))
	f.Add(raw(f, "", entry{name: ManifestName, data: listing(f, item("../x", nil))}, entry{name: "../x"}))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, b []byte) { sound(t, b) })
}

// FuzzManifest puts any text in a sound archive, which chance would never make.
func FuzzManifest(f *testing.F) {
	f.Add(string(listing(f, item("a.stl", []byte("solid plate")))))
	f.Add(`{"format":"fettle pack 1","files":[{"name":"a.stl","bytes":-1}]}`)
	f.Add(`{"format":"fettle pack 1","files":null}`)
	f.Fuzz(func(t *testing.T, text string) {
		sound(t, raw(t, "", entry{name: ManifestName, data: []byte(text)}, entry{name: "a.stl", data: []byte("solid plate")}))
	})
}

// sound holds what every read must: a fault of one line, or files that are as listed or
// fail, and no more bytes than they may be.
func sound(t *testing.T, b []byte) {
	r, err := opened(b)
	if err != nil {
		isFault(t, err)
		return
	}
	if err := r.Manifest.check(); err != nil {
		t.Fatal(err)
	}
	for _, it := range r.Manifest.Files {
		f, err := r.Open(it.Name)
		if err != nil {
			isFault(t, err)
			continue
		}
		n, err := io.Copy(io.Discard, f)
		if n > it.Bytes || err == nil && n != it.Bytes {
			t.Fatalf("%d bytes of %d, %v", n, it.Bytes, err)
		}
		if err != nil {
			isFault(t, err)
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
