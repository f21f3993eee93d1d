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
	"slices"
	"strings"
	"testing"
)

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
	bomb := bytes.Repeat([]byte{0}, 2<<20)
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
