package api

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/door/gate"
)

// role is the least that one must be to ask for an operation.
type role string

const (
	nobody role = "nobody"
	hand   role = "hand"
	owner  role = "owner"
)

// rank is 0 for what is no role.
func (r role) rank() int { return 1 + slices.Index([]role{nobody, hand, owner}, r) }

// route is one operation: where it is, what it says of itself, and who may ask.
type route struct {
	id, tag string
	// call is method and path: "GET /api/jobs/{id}". A name that ends in "..." takes
	// the rest of the path.
	call    string
	least   role
	summary string
	says    string // more about it
	status  int    // of success; 0: 200, or 204 without an answer
	// fails are the statuses of its errors, besides those that follow from its role
	// and from its having a body or parameters.
	fails []int
	most  int64 // bytes of a JSON body; 0: mostJSON
	// fills is what the record in the path stands for in the shop's sentences:
	// "links.part".
	fills string
	// answers and body stand where types do not say it: bytes and streams.
	answers map[string]*huma.Response
	body    *huma.RequestBody
}

const (
	mostJSON  = 1 << 20
	mostShelf = 16 << 20
)

// leastKey finds an operation's least role in its metadata.
const leastKey = "least role"

// add makes an operation of a route and what answers it.
func add[I, O any](a *API, r route, answer func(context.Context, *I) (*O, error)) {
	if r.least.rank() == 0 {
		panic(fmt.Sprintf("api: %s (%s) names no least role", r.id, r.call))
	}
	if r.id == "" || r.summary == "" || r.tag == "" {
		panic(fmt.Sprintf("api: %s (%s) needs an id, a summary and a tag", r.id, r.call))
	}
	method, path, ok := strings.Cut(r.call, " ")
	if !ok || !strings.HasPrefix(path, "/api/") {
		panic(fmt.Sprintf("api: %s: %q is not a method and a path under /api/", r.id, r.call))
	}
	meta := map[string]any{leastKey: r.least}
	if rest := strings.Index(path, "...}"); rest >= 0 {
		meta[restKey] = path
		path = path[:rest] + "}"
	}
	op := huma.Operation{
		OperationID: r.id, Method: method, Path: path, Tags: []string{r.tag}, Summary: r.summary, Description: r.says,
		DefaultStatus: r.status, Errors: r.statuses(method), MaxBodyBytes: r.most,
		Metadata: meta, Responses: r.answers,
		Extensions: map[string]any{"x-least-role": string(r.least)},
		// Slow senders are refused by the pace at which they send, however long the body.
		BodyReadTimeout: -1,
	}
	if op.MaxBodyBytes == 0 {
		op.MaxBodyBytes = mostJSON
	}
	if r.least != nobody {
		op.Security = []map[string][]string{{"session": {}}}
	} else {
		op.Security = []map[string][]string{{}}
	}
	kept := &r
	a.routes = append(a.routes, kept)
	huma.Register(a.huma, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := answer(ctx, in)
		if err != nil {
			return nil, a.fail(ctx, kept, err)
		}
		return out, nil
	})
	if r.body != nil {
		// Described only now: huma would read what it knows to be a document.
		operations(a.huma.OpenAPI().Paths[path])[method].RequestBody = r.body
	}
}

// statuses are the errors that an operation may answer with.
func (r *route) statuses(method string) []int {
	s := append([]int{http.StatusInternalServerError}, r.fails...)
	if r.least != nobody {
		s = append(s, http.StatusUnauthorized, http.StatusForbidden)
	}
	if method == http.MethodPost || method == http.MethodPut {
		s = append(s, http.StatusBadRequest, http.StatusRequestTimeout, http.StatusRequestEntityTooLarge,
			http.StatusUnsupportedMediaType, http.StatusUnprocessableEntity, http.StatusInsufficientStorage)
	}
	slices.Sort(s)
	return slices.Compact(s)
}

// admit lets through whoever is at least what the operation asks for.
func (a *API) admit(ctx huma.Context, next func(huma.Context)) {
	least, ok := ctx.Operation().Metadata[leastKey].(role)
	if !ok {
		panic("api: " + ctx.Operation().OperationID + " names no least role")
	}
	is := a.who(ctx.Context())
	switch {
	case is.rank() >= least.rank():
		next(ctx)
	case is == nobody:
		ctx.SetHeader("WWW-Authenticate", challenge)
		huma.WriteErr(a.huma, ctx, http.StatusUnauthorized, "nobody is logged in here; log in with the passcode first")
	default:
		huma.WriteErr(a.huma, ctx, http.StatusForbidden, fmt.Sprintf("this is for the %s, and you are logged in as %s", least, is))
	}
}

// who asks.
func (a *API) who(ctx context.Context) role {
	switch gate.From(ctx).Role {
	case gate.Owner:
		return owner
	case gate.Hand:
		return hand
	}
	return nobody
}

// by is the name that a change is kept under.
func (a *API) by(ctx context.Context) string { return string(a.who(ctx)) }

// checkRoles walks what will be served: no operation may have come in past add.
func (a *API) checkRoles() {
	for path, item := range a.huma.OpenAPI().Paths {
		for method, op := range operations(item) {
			if _, ok := op.Metadata[leastKey].(role); !ok {
				panic(fmt.Sprintf("api: %s %s names no least role", method, path))
			}
		}
	}
	covered := map[fettle.RecordKind]bool{}
	for _, k := range kinds {
		covered[k.kind] = true
	}
	for _, k := range append(fettle.WorkKinds(), fettle.ShelfKinds()...) {
		if !covered[k] {
			panic("api: there is no table entry for records of kind " + string(k))
		}
	}
}

// operations are the operations on one path, by method.
func operations(p *huma.PathItem) map[string]*huma.Operation {
	all := map[string]*huma.Operation{
		http.MethodGet: p.Get, http.MethodPut: p.Put, http.MethodPost: p.Post, http.MethodDelete: p.Delete,
		http.MethodHead: p.Head, http.MethodPatch: p.Patch, http.MethodOptions: p.Options, http.MethodTrace: p.Trace,
	}
	for m, op := range all {
		if op == nil {
			delete(all, m)
		}
	}
	return all
}

// restKey finds the mux's pattern where it differs from the described path.
const restKey = "pattern"

// adapter is the standard mux, with patterns that take the rest of a path.
type adapter struct{ huma.Adapter }

// Handle adds an operation to the mux.
func (m *adapter) Handle(op *huma.Operation, handler func(huma.Context)) {
	if p, ok := op.Metadata[restKey].(string); ok {
		rest := *op
		rest.Path = p
		op = &rest
	}
	m.Adapter.Handle(op, handler)
}
