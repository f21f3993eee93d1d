package api

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
)

// changeFails are what a change of a record may fail with.
var changeFails = []int{http.StatusNotFound, http.StatusConflict, http.StatusPreconditionFailed, http.StatusPreconditionRequired}

// revTag is a revision as an entity tag.
func revTag(rev int64) string { return `"` + strconv.FormatInt(rev, 10) + `"` }

// shaTag is a stored file's.
func shaTag(sha string) string { return `"` + sha + `"` }

// anyTag reports whether If-None-Match names a tag; weak and strong are the
// same to it (RFC 9110, 13.1.2).
func anyTag(header, tag string) bool {
	for one := range strings.SplitSeq(header, ",") {
		if one = strings.TrimSpace(one); one == "*" || strings.TrimPrefix(one, "W/") == tag {
			return true
		}
	}
	return false
}

// seen is the revision that If-Match names. It must be one, and a strong tag
// (RFC 9110, 13.1.1): "any" would undo the purpose.
func seen(match string) (int64, error) {
	match = strings.TrimSpace(match)
	if match == "" || match == "*" {
		return 0, wrong(http.StatusPreconditionRequired, "header.If-Match", "say which revision was seen: send its ETag as If-Match")
	}
	inner, isTag := strings.CutPrefix(match, `"`)
	inner, closed := strings.CutSuffix(inner, `"`)
	rev, err := strconv.ParseInt(inner, 10, 64)
	if !isTag || !closed || err != nil || rev < 1 {
		return 0, wrong(http.StatusPreconditionFailed, "header.If-Match", "If-Match %s is no revision's ETag, such as \"3\" with its quotes", match)
	}
	return rev, nil
}

// stale refuses a change of what is not the last revision.
func stale(last int64) error {
	says := "someone changed it meanwhile: the last revision is " + strconv.FormatInt(last, 10) + "; look at it and change that one"
	return huma.ErrorWithHeaders(wrong(http.StatusPreconditionFailed, "header.If-Match", "%s", says), http.Header{"Etag": {revTag(last)}})
}

// changed tells a revision that is not the last from other conflicts.
func (a *API) changed(ctx context.Context, kind fettle.RecordKind, id string, rev int64, err error) error {
	if fettle.CodeOf(err) != fettle.Conflict {
		return err
	}
	if r, got := a.o.Shop.Get(ctx, kind, id); got == nil && r.Rev != rev {
		return stale(r.Rev)
	}
	return err
}

// faulty is an error with the place in the request that it is about.
type faulty struct {
	error
	field string
}

func (f *faulty) Unwrap() error { return f.error }

// Field is the place: "body.links.part".
func (f *faulty) Field() string { return f.field }

// inBody finds the key that an error of the shop's is about. Its sentences name
// keys as they are written; where says at what place in the body each stands.
func inBody(err error, where map[string]string) error {
	var e *fettle.Error
	if !errors.As(err, &e) || (e.Code != fettle.Invalid && e.Code != fettle.NotFound) {
		return err
	}
	words := strings.FieldsFunc(e.Message, func(r rune) bool {
		return !(r == '_' || r == '.' || r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r >= 'A' && r <= 'Z')
	})
	for i, w := range words {
		w = strings.Trim(w, ".")
		if role, is := strings.CutPrefix(w, "links."); is && i == 0 {
			return &faulty{err, "body.links." + role}
		}
		if role, is := strings.CutPrefix(w, "files."); is && i == 0 {
			return &faulty{err, "body.files." + role}
		}
		// A word of plain English may be a key as well ("name"): only what stands in
		// front, or cannot be English, counts.
		if path, known := where[w]; known && (i == 0 || strings.Contains(w, "_")) {
			return &faulty{err, "body.body." + path}
		}
	}
	return err
}
