package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
	"fettle/internal/format/pack"
)

// over waits for the end of a task.
func over(t testing.TB, server *child, id string) fettle.Task {
	t.Helper()
	for until := time.Now().Add(5 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
		a, err := server.ask("GET", "/api/tasks/"+id, nil, nil)
		var task fettle.Task
		if err != nil || json.Unmarshal(a.body, &task) != nil {
			t.Fatalf("task %s: %s, %v", id, a.body, err)
		}
		if task.State.Over() {
			return task
		}
		if time.Now().After(until) {
			t.Fatalf("task %s is still %s", id, task.State)
		}
	}
}

// zeros is so many bytes of nothing; it notes how many were taken, which may go on
// after an answer came.
type zeros struct {
	left  int64
	taken atomic.Int64
}

func (z *zeros) Read(p []byte) (int, error) {
	if z.left == 0 {
		return 0, io.EOF
	}
	n := int(min(int64(len(p)), z.left))
	clear(p[:n])
	z.left -= int64(n)
	z.taken.Add(int64(n))
	return n, nil
}

// neighbours is everything that lies around the workspace, by path and content.
func neighbours(t *testing.T, root, but string) map[string]string {
	t.Helper()
	found := map[string]string{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == but {
			if path == but {
				return fs.SkipDir
			}
			return err
		}
		if d.IsDir() {
			found[path] = "folder"
			return nil
		}
		b, err := os.ReadFile(path)
		found[path] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// TestHostileBodies sends what is too large, too slow or leads out of the workspace.
func TestHostileBodies(t *testing.T) {
	root := t.TempDir()
	h := house{dir: filepath.Join(root, "shop", "records")}
	if err := os.MkdirAll(filepath.Dir(h.dir), 0o700); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"x.stl", filepath.Join("shop", "x.stl")} {
		if err := os.WriteFile(filepath.Join(root, name), []byte("not yours"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	before := neighbours(t, root, h.dir)
	server := h.serve(t).up(t)
	asJSON := map[string]string{"Content-Type": "application/json"}
	asBytes := map[string]string{"Content-Type": "application/octet-stream"}
	a, err := server.ask("POST", "/api/parts", asJSON, []byte(`{"body": {"name": "plate"}}`))
	var part told
	if err != nil || json.Unmarshal(a.body, &part) != nil || part.ID == "" {
		t.Fatalf("%d %s, %v", a.status, a.body, err)
	}
	files := "/api/parts/" + part.ID + "/files?name="

	t.Run("too large, and says so", func(t *testing.T) {
		for _, path := range []string{files + "plate.stl", "/api/packs"} {
			body := &zeros{left: 600 << 20}
			began := time.Now()
			a, err := server.send("POST", path, asBytes, body, 600<<20)
			if err == nil && a.status != http.StatusRequestEntityTooLarge {
				t.Errorf("POST %s: %d %s", path, a.status, a.body)
			}
			if err != nil { // the connection was closed while the body was on its way
				t.Logf("POST %s: %v", path, err)
			}
			if body.taken.Load() > 16<<20 || time.Since(began) > 20*time.Second {
				t.Errorf("POST %s: %d MiB were taken, in %v", path, body.taken.Load()>>20, time.Since(began))
			}
		}
		// With the head alone the answer is sure to come.
		status, says := raw(t, server, fmt.Sprintf("POST %splate.stl HTTP/1.1\r\nHost: %s\r\nContent-Type: application/octet-stream\r\nContent-Length: %d\r\n\r\n", files, server.host(), 600<<20), 0)
		if status != http.StatusRequestEntityTooLarge || !strings.Contains(says, "larger than the 512 MiB") {
			t.Errorf("600 MiB announced: %d %s", status, says)
		}
		a, err := server.send("POST", "/api/jobs", asJSON, &zeros{left: 2 << 20}, 2<<20)
		if err == nil && a.status != http.StatusRequestEntityTooLarge {
			t.Errorf("a job of 2 MiB: %d %s", a.status, a.body)
		}
	})

	t.Run("too large, and does not say so", func(t *testing.T) {
		if testing.Short() {
			t.Skip("half a gigabyte is sent")
		}
		body := &zeros{left: 700 << 20}
		a, err := server.send("POST", files+"plate.stl", asBytes, body, -1)
		if err == nil && a.status != http.StatusRequestEntityTooLarge {
			t.Errorf("%d %s", a.status, a.body)
		}
		if body.taken.Load() < 512<<20 || body.taken.Load() > 530<<20 {
			t.Errorf("%d MiB were taken of a body that never ends", body.taken.Load()>>20)
		}
		if left := names(filepath.Join(h.dir, "scratch")); len(left) > 0 {
			t.Errorf("the scratch folder holds %v", left)
		}
	})

	t.Run("too slow", func(t *testing.T) {
		if testing.Short() {
			t.Skip("it is given 20 s")
		}
		t.Parallel()
		for _, path := range []string{"/api/jobs", files + "slow.stl"} {
			t.Run(path[:9], func(t *testing.T) {
				t.Parallel()
				began := time.Now()
				typ := "application/json"
				if path != "/api/jobs" {
					typ = asBytes["Content-Type"]
				}
				status, says := raw(t, server, fmt.Sprintf("POST %s HTTP/1.1\r\nHost: %s\r\nContent-Type: %s\r\nContent-Length: 100000\r\n\r\n", path, server.host(), typ), time.Second)
				if took := time.Since(began); status != http.StatusRequestTimeout || took > 45*time.Second {
					t.Errorf("a byte a second: %d %s after %v", status, says, took)
				}
			})
		}
	})

	t.Run("names that lead out", func(t *testing.T) {
		for _, name := range []string{"../../x.stl", "..%2f..%2fx.stl", `..\..\x.stl`, "/etc/x.stl", "C:%5Cx.stl", "x%00.stl", "..", "%2e%2e/"} {
			a, err := server.ask("POST", files+name, asBytes, []byte("a plate "+name))
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			var r struct{ Body fettle.ModelFile }
			if a.status == http.StatusCreated && (json.Unmarshal(a.body, &r) != nil || strings.ContainsAny(r.Body.File, "/\\\x00") || strings.Trim(r.Body.File, ".") == "") {
				t.Errorf("a file may be called %q", r.Body.File)
			}
			if a.status != http.StatusCreated && a.status != http.StatusUnprocessableEntity {
				t.Errorf("%s: %d %s", name, a.status, a.body)
			}
			// It is worked on under its name, which must not lead anywhere either.
			if a.status == http.StatusCreated {
				var k told
				var task fettle.Task
				if err := json.Unmarshal(a.body, &k); err != nil {
					t.Fatal(err)
				}
				a, err = server.ask("GET", "/api/files/"+k.ID+"/survey", nil, nil)
				if err != nil || json.Unmarshal(a.body, &task) != nil || task.ID == "" {
					t.Fatalf("%d %s, %v", a.status, a.body, err)
				}
				if over(t, server, task.ID).State != fettle.Failed {
					t.Errorf("%s: what is no model was read", name)
				}
			}
		}
		sum := sha256.Sum256([]byte("not yours"))
		for _, path := range []string{
			"/api/plans/" + part.ID + "/sheet/..%2f..%2fshop.db", "/api/plans/" + part.ID + "/sheet/..%5c..%5cshop.db", "/api/plans/..%2f..%2fx/sheet/plan.json",
			"/api/stored/..%2f..%2fshop.db", "/api/stored/" + hex.EncodeToString(sum[:]), "/api/../shop.db", "/api/files/..%2f..%2fshop.db/survey",
		} {
			status, says := raw(t, server, fmt.Sprintf("GET %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", path, server.host()), 0)
			if status != 404 && status != 422 && status/100 != 3 || strings.Contains(says, "SQLite format") {
				t.Errorf("GET %s: %d %.100q", path, status, says)
			}
		}
	})

	t.Run("packs that lead out", func(t *testing.T) {
		for _, name := range []string{"../../x.stl", "model/../../../x.stl", "/x.stl", `..\..\x.stl`, "C:/x.stl", "model/x.stl\x00"} {
			a, err := server.ask("POST", "/api/packs", map[string]string{"Content-Type": "application/zip"}, slip(t, name))
			if err != nil || a.status != http.StatusUnprocessableEntity || a.header.Get("Content-Type") != "application/problem+json" {
				t.Errorf("a pack with %q: %d %s, %v", name, a.status, a.body, err)
			}
		}
		if left := names(filepath.Join(h.dir, "scratch")); len(left) > 0 {
			t.Errorf("the scratch folder holds %v", left)
		}
	})

	t.Cleanup(func() { // after what runs beside each other
		if a, err := server.ask("GET", "/api/health", nil, nil); err != nil || a.status != 200 {
			t.Errorf("it is not well after all that: %d, %v", a.status, err)
		}
		after := neighbours(t, root, h.dir)
		for path, was := range before {
			if after[path] != was {
				t.Errorf("%s was changed", path)
			}
		}
		for path := range after {
			if _, was := before[path]; !was {
				t.Errorf("%s was made outside of the workspace", path)
			}
		}
	})
}

// host is where it listens.
func (c *child) host() string { return strings.TrimPrefix(c.base, "http://") }

// raw sends what no client would, and a byte at a time after it if beat is not 0, and
// reads the answer.
func raw(t *testing.T, server *child, head string, beat time.Duration) (status int, says string) {
	t.Helper()
	conn, err := net.Dial("tcp", server.host())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := io.WriteString(conn, head); err != nil {
		t.Fatal(err)
	}
	if beat > 0 {
		go func() {
			for {
				time.Sleep(beat)
				if _, err := io.WriteString(conn, " "); err != nil {
					return
				}
			}
		}()
	}
	conn.SetReadDeadline(time.Now().Add(time.Minute))
	var buf bytes.Buffer
	_, err = io.Copy(&buf, conn)
	if _, err := fmt.Sscanf(buf.String(), "HTTP/1.1 %d", &status); err != nil {
		t.Logf("no answer: %v, %q", err, buf.String())
	}
	if err != nil {
		t.Logf("the connection ended with %v", err)
	}
	return status, buf.String()
}

// slip is a pack with one entry under a name that a pack must not have.
func slip(t *testing.T, name string) []byte {
	t.Helper()
	content := []byte("solid x\nendsolid x\n")
	sum := sha256.Sum256(content)
	m := pack.Manifest{
		Format: pack.Format, Title: "plate", Written: "2026-03-31T14:05:00Z", Program: "test",
		Files: []pack.Item{{Name: name, Role: pack.Model, Bytes: int64(len(content)), SHA256: hex.EncodeToString(sum[:])}},
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, e := range []struct {
		name string
		data any
	}{{pack.ManifestName, m}, {name, content}} {
		data, is := e.data.([]byte)
		if !is {
			var err error
			if data, err = json.Marshal(e.data); err != nil {
				t.Fatal(err)
			}
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: e.name, Method: zip.Store})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
