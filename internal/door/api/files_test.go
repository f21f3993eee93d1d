package api

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/textproto"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/internal/shop"
)

func shaOf(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// TestUpload sends a model, gets it back whole and in part, and has it surveyed by
// the queue, whose events say when.
func TestUpload(t *testing.T) {
	h := open(t, 1)
	part := h.make("parts", nil, m{"name": "Block"})
	to := "POST /api/parts/" + part.ID + "/files?name=C:%5Cmodels%5Cblock.stl"
	data := []byte("solid block\nfacet normal 0 0 0\nendsolid block\n")
	up := h.ask(to, bytes.NewReader(data)).want(http.StatusCreated)
	var f Kept[fettle.ModelFile]
	if up.into(&f); f.Body.File != "block.stl" || f.Body.Version != 1 || f.Body.SHA256 != shaOf(data) || f.Links["part"] != part.ID || up.header.Get("Location") != "/api/files/"+f.ID {
		t.Fatalf("%+v", f)
	}
	if again := h.ask(to, bytes.NewReader(data)).want(http.StatusCreated).record(); again.ID != f.ID {
		t.Error("the same file again is another version")
	}
	h.ask("POST /api/parts/none/files?name=x.stl", bytes.NewReader(data)).want(http.StatusNotFound)
	h.ask("POST /api/parts/"+part.ID+"/files", bytes.NewReader(data)).problem(http.StatusUnprocessableEntity, "query.name")
	h.ask("POST /api/parts/"+part.ID+"/files?name=x.stl", nil).want(http.StatusUnprocessableEntity)
	h.ask(to, bytes.NewReader(data), "Content-Type", "multipart/form-data").problem(http.StatusUnsupportedMediaType, "header.Content-Type")

	at := "GET /api/stored/" + f.Body.SHA256 + "?name=block.stl"
	got := h.as("hand", at, nil).want(200)
	if !bytes.Equal(got.body, data) || got.header.Get("Content-Type") != bytesType || got.header.Get("ETag") != shaTag(shaOf(data)) ||
		got.header.Get("Content-Disposition") != `attachment; filename=block.stl` || !strings.Contains(got.header.Get("Cache-Control"), "immutable") ||
		got.header.Get("X-Content-Type-Options") != "nosniff" || !strings.Contains(got.header.Get("Content-Security-Policy"), "sandbox") {
		t.Errorf("%v", got.header)
	}
	for _, r := range []struct {
		rng, want string
		status    int
	}{{"bytes=6-10", "block", 206}, {"bytes=-6", "block\n", 206}, {"bytes=0-0", "s", 206}, {"bytes=99999999-", "", 416}} {
		got := h.ask(at, nil, "Range", r.rng)
		if got.status != r.status || r.status == 206 && string(got.body) != r.want {
			t.Errorf("%s: %d %q", r.rng, got.status, got.body)
		}
	}
	h.ask(at, nil, "If-None-Match", shaTag(shaOf(data))).want(http.StatusNotModified)
	if got := h.ask(at, nil, "Range", "bytes=0-4", "If-Range", `"other"`); got.status != 200 {
		t.Errorf("a part of another file: %d", got.status)
	}

	ask := "GET /api/files/" + f.ID + "/survey?units=mm"
	first := h.as("hand", ask, nil)
	if first.status == http.StatusAccepted {
		var task fettle.Task
		first.into(&task)
		if first.header.Get("Location") != "/api/tasks/"+task.ID {
			t.Errorf("%v", first.header)
		}
		last := h.watch(task.ID)
		if last.State != fettle.Done {
			t.Fatalf("%+v", last)
		}
	}
	var s fettle.Survey
	done := h.as("hand", ask, nil).want(200)
	if done.into(&s); s.VolumeMM3 != 6000 || done.header.Get("Content-Type") != "application/json" {
		t.Errorf("%s; %v", done.body, done.header)
	}
	h.as("hand", ask, nil, "If-None-Match", done.header.Get("ETag")).want(http.StatusNotModified)
	mesh := h.as("hand", "GET /api/files/"+f.ID+"/mesh?units=mm", nil).want(200)
	if !bytes.HasPrefix(mesh.body, []byte("FETTLE1\n")) || mesh.header.Get("Content-Type") != bytesType {
		t.Errorf("%v %.20q", mesh.header, mesh.body)
	}
	// With fewer triangles it is a task of its own, which this mesh of none cannot come out of.
	for _, ask := range []string{"GET /api/files/" + f.ID + "/mesh?units=mm&most=5000", "GET /api/meshes/" + shaOf(mesh.body) + "?most=5000"} {
		var task fettle.Task
		h.as("hand", ask, nil).want(http.StatusAccepted).into(&task)
		if last := h.watch(task.ID); task.Kind != fettle.TaskCoarse || last.State != fettle.Failed || !strings.Contains(last.Why, "mesh") {
			t.Errorf("%+v", last)
		}
	}
	h.ask("GET /api/files/"+f.ID+"/mesh?units=mm&most=5", nil).want(http.StatusUnprocessableEntity)
	h.ask("GET /api/meshes/"+strings.Repeat("0", 64)+"?most=5000", nil).want(http.StatusNotFound)
	h.ask("GET /api/files/"+f.ID+"/reach?media=moon+dust", nil).want(http.StatusNotFound)
	h.ask("GET /api/files/none/survey", nil).problem(http.StatusNotFound, "")

	// A file that cannot be read says why, and is no task that never ends.
	bad := h.ask("POST /api/parts/"+part.ID+"/files?name=bad.stl", strings.NewReader("solid nothing\nendsolid\n")).want(http.StatusCreated).record()
	ask = "GET /api/files/" + bad.ID + "/survey"
	var task fettle.Task
	h.ask(ask, nil).want(http.StatusAccepted).into(&task)
	if last := h.watch(task.ID); last.State != fettle.Failed || last.Why == "" {
		t.Errorf("%+v", last)
	}
}

// watch reads a task's events to their end and returns the last.
func (h *house) watch(id string) (last fettle.Task) {
	h.t.Helper()
	got := h.as("hand", "GET /api/tasks/"+id+"/events", nil).want(200)
	var e reply
	e.t = h.t
	for line := range strings.Lines(string(got.body)) {
		if data, is := strings.CutPrefix(line, "data: "); is {
			e.body = []byte(data)
			last = fettle.Task{}
			e.into(&last)
		}
	}
	if !last.State.Over() || got.header.Get("Content-Type") != "text/event-stream" {
		h.t.Errorf("the events end with %+v; %v", last, got.header)
	}
	return last
}

// TestPhoto sends pictures and what is none.
func TestPhoto(t *testing.T) {
	h := open(t, 0)
	var pic bytes.Buffer
	if err := png.Encode(&pic, image.NewGray(image.Rect(0, 0, 30, 20))); err != nil {
		t.Fatal(err)
	}
	job := h.make("jobs", nil, m{"title": "x", "brief": brief})
	var p Kept[fettle.Photo]
	h.as("hand", "POST /api/photos?name=face.png&says=before&job="+job.ID, bytes.NewReader(pic.Bytes()), "Content-Type", "image/png").want(http.StatusCreated).into(&p)
	if p.Body.Type != "image/png" || p.Body.WidthPX != 30 || p.Body.Says != "before" || p.Links["job"] != job.ID {
		t.Errorf("%+v", p)
	}
	got := h.ask("GET /api/stored/"+p.Body.SHA256+"?name="+p.Body.File, nil).want(200)
	if got.header.Get("Content-Type") != "image/png" || got.header.Get("Content-Disposition") != "inline; filename=face.png" {
		t.Errorf("%v", got.header)
	}
	h.as("hand", "POST /api/photos?job=none", bytes.NewReader(pic.Bytes())).problem(http.StatusUnprocessableEntity, "query.job")
	h.as("hand", "POST /api/photos", strings.NewReader("<svg xmlns='http://www.w3.org/2000/svg'/>")).want(http.StatusUnprocessableEntity)
	// Longer than it may be, and nobody says so beforehand.
	h.as("hand", "POST /api/photos", io.LimitReader(zeros{}, shop.MostPhoto+10)).problem(http.StatusRequestEntityTooLarge, "body")
	// Altering says nothing of the file, which stays.
	p.Body.Says = "after"
	if q := h.ask("PUT /api/photos/"+p.ID, m{"body": p.Body, "links": p.Links}, "If-Match", `"1"`).want(200).record(); q.Files["photo"] != p.Body.SHA256 {
		t.Errorf("%+v", q)
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// TestTypes looks that nothing active is served as such, whatever it calls itself.
func TestTypes(t *testing.T) {
	const pic = "\x89PNG\r\n\x1a\nxxxx"
	for _, c := range []struct{ name, begins, want string }{
		{"a.png", pic, "image/png"}, {"A.PNG", pic, "image/png"}, {"a.jpg", pic, bytesType}, {"a", pic, bytesType}, {"a.html", pic, bytesType},
		{"a.jpeg", "\xff\xd8\xff\xe0", "image/jpeg"}, {"a.pdf", "%PDF-1.7", "application/pdf"}, {"a.pdf", "<html>", bytesType}, {"a.png", "<svg>", bytesType},
		{"a.json", `{"a": 1}`, "application/json"}, {"a.json", `<script>`, bytesType}, {"a.html", "<html>", bytesType}, {"a.svg", "<svg>", bytesType},
		{"a.xml", "<?xml", bytesType}, {"a.js", "alert(1)", bytesType}, {"a.txt", "hello", bytesType}, {"a.xhtml", "<html", bytesType}, {"", "", bytesType},
	} {
		kind, inline, policy := typeOf(c.name, []byte(c.begins))
		if kind != c.want || inline != strings.Contains("image/png image/jpeg application/pdf", kind) || policy == "" {
			t.Errorf("%s that begins with %q is %s, want %s (inline %v)", c.name, c.begins, kind, c.want, inline)
		}
	}
	for name, want := range map[string]string{
		"a b.stl": `attachment; filename="a b.stl"`, "é.stl": `attachment; filename*=utf-8''%C3%A9.stl`, "x\r\nSet-Cookie: a=b": "attachment; filename*=utf-8''x%0D%0ASet-Cookie%3A%20a%3Db",
		"": "attachment", "../../etc/passwd": "attachment; filename=passwd", `a\b.stl`: "attachment; filename=b.stl",
	} {
		if got := disposition(false, name); got != want {
			t.Errorf("%q: %s, want %s", name, got, want)
		}
	}
}

// TestTooLong looks that no more is taken than is allowed, and that what ends early is no file.
func TestTooLong(t *testing.T) {
	for _, c := range []struct{ sends, most, status int }{{100, 100, 0}, {0, 100, 0}, {101, 100, 413}, {5000, 100, 413}} {
		s := &sent{r: io.LimitReader(zeros{}, int64(c.sends)), left: int64(c.most), most: int64(c.most)}
		n, err := io.Copy(io.Discard, s)
		var p *Problem
		if errors.As(err, &p) != (c.status > 0) || p != nil && p.Status != c.status || n > int64(c.most) || c.status == 0 && int(n) != c.sends {
			t.Errorf("%+v: %d bytes, %v", c, n, err)
		}
	}
}

// reading is a shop that tells what it was sent of a model.
type reading struct {
	Shop
	first chan byte
	ended chan error
}

func (r *reading) AddFile(_ context.Context, _, _, _, _ string, body io.Reader) (fettle.Record, error) {
	b := bufio.NewReader(body)
	if c, err := b.ReadByte(); err == nil {
		r.first <- c
	}
	_, err := io.Copy(io.Discard, b)
	r.ended <- err
	if err != nil {
		return fettle.Record{}, fmt.Errorf("a store's own words: %w", err)
	}
	return fettle.Record{Kind: fettle.KeptFile, ID: "f", Rev: 1, Body: []byte(`{}`)}, nil
}

// TestStreams looks that a model is worked on before its last byte is there.
func TestStreams(t *testing.T) {
	s := &reading{first: make(chan byte), ended: make(chan error, 1)}
	h := open(t, 0, func(o *Options) { s.Shop = o.Shop; o.Shop = s })
	from, to := io.Pipe()
	go func() {
		to.Write([]byte("first"))
		<-s.first
		to.Write([]byte("last"))
		to.Close()
	}()
	h.ask("POST /api/parts/p/files?name=x.stl", from).want(http.StatusCreated)
	if err := <-s.ended; err != nil {
		t.Error(err)
	}
}

// TestClaims asks with bare connections: what claims to be too long, stands still,
// or breaks off.
func TestClaims(t *testing.T) {
	s := &reading{first: make(chan byte, 9), ended: make(chan error, 9)}
	h := open(t, 0, func(o *Options) { s.Shop = o.Shop; o.Shop = s })
	h.api.pace = pace{200 * time.Millisecond, 1 << 20}
	dial := func(length, body string) (net.Conn, *bufio.Reader) {
		c, err := net.Dial("tcp", strings.TrimPrefix(h.url, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		fmt.Fprintf(c, "POST /api/parts/p/files?name=x.stl HTTP/1.1\r\nHost: x\r\n%s: owner\r\nContent-Length: %s\r\n\r\n%s", asRole, length, body)
		return c, bufio.NewReader(c)
	}
	status := func(r *bufio.Reader) int {
		resp, err := http.ReadResponse(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		return resp.StatusCode
	}
	_, r := dial("600000000", "x") // more than 512 MiB
	if got := status(r); got != http.StatusRequestEntityTooLarge {
		t.Errorf("a claim of 600 MB: %d", got)
	}
	_, r = dial("1000", "x") // and no more
	if got := status(r); got != http.StatusRequestTimeout {
		t.Errorf("a body that stands still: %d", got)
	}
	if err := <-s.ended; err == nil {
		t.Error("a body that stood still was read to its end")
	}
	c, _ := dial("1000", "xxxx")
	c.(*net.TCPConn).CloseWrite()
	if err := <-s.ended; err == nil {
		t.Error("half a file was taken for a whole one")
	}
	if s := h.log.String(); s != "" {
		t.Errorf("in the log: %s", s)
	}
}

// TestProofForm sends a program with its set-up.
func TestProofForm(t *testing.T) {
	h := open(t, 0)
	form := func(parts ...string) (io.Reader, string) {
		var b bytes.Buffer
		w := multipart.NewWriter(&b)
		for i := 0; i < len(parts); i += 2 {
			head := textproto.MIMEHeader{"Content-Disposition": {fmt.Sprintf(`form-data; name=%q; filename="o1.nc"`, parts[i])}}
			p, err := w.CreatePart(head)
			if err != nil {
				t.Fatal(err)
			}
			io.WriteString(p, parts[i+1])
		}
		w.Close()
		return &b, w.FormDataContentType()
	}
	body, kind := form("setup", `{"zero_mm": [0,0,0], "offset": "G54"}`, "program", "%\nO1\nG54 G0 X0 Y0\nM30\n%\n")
	var task fettle.Task
	got := h.as("hand", "POST /api/proofs", body, "Content-Type", kind).want(http.StatusAccepted)
	if got.into(&task); task.Kind != fettle.TaskProof || task.State != fettle.Waiting || got.header.Get("Location") != "/api/tasks/"+task.ID || !strings.Contains(string(task.Args), "o1.nc") {
		t.Errorf("%+v", task)
	}
	body, kind = form("setup", `{"zero": 1}`, "program", "M30")
	h.as("hand", "POST /api/proofs", body, "Content-Type", kind).want(http.StatusUnprocessableEntity)
	body, kind = form("setup", `{}`)
	h.as("hand", "POST /api/proofs", body, "Content-Type", kind).problem(http.StatusUnprocessableEntity, "body.program")
	body, kind = form("programme", `x`)
	h.as("hand", "POST /api/proofs", body, "Content-Type", kind).problem(http.StatusUnprocessableEntity, "body.programme")
	h.as("hand", "POST /api/proofs", strings.NewReader("M30")).problem(http.StatusUnsupportedMediaType, "header.Content-Type")

	// The queue has no workers here: what waits can be stopped, asked again, listed.
	at := "/api/tasks/" + task.ID
	var page TaskPage
	if h.as("hand", "GET /api/tasks?state=waiting,running", nil).want(200).into(&page); len(page.Tasks) != 1 || page.Next != "" {
		t.Errorf("%+v", page)
	}
	h.as("hand", "POST "+at+"/again", nil).problem(http.StatusConflict, "")
	if h.as("hand", "POST "+at+"/stop", nil).want(200).into(&task); task.State != fettle.Stopped {
		t.Errorf("%+v", task)
	}
	if h.as("hand", "POST "+at+"/again", nil).want(200).into(&task); task.State != fettle.Waiting {
		t.Errorf("%+v", task)
	}
	h.ask("DELETE "+at, nil).problem(http.StatusConflict, "")
	if h.as("hand", "GET /api/tasks?state=failed", nil).want(200).into(&page); len(page.Tasks) != 0 {
		t.Errorf("%+v", page)
	}
}
