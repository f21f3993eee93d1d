package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/google/uuid"

	"fettle"
	"fettle/internal/door/gate"
)

// Problem is an error as it is answered (RFC 9457).
type Problem struct {
	Title    string      `json:"title" doc:"the status in words"`
	Status   int         `json:"status"`
	Detail   string      `json:"detail" doc:"a sentence: what is wrong, where, what to try"`
	Code     fettle.Code `json:"code" enum:"no,invalid,not_found,bad_file,conflict,denied,full,internal" doc:"whose move it is"`
	Instance string      `json:"instance,omitempty" format:"uri" doc:"of a failure of ours: what to look for in the log"`
	Errors   []Fault     `json:"errors,omitempty" nullable:"false"`
}

// Fault is one thing that is wrong with a request, and where.
type Fault struct {
	Location string `json:"location,omitempty" doc:"\"body.body.brief.lot\", \"query.limit\", \"header.If-Match\""`
	Message  string `json:"message"`
}

// Error returns the sentence.
func (p *Problem) Error() string { return p.Detail }

// GetStatus returns the status.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is that of problem documents.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

// clientGone is what is noted where nobody is left to read the answer.
const clientGone = 499

// ourFault is all that is told of a failure that the user cannot act on.
const ourFault = "something went wrong in the shop's own program; try again, and where it stays, look for the instance in its log"

// statusOf maps the codes of a failure to statuses. An operation that names no
// record in its path was given what it could not find in its body or query.
func statusOf(code fettle.Code, named bool) int {
	switch code {
	case fettle.No, fettle.Invalid, fettle.BadFile:
		return http.StatusUnprocessableEntity
	case fettle.NotFound:
		if named {
			return http.StatusNotFound
		}
		return http.StatusUnprocessableEntity
	case fettle.Conflict:
		return http.StatusConflict
	case fettle.Denied:
		return http.StatusForbidden
	case fettle.Full:
		return http.StatusInsufficientStorage
	}
	return http.StatusInternalServerError
}

// codeOf maps a status back, for what was refused before the shop was asked.
func codeOf(status int) fettle.Code {
	switch status {
	case http.StatusUnauthorized, http.StatusForbidden, http.StatusTooManyRequests:
		return fettle.Denied
	case http.StatusNotFound:
		return fettle.NotFound
	case http.StatusConflict, http.StatusPreconditionFailed:
		return fettle.Conflict
	case http.StatusInsufficientStorage:
		return fettle.Full
	}
	if status >= 500 {
		return fettle.Internal
	}
	return fettle.Invalid
}

// problem makes one of a status.
func problem(status int, code fettle.Code, says string, faults ...Fault) *Problem {
	return &Problem{Title: http.StatusText(status), Status: status, Detail: says, Code: code, Errors: faults}
}

// wrong refuses a request for one field: "body.name", "query.limit", "header.If-Match".
func wrong(status int, where, format string, args ...any) error {
	says := fmt.Sprintf(format, args...)
	return problem(status, codeOf(status), says, Fault{where, says})
}

const challenge = `Passcode realm="shop"`

// fail makes a problem of an error.
func (a *API) fail(ctx context.Context, r *route, err error) error {
	var already huma.StatusError
	if errors.As(err, &already) {
		return err
	}
	if errors.Is(context.Cause(ctx), context.Canceled) {
		return problem(clientGone, fettle.Invalid, "nobody waits for the answer any more")
	}
	var e *fettle.Error
	if !errors.As(err, &e) || e.Code == fettle.Internal {
		return a.internal(ctx, r.id, err)
	}
	where := faultAt(err)
	if r.fills != "" && where == "body."+r.fills { // the path says which
		where = "path.id"
	}
	status := statusOf(e.Code, strings.Contains(r.call, "{") && !strings.HasPrefix(where, "body.") && !strings.HasPrefix(where, "query."))
	header := http.Header{}
	if e.Code == fettle.Denied {
		if a.who(ctx) == nobody {
			status = http.StatusUnauthorized
			header.Set("WWW-Authenticate", challenge)
		}
		if wait, is := gate.RetryAfter(err); is {
			status = http.StatusTooManyRequests
			header = http.Header{"Retry-After": {strconv.Itoa(int((wait + time.Second - 1) / time.Second))}}
		}
	}
	p := problem(status, e.Code, e.Message)
	if where != "" {
		p.Errors = []Fault{{where, e.Message}}
	}
	if len(header) > 0 {
		return huma.ErrorWithHeaders(p, header)
	}
	return p
}

// internal logs a failure of ours and hides its text.
func (a *API) internal(ctx context.Context, id string, err error) error {
	p := problem(http.StatusInternalServerError, fettle.Internal, ourFault)
	p.Instance = "urn:uuid:" + uuid.NewString()
	a.log.ErrorContext(ctx, "a request failed", "operation", id, "instance", p.Instance, "error", err)
	return p
}

// faultAt is the place in the request that an error is about, where it knows it.
func faultAt(err error) string {
	var f interface{ Field() string }
	if errors.As(err, &f) {
		return f.Field()
	}
	return ""
}

// dress makes a problem of what was refused before an operation was asked. What was
// sent is not sent back, for it may be a passcode; and the first fault
// is said in the sentence, because that is what is shown.
func (a *API) dress(_ huma.Context, _ string, v any) (any, error) {
	m, ok := v.(*huma.ErrorModel)
	if !ok {
		return v, nil
	}
	p := problem(m.Status, codeOf(m.Status), m.Detail)
	for _, d := range m.Errors {
		if d != nil {
			p.Errors = append(p.Errors, Fault{d.Location, d.Message})
		}
	}
	if len(p.Errors) > 0 && (m.Detail == "validation failed" || m.Detail == "") {
		p.Detail = p.Errors[0].Message
		if at := p.Errors[0].Location; at != "" {
			p.Detail = at + ": " + p.Detail
		}
	}
	return p, nil
}

// nothingHere answers for paths that no operation has, and for methods that a
// path does not have.
func (a *API) nothingHere(w http.ResponseWriter, r *http.Request) {
	var can []string
	for _, m := range []string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodDelete} {
		other := r.Clone(r.Context())
		other.Method = m
		if _, pattern := a.mux.Handler(other); pattern != "/api/" && pattern != "" {
			can = append(can, m)
		}
	}
	if len(can) > 0 {
		w.Header().Set("Allow", strings.Join(can, ", "))
		writeProblem(w, problem(http.StatusMethodNotAllowed, fettle.Invalid, fmt.Sprintf("%s is not possible here; there is: %s", r.Method, strings.Join(can, ", "))))
		return
	}
	writeProblem(w, problem(http.StatusNotFound, fettle.NotFound, "there is nothing at this address; /api/openapi.json says what there is"))
}
