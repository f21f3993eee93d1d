package api

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/shop"
)

func (a *API) addShelf() {
	add(a, route{
		id: "get-shelf", tag: "shelf", call: "GET /api/shelf", least: hand, summary: "The whole shelf",
		says: "One document, as the command line reads and writes it. Things one by one are at /api/shelf/materials and so on.",
	}, func(ctx context.Context, in *struct {
		Seen string `header:"If-None-Match"`
	}) (*shelfOut, error) {
		s, err := a.o.Shop.Shelf(ctx)
		if err != nil {
			return nil, err
		}
		o := &shelfOut{documentTag(s), *s}
		if anyTag(in.Seen, o.ETag) {
			return nil, huma.ErrorWithHeaders(huma.Status304NotModified(), http.Header{"Etag": {o.ETag}})
		}
		return o, nil
	})

	add(a, route{
		id: "take-shelf", tag: "shelf", call: "PUT /api/shelf", least: owner, most: mostShelf, summary: "Make the shelf as given",
		says:  "What is new is added, what differs changed, what is gone deleted, all at once or not at all. If-Match may name the shelf that was seen.",
		fails: []int{http.StatusConflict, http.StatusPreconditionFailed},
	}, func(ctx context.Context, in *struct {
		Match string `header:"If-Match" doc:"the ETag of the shelf that was seen; left out: whatever stands there is replaced"`
		Body  Given[fettle.Shelf]
	}) (*struct{ Body Taken }, error) {
		n, err := a.o.Shop.TakeShelf(ctx, a.by(ctx), &in.Body.Value, func(now *fettle.Shelf) error {
			if in.Match != "" && in.Match != documentTag(now) {
				return wrong(http.StatusPreconditionFailed, "header.If-Match", "the shelf was changed meanwhile; get it again and change that")
			}
			return nil
		})
		return &struct{ Body Taken }{Taken{n}}, err
	})

	add(a, route{id: "get-logbook", tag: "logbook", call: "GET /api/logbook", least: hand, summary: "Every run with its readings", says: "The oldest first."},
		func(ctx context.Context, _ *struct{}) (*struct{ Body fettle.Logbook }, error) {
			l, err := a.o.Shop.Logbook(ctx)
			return &struct{ Body fettle.Logbook }{l}, err
		})

	add(a, route{id: "get-what-was-learned", tag: "logbook", call: "GET /api/logbook/learned", least: hand, summary: "What the log says", says: "Worked out now; what it said before is in the history of /api/learned."},
		func(ctx context.Context, in *struct {
			Media string `query:"media" maxLength:"200" doc:"on the shelf; left out: all"`
		}) (*struct{ Body fettle.Learned }, error) {
			l, err := a.o.Shop.Learned(ctx, in.Media)
			if err != nil {
				return nil, err
			}
			return &struct{ Body fettle.Learned }{*l}, nil
		})

	add(a, route{id: "get-today", tag: "jobs", call: "GET /api/today", least: hand, summary: "What needs a hand now"},
		func(ctx context.Context, _ *struct{}) (*struct{ Body shop.Today }, error) {
			t, err := a.o.Shop.Today(ctx)
			if err != nil {
				return nil, err
			}
			return &struct{ Body shop.Today }{*t}, nil
		})

	add(a, route{id: "get-job-story", tag: "jobs", call: "GET /api/jobs/{id}/story", least: hand, summary: "All that is known of a job", says: "Its part, plans, offers, runs and history in one document.", fails: []int{http.StatusNotFound}},
		func(ctx context.Context, in *ByID) (*struct{ Body fettle.JobStory }, error) {
			s, err := a.o.Shop.JobStory(ctx, in.ID)
			if err != nil {
				return nil, err
			}
			return &struct{ Body fettle.JobStory }{*s}, nil
		})

	add(a, route{
		id: "judge-job", tag: "jobs", call: "GET /api/jobs/{id}/fit", least: hand, summary: "Whether a job is the shop's own",
		says: "Beside the shop's envelope. 409 while the model is still being surveyed.", fails: []int{http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *ByID) (*struct{ Body fettle.Fit }, error) {
		f, err := a.o.Shop.Judge(ctx, in.ID)
		return &struct{ Body fettle.Fit }{f}, err
	})
}

type shelfOut struct {
	ETag string `header:"ETag"`
	Body fettle.Shelf
}

// Taken is what became of a shelf that was sent.
type Taken struct {
	Changed int `json:"changed" doc:"things that were added, changed or deleted"`
}

// documentTag is the tag of a document that has no revision: its hash.
func documentTag(v any) string {
	sum := sha256.Sum256(document(v))
	return shaTag(hex.EncodeToString(sum[:16]))
}

// inForm is inBody for a body that is the document itself.
func inForm(err error, where map[string]string) error {
	err = inBody(err, where)
	var f *faulty
	if errors.As(err, &f) && len(f.field) > len("body.body.") && f.field[:len("body.body.")] == "body.body." {
		return &faulty{f.error, "body." + f.field[len("body.body."):]}
	}
	return err
}
