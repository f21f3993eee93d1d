package gate

import (
	"encoding/json"
	"io"
	"net/http"
)

// answer counts what is written, and knows whether it has begun.
type answer struct {
	http.ResponseWriter
	status int // 0: nothing yet
	bytes  int64
}

// Unwrap lets http.ResponseController find what lies below.
func (a *answer) Unwrap() http.ResponseWriter { return a.ResponseWriter }

func (a *answer) WriteHeader(status int) {
	if a.status == 0 && (status >= 200 || status == http.StatusSwitchingProtocols) {
		a.status = status
		// http.Error and http.ServeContent take it away.
		if h := a.Header(); len(h.Values("Cache-Control")) == 0 {
			h.Set("Cache-Control", "no-store")
		}
	}
	a.ResponseWriter.WriteHeader(status)
}

func (a *answer) begin() {
	if a.status == 0 {
		a.WriteHeader(http.StatusOK)
	}
}

func (a *answer) Write(p []byte) (int, error) {
	a.begin()
	n, err := a.ResponseWriter.Write(p)
	a.bytes += int64(n)
	return n, err
}

// ReadFrom keeps the server's short way from a file to the network.
func (a *answer) ReadFrom(r io.Reader) (int64, error) {
	a.begin()
	n, err := io.Copy(a.ResponseWriter, r)
	a.bytes += n
	return n, err
}

// FlushError sends what was written so far.
func (a *answer) FlushError() error {
	a.begin()
	return http.NewResponseController(a.ResponseWriter).Flush()
}

// Flush is [answer.FlushError] for those who ask for an http.Flusher.
func (a *answer) Flush() { _ = a.FlushError() }

// body is a request's body that is read another way.
type body struct {
	io.Reader
	io.Closer
}

// problem answers with problem details (RFC 9457).
func problem(w http.ResponseWriter, status int, detail string) {
	b, err := json.Marshal(struct {
		Title  string `json:"title"`
		Status int    `json:"status"`
		Detail string `json:"detail"`
	}{http.StatusText(status), status, detail})
	if err != nil {
		panic(err)
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	w.Write(append(b, '\n'))
}
