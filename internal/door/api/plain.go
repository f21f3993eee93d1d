package api

import (
	"encoding/json"
	"io"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// Bare is a request and its answer as net/http has them, for bytes that must
// not pass through memory as a whole. An input that embeds it gets them.
type Bare struct {
	w http.ResponseWriter
	r *http.Request
}

// Resolve takes them from the call.
func (b *Bare) Resolve(ctx huma.Context) []error {
	b.r, b.w = humago.Unwrap(ctx)
	return nil
}

// written is an answer that writes itself.
func written(write func(w http.ResponseWriter, r *http.Request)) *huma.StreamResponse {
	return &huma.StreamResponse{Body: func(ctx huma.Context) {
		r, w := humago.Unwrap(ctx)
		write(w, r)
	}}
}

// writeProblem writes a problem outside of any operation.
func writeProblem(w http.ResponseWriter, p *Problem) {
	w.Header().Set("Content-Type", p.ContentType(""))
	w.WriteHeader(p.Status)
	encode(w, p)
}

// writeJSON writes a document as operations do.
func writeJSON(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	encode(w, v)
}

func encode(w io.Writer, v any) {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.Encode(v) // what fails here is the connection, and nobody is left to be told
}

// bytesOf describes an answer or a body of one of these types.
func bytesOf(types ...string) map[string]*huma.MediaType {
	m := map[string]*huma.MediaType{}
	for _, t := range types {
		m[t] = &huma.MediaType{Schema: &huma.Schema{Type: "string", Format: "binary"}}
	}
	return m
}

// text describes a header that is a string.
func text(says string) *huma.Param {
	return &huma.Param{Description: says, Schema: &huma.Schema{Type: "string"}}
}
