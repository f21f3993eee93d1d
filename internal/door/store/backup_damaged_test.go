package store

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle"
)

// parts is a backup taken apart.
type parts struct {
	m     map[string]any
	files map[string][]byte // without the manifest
	order []string
}

func takeApart(t testing.TB, path string) *parts {
	t.Helper()
	z := must[*zip.ReadCloser](t)(zip.OpenReader(path))
	defer z.Close()
	p := &parts{files: map[string][]byte{}}
	for _, f := range z.File {
		r := must[io.ReadCloser](t)(f.Open())
		b := must[[]byte](t)(io.ReadAll(r))
		if f.Name == manifestEntry {
			if err := json.Unmarshal(b, &p.m); err != nil {
				t.Fatal(err)
			}
			continue
		}
		p.files[f.Name], p.order = b, append(p.order, f.Name)
	}
	return p
}

// sum is what the manifest says of a table.
func (p *parts) sum(name string) map[string]any {
	for _, t := range p.m["tables"].([]any) {
		if t := t.(map[string]any); t["table"] == name {
			return t
		}
	}
	panic("no table " + name)
}

// table replaces a table's rows, and lets the manifest agree.
func (p *parts) table(name string, change func(rows []string) []string) {
	rows := strings.SplitAfter(string(p.files[tableEntry(name)]), "\n")
	rows = change(rows[:len(rows)-1])
	text := strings.Join(rows, "")
	h := sha256.Sum256([]byte(text))
	p.files[tableEntry(name)] = []byte(text)
	s := p.sum(name)
	s["rows"], s["bytes"], s["sha256"] = len(rows), len(text), hex.EncodeToString(h[:])
}

// first changes the first row of a table.
func (p *parts) first(name, old, new string) {
	p.table(name, func(rows []string) []string {
		changed := strings.Replace(rows[0], old, new, 1)
		if changed == rows[0] {
			panic(old + " is not in " + rows[0])
		}
		return append([]string{changed}, rows[1:]...)
	})
}

// entry is one more entry of a zip file, with a header that need not be true.
type entry struct {
	zip.FileHeader
	content []byte
}

func stored(name, content string) entry {
	return entry{FileHeader: zip.FileHeader{Name: name, Method: zip.Store, CRC32: crc32.ChecksumIEEE([]byte(content)),
		CompressedSize64: uint64(len(content)), UncompressedSize64: uint64(len(content))}, content: []byte(content)}
}

// bomb is so many zeros, deflated.
func bomb(name string, n int64) entry {
	var b bytes.Buffer
	z, _ := flate.NewWriter(&b, flate.BestSpeed)
	h := crc32.NewIEEE()
	_, _ = io.CopyN(io.MultiWriter(z, h), zeros{}, n)
	_ = z.Close()
	return entry{FileHeader: zip.FileHeader{Name: name, Method: zip.Deflate, CRC32: h.Sum32(),
		CompressedSize64: uint64(b.Len()), UncompressedSize64: uint64(n)}, content: b.Bytes()}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// putTogether writes parts and more as a zip file.
func (p *parts) putTogether(t testing.TB, more ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range p.order {
		if content, ok := p.files[name]; ok {
			w := must[io.Writer](t)(z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store}))
			_, _ = w.Write(content)
		}
	}
	for _, e := range more {
		w := must[io.Writer](t)(z.CreateRaw(&e.FileHeader))
		_, _ = w.Write(e.content)
	}
	if p.m != nil {
		w := must[io.Writer](t)(z.Create(manifestEntry))
		_ = json.NewEncoder(w).Encode(p.m)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// tree is all that a shop keeps in a folder, and when it was last touched: not its
// locks, and not work in progress.
func tree(t testing.TB, dir string) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if path == dir || name == "scratch" || strings.HasPrefix(name, lockName) {
			return nil
		}
		st, err := d.Info()
		fmt.Fprintln(&b, path, st.Size(), st.ModTime().UnixNano(), st.Mode())
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Damaged and hostile backups are refused, each in one sentence, before anything is
// touched; none takes much memory or time.
func TestBackupDamaged(t *testing.T) {
	s := place{Options{Dir: t.TempDir()}}.open(t)
	fill(t, s, 30)
	path, want := saved(t, s), restored(content(t, s))
	whole := must[[]byte](t)(os.ReadFile(path))
	p := place{Options{Dir: t.TempDir()}}
	target := p.open(t)
	made(t, target, fettle.KeptMop, "stays")
	target.Close()
	before := tree(t, p.Dir)

	bad := filepath.Join(t.TempDir(), "bad.zip")
	n := 0
	sentence := func(name string, err error) {
		t.Helper()
		n++
		if fettle.CodeOf(err) != fettle.BadFile {
			t.Errorf("%s: %v", name, err)
			return
		}
		if says := err.Error(); strings.Contains(says, "\n") || len(says) > 600 || !strings.Contains(says, bad) || !strings.Contains(says, "; ") {
			t.Errorf("%s: no sentence that helps: %s", name, says)
		}
		if testing.Verbose() {
			t.Logf("%s: %s", name, strings.ReplaceAll(err.Error(), bad, "bad.zip"))
		}
	}
	refuse := func(name string, b []byte) {
		t.Helper()
		if err := os.WriteFile(bad, b, 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := Restore(ctx, p.Options, bad, nil)
		sentence(name, err)
	}
	r := rand.New(rand.NewPCG(3, 3))
	for i := range 20 {
		refuse(fmt.Sprint("cut off at ", i, "/20"), whole[:len(whole)*i/20])
	}
	refuse("cut off by a byte", whole[:len(whole)-1])
	refuse("beginning lost", whole[len(whole)/3:])
	flips, flipped := 60, 0
	if testing.Short() {
		flips = 12
	}
	for range flips {
		b := slices.Clone(whole)
		at := r.IntN(len(b))
		b[at] ^= 1 << r.IntN(8)
		if err := os.WriteFile(bad, b, 0o600); err != nil {
			t.Fatal(err)
		}
		// A flip in a date or in padding changes nothing that is kept: then all of it
		// must be there.
		to := Options{Dir: filepath.Join(t.TempDir(), "to")}
		if _, err := Restore(ctx, to, bad, nil); err != nil {
			flipped++
			sentence(fmt.Sprint("flipped at ", at), err)
			if exists(to.Dir) {
				t.Errorf("flipped at %d: a folder was made", at)
			}
		} else if d := cmp.Diff(want, content(t, place{to}.open(t))); d != "" {
			t.Fatalf("flipped at %d and restored otherwise: %s", at, d)
		}
	}
	if flipped < flips*8/10 {
		t.Errorf("only %d of %d flipped bytes were noticed", flipped, flips)
	}
	for name, b := range map[string][]byte{"empty": nil, "text": []byte("no backup at all"), "zip of nothing": (&parts{}).putTogether(t)} {
		refuse(name, b)
	}
	for name, change := range damages(t, path) {
		p := takeApart(t, path)
		more := change(p)
		refuse(name, p.putTogether(t, more...))
	}
	for _, path := range []string{t.TempDir(), "/no/such/file.zip"} {
		if _, err := Restore(ctx, p.Options, path, nil); fettle.CodeOf(err) != fettle.BadFile && fettle.CodeOf(err) != fettle.NotFound {
			t.Errorf("%s: %v", path, err)
		}
	}
	if after := tree(t, p.Dir); after != before {
		t.Fatalf("the workspace was touched: %s", cmp.Diff(before, after))
	}
	t.Logf("%d damaged backups refused", n)

	// What is put together again unchanged is no damage.
	if err := os.WriteFile(bad, takeApart(t, path).putTogether(t), 0o600); err != nil {
		t.Fatal(err)
	}
	must[fettle.RestoreReport](t)(Restore(ctx, p.Options, bad, nil))
	if d := cmp.Diff(want, content(t, p.open(t))); d != "" {
		t.Fatal(d)
	}
}

// damages are what somebody could do to a backup who knows how it is made.
func damages(t testing.TB, path string) map[string]func(p *parts) []entry {
	some := slices.Sorted(maps.Keys(takeApart(t, path).files))[0] // a stored file
	out := map[string]func(p *parts) []entry{
		"no manifest":           func(p *parts) []entry { p.m = nil; return nil },
		"manifest no JSON":      func(p *parts) []entry { p.m = nil; return []entry{stored(manifestEntry, "{")} },
		"manifest of a list":    func(p *parts) []entry { p.m = nil; return []entry{stored(manifestEntry, "[]")} },
		"manifest says more":    func(p *parts) []entry { p.m["also"] = 1; return nil },
		"other format":          func(p *parts) []entry { p.m["format"] = "something 1"; return nil },
		"format of tomorrow":    func(p *parts) []entry { p.m["format"] = "fettle backup 2"; return nil },
		"schema of tomorrow":    func(p *parts) []entry { p.m["schema"] = 9999; return nil },
		"schema zero":           func(p *parts) []entry { p.m["schema"] = 0; return nil },
		"schema below":          func(p *parts) []entry { p.m["schema"] = -1; return nil },
		"schema too large":      func(p *parts) []entry { p.m["schema"] = 1e300; return nil },
		"a table less":          func(p *parts) []entry { p.m["tables"] = p.m["tables"].([]any)[1:]; return nil },
		"tables in other order": func(p *parts) []entry { slices.Reverse(p.m["tables"].([]any)); return nil },
		"a table of secrets":    func(p *parts) []entry { return []entry{stored("tables/secret.jsonl", "")} },
		"table not there":       func(p *parts) []entry { delete(p.files, tableEntry("record")); return nil },
		"rows too many said":    func(p *parts) []entry { p.sum("record")["rows"] = 1 << 40; return nil },
		"rows too few said":     func(p *parts) []entry { p.sum("record")["rows"] = 1; return nil },
		"rows below zero":       func(p *parts) []entry { p.sum("record")["rows"] = -1; return nil },
		"bytes too many said":   func(p *parts) []entry { p.sum("record")["bytes"] = 1 << 60; return nil },
		"bytes too few said":    func(p *parts) []entry { p.sum("record")["bytes"] = 1; return nil },
		"bytes below zero":      func(p *parts) []entry { p.sum("record")["bytes"] = -5; return nil },
		"table altered":         func(p *parts) []entry { p.files[tableEntry("record")][10] ^= 1; return nil },
		"hash of another":       func(p *parts) []entry { p.sum("record")["sha256"] = p.sum("blob")["sha256"]; return nil },
		"files too many said":   func(p *parts) []entry { p.m["files"] = 1 << 30; return nil },
		"file bytes wrong":      func(p *parts) []entry { p.m["file_bytes"] = 1; return nil },
		"lost that is unknown":  func(p *parts) []entry { p.m["lost"] = []string{strings.Repeat("a", 64)}; return nil },
		"lost that is no hash":  func(p *parts) []entry { p.m["lost"] = []string{"../x"}; return nil },
		"file gone":             func(p *parts) []entry { delete(p.files, some); return nil },
		"file altered": func(p *parts) []entry {
			p.files[some] = append([]byte("x"), p.files[some]...)[:len(p.files[some])]
			return nil
		},
		"file longer":    func(p *parts) []entry { p.files[some] = append(p.files[some], 0); return nil },
		"file twice":     func(p *parts) []entry { return []entry{stored(some, string(p.files[some]))} },
		"table twice":    func(p *parts) []entry { return []entry{stored(tableEntry("record"), "")} },
		"file of a bomb": func(p *parts) []entry { delete(p.files, some); return []entry{bomb(some, 4<<20)} },
		"table of a bomb": func(p *parts) []entry {
			delete(p.files, tableEntry("record"))
			return []entry{bomb(tableEntry("record"), 4<<20)}
		},
		"manifest of a bomb": func(p *parts) []entry {
			p.m = nil
			e := bomb(manifestEntry, 1<<20)
			e.UncompressedSize64 = mostManifest + 1
			return []entry{e}
		},
		"manifest that grows": func(p *parts) []entry {
			p.m = nil
			e := bomb(manifestEntry, 4<<20)
			e.UncompressedSize64 = 9
			return []entry{e}
		},
		"file of a size that is not": func(p *parts) []entry {
			e := stored(some, string(p.files[some]))
			delete(p.files, some)
			e.Method, e.UncompressedSize64 = zip.Deflate, 1<<60
			return []entry{e}
		},
		"file packed larger than the backup": func(p *parts) []entry {
			e := stored(some, string(p.files[some]))
			delete(p.files, some)
			e.CompressedSize64, e.UncompressedSize64 = 1<<40, 1<<40
			return []entry{e}
		},
		"size that is not, agreed on": func(p *parts) []entry {
			e := bomb(some, 1000)
			e.UncompressedSize64 = 1 << 40
			delete(p.files, some)
			size := fmt.Sprintf(`"bytes":%d`, len(takeApart(t, path).files[some]))
			p.table("blob", func(rows []string) []string {
				for i := range rows {
					if strings.Contains(rows[i], some[6:]) {
						rows[i] = strings.Replace(rows[i], size, `"bytes":1099511627776`, 1)
					}
				}
				return rows
			})
			p.m["file_bytes"] = 1<<40 + 370_001 - len(takeApart(t, path).files[some])
			return []entry{e}
		},
		"packed otherwise":  func(p *parts) []entry { e := stored("files/x", "x"); e.Method = 12; return []entry{e} },
		"encrypted":         func(p *parts) []entry { e := stored("files/x", "x"); e.Flags |= 1; return []entry{e} },
		"column unknown":    func(p *parts) []entry { p.first("record", `{`, `{"more":1,`); return nil },
		"column missing":    func(p *parts) []entry { p.first("record", `"rev":`, `"rew":`); return nil },
		"column twice":      func(p *parts) []entry { p.first("record", `{`, `{"rev":1,`); return nil },
		"number for text":   func(p *parts) []entry { p.first("record", `"kind":"`, `"kind":1,"x":"`); return nil },
		"text for a number": func(p *parts) []entry { p.first("record", `"rev":`, `"rev":"1","x":`); return nil },
		"fraction":          func(p *parts) []entry { p.first("record", `"only_one":`, `"only_one":0.5,"x":`); return nil },
		"number too large": func(p *parts) []entry {
			p.first("record", `"only_one":`, `"only_one":9223372036854775808,"x":`)
			return nil
		},
		"null":          func(p *parts) []entry { p.first("record", `"kind":"`, `"kind":null,"x":"`); return nil },
		"deep":          func(p *parts) []entry { p.first("record", `"kind":`, `"kind":`+strings.Repeat("[", 20000)); return nil },
		"no JSON":       func(p *parts) []entry { p.first("record", `{`, ``); return nil },
		"two on a line": func(p *parts) []entry { p.first("record", "}\n", "}{}\n"); return nil },
		"no end of line": func(p *parts) []entry {
			p.table("record", func(rows []string) []string {
				rows[len(rows)-1] = strings.TrimSuffix(rows[len(rows)-1], "\n")
				return rows
			})
			return nil
		},
		"row twice": func(p *parts) []entry {
			p.table("record", func(r []string) []string { return append(r, r[0]) })
			return nil
		},
		"link twice": func(p *parts) []entry {
			p.table("link", func(r []string) []string { return append(r, r[0]) })
			return nil
		},
		"row missing":         func(p *parts) []entry { p.table("record", func(r []string) []string { return r[1:] }); return nil },
		"file listed wrongly": func(p *parts) []entry { p.first("blob", `"sha256":"`, `"sha256":"../../`); return nil },
		"file in large":       func(p *parts) []entry { p.table("blob", upperSHA); return nil },
		"bytes of a file < 0": func(p *parts) []entry { p.first("blob", `"bytes":`, `"bytes":-`); return nil },
		"revision of no file": func(p *parts) []entry { p.table("revision", otherFile); return nil },
		"a folder":            func(p *parts) []entry { return []entry{stored("files/", "")} },
		"two shops of a name": func(p *parts) []entry { p.table("task", sameTask); return nil },
	}
	for _, name := range []string{"../../evil", "/etc/evil", `C:\evil`, `..\evil`, "files/../../evil", "files/" + strings.Repeat("A", 64),
		"files/" + strings.Repeat("a", 63) + "/", "tables/../x.jsonl", "tables/record.jsonl/", "", "shop.db", "lock", "files/ab/" + strings.Repeat("a", 64),
		"manifest.json\x00", "./manifest.json", strings.Repeat("long", 10_000), "files/" + strings.Repeat("b", 64)} {
		out[fmt.Sprintf("name %.30q", name)] = func(p *parts) []entry { return []entry{stored(name, "x")} }
	}
	return out
}

func upperSHA(rows []string) []string {
	for i := range rows {
		rows[i] = strings.Replace(rows[i], rows[i][11:75], strings.ToUpper(rows[i][11:75]), 1)
	}
	return rows
}

func otherFile(rows []string) []string {
	for i := range rows {
		rows[i] = strings.Replace(rows[i], `"files":"{}"`, `"files":"{\"model\":\"`+strings.Repeat("c", 64)+`\"}"`, 1)
	}
	return rows
}

// sameTask lets two tasks that are not over ask the same.
func sameTask(rows []string) []string {
	return append(rows, strings.Replace(rows[0], `"id":"`, `"id":"x`, 1))
}
