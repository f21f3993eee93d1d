package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle/internal/door/store"
	"fettle/internal/door/store/storetest"
)

// withPostgres runs the tests and stops the database server that they may have
// started.
type withPostgres struct{ m *testing.M }

func (w withPostgres) Run() int { return storetest.Main(w.m) }

// house is a shop's folder, and the database where its records are not in it.
type house struct {
	dir string
	url string
}

// on puts a house before a command's words.
func (h house) on(args ...string) []string {
	at := []string{"--workspace", h.dir}
	if h.url != "" {
		at = append(at, "--database", h.url)
	}
	return append(at, args...)
}

// open opens the house's store in this process.
func (h house) open(readOnly bool) (*store.Store, error) {
	return store.Open(context.Background(), store.Options{Dir: h.dir, URL: h.url, ReadOnly: readOnly})
}

// program is this test binary as the program (see TestMain).
func program(args ...string) *exec.Cmd {
	self, err := os.Executable()
	if err != nil {
		panic(err)
	}
	cmd := exec.Command(self, args...)
	cmd.Args[0] = "fettle"
	return cmd
}

// fettle runs a command to its end.
func (h house) fettle(t testing.TB, args ...string) (status int, out, errs string) {
	t.Helper()
	cmd := program(h.on(args...)...)
	var o, e bytes.Buffer
	cmd.Stdout, cmd.Stderr = &o, &e
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), o.String(), e.String()
}

// refused fails unless a command ended with status 2 and one sentence, which it
// returns.
func (h house) refused(t testing.TB, args ...string) string {
	t.Helper()
	status, out, errs := h.fettle(t, append([]string{"-q"}, args...)...)
	if status != 2 || out != "" || strings.Count(errs, "\n") != 1 || !strings.HasPrefix(errs, "fettle: ") {
		t.Errorf("fettle %s: status %d, out %q, err %q; want 2 and one sentence", strings.Join(args, " "), status, out, errs)
	}
	return errs
}

// child is the program at work in a process of its own.
type child struct {
	cmd   *exec.Cmd
	ready chan struct{} // closed when it said that it works
	gone  chan struct{} // closed when it has ended
	base  string        // its address without a slash at the end, once it is ready
	web   *http.Client

	mu   sync.Mutex
	said bytes.Buffer
}

// start starts a command that works until it is ended, and waits for nothing.
func (h house) start(t testing.TB, args ...string) *child {
	t.Helper()
	c := &child{
		cmd: program(h.on(args...)...), ready: make(chan struct{}), gone: make(chan struct{}),
		web: &http.Client{Timeout: time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 8}},
	}
	errs, err := c.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.kill)
	go func() {
		defer close(c.gone)
		ready := false
		for lines := bufio.NewScanner(errs); lines.Scan(); {
			line := lines.Text()
			c.mu.Lock()
			c.said.WriteString(line + "\n")
			c.mu.Unlock()
			at, is := strings.CutPrefix(line, "fettle is at ")
			if !ready && (is || strings.HasPrefix(line, "fettle works")) {
				ready, c.base = true, strings.TrimSuffix(at, "/")
				close(c.ready)
			}
		}
		_ = c.cmd.Wait()
	}()
	return c
}

// serve starts fettle serve on a port that is free.
func (h house) serve(t testing.TB, args ...string) *child {
	t.Helper()
	return h.start(t, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)...)
}

// up waits until it works.
func (c *child) up(t testing.TB) *child {
	t.Helper()
	select {
	case <-c.ready:
	case <-c.gone:
		t.Fatalf("it ended and said %q", c.words())
	case <-time.After(time.Minute):
		t.Fatalf("it does not come up and said %q", c.words())
	}
	return c
}

func (c *child) words() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.said.String()
}

// kill ends it as a power cut would end the process: no word, no time.
func (c *child) kill() {
	_ = c.cmd.Process.Kill()
	<-c.gone
	c.web.CloseIdleConnections()
}

// ended reports whether it is gone.
func (c *child) ended() bool {
	select {
	case <-c.gone:
		return true
	default:
		return false
	}
}

// answer is what came back whole.
type answer struct {
	status int
	header http.Header
	body   []byte
}

func (a answer) ok() bool { return a.status >= 200 && a.status < 300 }

// ask asks the web door. An error is an answer that did not come, or not whole:
// whoever asked does not know what became of it.
func (c *child) ask(method, path string, header map[string]string, body []byte) (answer, error) {
	return c.send(method, path, header, bytes.NewReader(body), int64(len(body)))
}

// send is ask with a body of any length; -1 where it is not said.
func (c *child) send(method, path string, header map[string]string, body io.Reader, length int64) (answer, error) {
	r, err := http.NewRequest(method, c.base+path, body)
	if err != nil {
		return answer{}, err
	}
	if r.ContentLength = length; length == 0 {
		r.Body = http.NoBody
	}
	for k, v := range header {
		r.Header.Set(k, v)
	}
	resp, err := c.web.Do(r)
	if err != nil {
		return answer{}, err
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	return answer{resp.StatusCode, resp.Header, b}, err
}
