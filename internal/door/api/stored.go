package api

import (
	"bytes"
	"context"
	"errors"
	"io"
	"mime"
	"net/http"
	"path"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
)

// shown are the types that a browser may show. A file is of one only where its
// name and its first bytes say the same; everything else is bytes to download, so
// that nothing a customer sent runs as a page of the shop.
var shown = []struct {
	mime    string
	endings []string
	begins  []string
	inline  bool
	policy  string
}{
	{"image/png", []string{".png"}, []string{"\x89PNG\r\n\x1a\n"}, true, closed},
	{"image/jpeg", []string{".jpg", ".jpeg"}, []string{"\xff\xd8\xff"}, true, closed},
	// Browsers show no PDF that is sandboxed; what is in one never runs as a page.
	{"application/pdf", []string{".pdf"}, []string{"%PDF-"}, true, "default-src 'none'; object-src 'self'; style-src 'unsafe-inline'; frame-ancestors 'none'"},
	{"application/json", []string{".json"}, []string{"{", "["}, false, closed},
}

const closed = "default-src 'none'; sandbox; frame-ancestors 'none'"

// typeOf is the type that a file is served as.
func typeOf(name string, begins []byte) (mime string, inline bool, policy string) {
	ending := strings.ToLower(path.Ext(name))
	for _, t := range shown {
		for _, e := range t.endings {
			for _, b := range t.begins {
				if e == ending && bytes.HasPrefix(begins, []byte(b)) {
					return t.mime, t.inline, t.policy
				}
			}
		}
	}
	return bytesType, false, closed
}

// revalidate keeps an answer and asks about it again; forever is for addresses
// that name what is in the file.
const (
	revalidate = "private, no-cache"
	forever    = "private, max-age=31536000, immutable"
)

// serve answers with a stored file under a name. It knows ranges and
// If-None-Match.
func (a *API) serve(ctx context.Context, sha, name, cache string) (*huma.StreamResponse, error) {
	f, blob, err := a.o.Shop.OpenStored(ctx, sha)
	if err != nil {
		return nil, err
	}
	begins := make([]byte, 16)
	n, err := io.ReadFull(f, begins)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		f.Close()
		return nil, err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		f.Close()
		return nil, err
	}
	return written(func(w http.ResponseWriter, req *http.Request) {
		defer f.Close()
		kind, inline, policy := typeOf(name, begins[:n])
		h := w.Header()
		h.Set("Content-Type", kind)
		h.Set("Content-Disposition", disposition(inline, name))
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Cache-Control", cache)
		h.Set("ETag", shaTag(blob.SHA256))
		// A reader that stands still must not hold a file open for ever.
		control := http.NewResponseController(w)
		control.SetWriteDeadline(time.Now().Add(time.Minute + time.Duration(blob.Bytes/a.pace.rate)*time.Second))
		defer control.SetWriteDeadline(time.Time{}) // the connection is used again
		http.ServeContent(w, req, "", time.Time{}, f)
	}), nil
}

// disposition names a file for saving (RFC 6266).
func disposition(inline bool, name string) string {
	kind := "attachment"
	if inline {
		kind = "inline"
	}
	name = path.Base(strings.ReplaceAll(name, "\\", "/"))
	if name == "." || name == "/" {
		return kind
	}
	if d := mime.FormatMediaType(kind, map[string]string{"filename": name}); d != "" {
		return d
	}
	return kind
}

// served describes an answer of stored bytes.
func served(says string, types ...string) map[string]*huma.Response {
	return map[string]*huma.Response{
		"200": {Description: says, Content: bytesOf(types...), Headers: map[string]*huma.Param{"ETag": text("SHA-256 of the file, in quotes")}},
		"206": {Description: "The part that Range asked for.", Content: bytesOf(types...)},
		"304": {Description: "It is what If-None-Match says."},
		"416": {Description: "Range asks for what is not there.", Content: bytesOf("text/plain")},
	}
}

// planOut is a plan as it was worked out.
type planOut struct {
	Cache string `header:"Cache-Control"`
	Body  fettle.Plan
}

func (a *API) addStored() {
	all := []string{bytesType, "application/json", "application/pdf", "image/jpeg", "image/png"}
	r := route{
		id: "get-stored", tag: "stored", call: "GET /api/stored/{sha256}", least: hand,
		summary: "A stored file",
		says:    "With ranges, and kept for ever by who asked: the address says what is in it. It comes as bytes to download, except that JSON, PDF, JPEG and PNG have their types where name and content agree.",
		fails:   []int{http.StatusNotFound}, answers: served("The file.", all...),
	}
	add(a, r, func(ctx context.Context, in *struct {
		SHA256 string `path:"sha256" pattern:"^[0-9a-f]{64}$" patternDescription:"a SHA-256 in lower-case hex"`
		Name   string `query:"name" maxLength:"1000" doc:"what the file is to be called"`
		Range  string `header:"Range" doc:"bytes=from-to"`
		Seen   string `header:"If-None-Match"`
	}) (*huma.StreamResponse, error) {
		return a.serve(ctx, in.SHA256, in.Name, forever)
	})

	add(a, route{
		id: "get-plan-itself", tag: "plans", call: "GET /api/plans/{id}/plan", least: hand,
		summary: "All that a plan says", says: "What plan.json of its papers holds. It never changes.", fails: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *ByID) (*planOut, error) {
		p, _, err := a.o.Shop.PlanOf(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		return &planOut{forever, *p}, nil
	})

	sheet := route{
		id: "get-sheet", tag: "plans", call: "GET /api/plans/{id}/sheet/{name...}", least: hand,
		summary: "A paper, picture or solid of a plan",
		says:    "By the name that it has in the plan's list of files; it may hold slashes.",
		fails:   []int{http.StatusNotFound}, answers: served("The file.", all...),
	}
	add(a, sheet, func(ctx context.Context, in *struct {
		ByID
		Name  string `path:"name" maxLength:"1000"`
		Range string `header:"Range" doc:"bytes=from-to"`
		Seen  string `header:"If-None-Match"`
	}) (*huma.StreamResponse, error) {
		rec, err := a.o.Shop.Get(ctx, fettle.KeptPlan, in.ID)
		if err != nil {
			return nil, err
		}
		plan, err := keep[fettle.PlanSheet](rec)
		if err != nil {
			return nil, err
		}
		for _, f := range plan.Body.Files {
			if f.Name == in.Name {
				return a.serve(ctx, f.SHA256, f.Name, revalidate)
			}
		}
		return nil, fettle.Errorf(fettle.NotFound, "the plan has no file %q; its list of files says what there is", in.Name)
	})
}
