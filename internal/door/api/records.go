package api

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
)

// Kept is a record with its body.
type Kept[T any] struct {
	ID      string            `json:"id" doc:"UUIDv7: sorts by when it was made"`
	Rev     int64             `json:"rev" doc:"from 1; the ETag"`
	Name    string            `json:"name" doc:"made from the body"`
	Links   map[string]string `json:"links" doc:"ids of other records, by role"`
	Files   map[string]string `json:"files" doc:"SHA-256 of stored files, by role"`
	Made    time.Time         `json:"made"`
	Changed time.Time         `json:"changed" doc:"when this revision was made"`
	By      string            `json:"by"`
	Deleted *time.Time        `json:"deleted,omitempty"`
	Body    T                 `json:"body"`
}

// keep reads a record. Keys that an older or newer program wrote are passed over.
func keep[T any](r fettle.Record) (Kept[T], error) {
	k := Kept[T]{ID: r.ID, Rev: r.Rev, Name: r.Name, Links: r.Links, Files: r.Files, Made: r.Made, Changed: r.Changed, By: r.By, Deleted: r.Deleted}
	if k.Links == nil {
		k.Links = map[string]string{}
	}
	if k.Files == nil {
		k.Files = map[string]string{}
	}
	if err := json.Unmarshal(r.Body, &k.Body); err != nil {
		return k, fettle.Errorf(fettle.BadFile, "%s %s was kept by a newer program or damaged; try fettle check", r.Kind, r.ID)
	}
	return k, nil
}

// Asked is a record as it is sent.
type Asked[T any] struct {
	Links map[string]string `json:"links,omitempty" doc:"ids of other records, by role"`
	Body  Given[T]          `json:"body"`
}

// Page is some records.
type Page[T any] struct {
	Records []Kept[T] `json:"records" nullable:"false"`
	Next    string    `json:"next,omitempty" doc:"ask again with after set to this; left out on the last page"`
}

// keptOut answers with a record.
type keptOut[T any] struct {
	ETag     string `header:"ETag" doc:"the revision, in quotes"`
	Location string `header:"Location" doc:"of a record that was made"`
	Body     Kept[T]
}

// out is a record's answer; made says that it is new.
func out[T any](r fettle.Record, err error, made bool) (*keptOut[T], error) {
	if err != nil {
		return nil, err
	}
	k, err := keep[T](r)
	if err != nil {
		return nil, err
	}
	o := &keptOut[T]{ETag: revTag(r.Rev), Body: k}
	if made {
		o.Location = pathOf(r.Kind) + "/" + r.ID
	}
	return o, nil
}

// ByID is an operation on one record or task. Inputs that others are made of are exported
// because huma looks into those only.
type ByID struct {
	ID string `path:"id" maxLength:"64"`
}

type getIn struct {
	ByID
	Seen string `header:"If-None-Match" doc:"answers 304 where the revision is still this one"`
}

type listIn struct {
	Limit   int    `query:"limit" minimum:"0" maximum:"1000" doc:"0: 100"`
	After   string `query:"after" maxLength:"64" doc:"next of the page before"`
	Newest  bool   `query:"newest" doc:"the newest first"`
	Deleted bool   `query:"deleted" doc:"those that were deleted, and only those"`
	Name    string `query:"name" maxLength:"200" doc:"those of this name, compared without case, spaces, hyphens and underscores"`
	Role    string `query:"role" maxLength:"40" doc:"with target: those that link to a record in this role"`
	Target  string `query:"target" maxLength:"64" doc:"the id of that record"`
}

// ByKey is one that happens once, however often it is asked for.
type ByKey struct {
	Key string `header:"Idempotency-Key" maxLength:"200" doc:"your own name for this; asked again with the same it happens once"`
}

// ByRevision is a change of the revision that was seen.
type ByRevision struct {
	ByID
	Match string `header:"If-Match" doc:"the ETag of the revision that was seen"`
}

// records adds the operations on one kind of records.
func records[T any](a *API, k kind) {
	path, tag := pathOf(k.kind), k.path
	id := func(verb string) string { return verb + "-" + strings.ReplaceAll(k.path, "/", "-") }
	if strings.HasPrefix(k.path, "shelf/") {
		tag = "shelf"
	}

	add(a, route{id: id("list"), tag: tag, call: "GET " + path, least: hand, summary: "List " + k.many, says: "Sorted by when they were made, a page at a time."},
		func(ctx context.Context, in *listIn) (*struct{ Body Page[T] }, error) {
			if (in.Role == "") != (in.Target == "") {
				return nil, wrong(http.StatusUnprocessableEntity, "query.role", "role and target go together: the one says how, the other to which record")
			}
			page, err := a.o.Shop.List(ctx, fettle.Query{Kind: k.kind, Role: in.Role, Target: in.Target, Name: in.Name, Deleted: in.Deleted, Newest: in.Newest, After: in.After, Limit: in.Limit})
			if err != nil {
				return nil, err
			}
			o := &struct{ Body Page[T] }{Page[T]{Records: []Kept[T]{}, Next: page.Next}}
			for _, r := range page.Records {
				one, err := keep[T](r)
				if err != nil {
					return nil, err
				}
				o.Body.Records = append(o.Body.Records, one)
			}
			return o, nil
		})

	add(a, route{id: id("get"), tag: tag, call: "GET " + path + "/{id}", least: hand, summary: "Get " + k.one, says: "In its last revision, deleted or not.", fails: []int{http.StatusNotFound}},
		func(ctx context.Context, in *getIn) (*keptOut[T], error) {
			r, err := a.o.Shop.Get(ctx, k.kind, in.ID)
			if err == nil && anyTag(in.Seen, revTag(r.Rev)) {
				return nil, huma.ErrorWithHeaders(huma.Status304NotModified(), http.Header{"Etag": {revTag(r.Rev)}})
			}
			return out[T](r, err, false)
		})

	add(a, route{id: id("history-of"), tag: tag, call: "GET " + path + "/{id}/history", least: hand, summary: "Every revision of " + k.one, says: "The oldest first.", fails: []int{http.StatusNotFound}},
		func(ctx context.Context, in *ByID) (*struct{ Body []Kept[T] }, error) {
			rs, err := a.o.Shop.History(ctx, k.kind, in.ID)
			if err != nil {
				return nil, err
			}
			o := &struct{ Body []Kept[T] }{Body: []Kept[T]{}}
			for _, r := range rs {
				one, err := keep[T](r)
				if err != nil {
					return nil, err
				}
				o.Body = append(o.Body, one)
			}
			return o, nil
		})

	var where map[string]string // keys of the body, for what is at fault
	if k.make != "" || !k.fixed {
		where = places(a.huma.OpenAPI().Components.Schemas, Given[T]{}.Schema(a.huma.OpenAPI().Components.Schemas))
	}
	if k.make != "" {
		add(a, route{id: id("make"), tag: tag, call: "POST " + path, least: k.make, status: http.StatusCreated, summary: "Make " + k.one, fails: []int{http.StatusConflict}},
			func(ctx context.Context, in *struct {
				ByKey
				Body Asked[T]
			}) (*keptOut[T], error) {
				r, err := a.o.Shop.Make(ctx, a.by(ctx), in.Key, fettle.Record{Kind: k.kind, Links: in.Body.Links, Body: document(in.Body.Body.Value)})
				return out[T](r, inBody(err, where), true)
			})
	}
	mend := k.mend
	if mend == "" {
		mend = owner
	}
	if !k.fixed {
		add(a, route{id: id("alter"), tag: tag, call: "PUT " + path + "/{id}", least: mend, summary: "Alter " + k.one, says: "Links and body are replaced; stored files stay.", fails: changeFails},
			func(ctx context.Context, in *struct {
				ByRevision
				Body Asked[T]
			}) (*keptOut[T], error) {
				rev, err := seen(in.Match)
				if err != nil {
					return nil, err
				}
				was, err := a.o.Shop.Get(ctx, k.kind, in.ID)
				if err != nil {
					return nil, err
				}
				if was.Rev != rev {
					return nil, stale(was.Rev)
				}
				r, err := a.o.Shop.Alter(ctx, a.by(ctx), fettle.Record{Kind: k.kind, ID: in.ID, Rev: rev, Name: was.Name, Links: in.Body.Links, Files: was.Files, Body: document(in.Body.Body.Value)})
				return out[T](r, a.changed(ctx, k.kind, in.ID, rev, inBody(err, where)), false)
			})
	}
	for _, c := range []struct {
		id, call, summary, says string
		do                      func(ctx context.Context, by string, kind fettle.RecordKind, id string, rev int64) (fettle.Record, error)
	}{
		{id("delete"), "DELETE " + path + "/{id}", "Delete " + k.one, "It can be brought back.", a.o.Shop.Delete},
		{id("undo"), "POST " + path + "/{id}/undo", "Undo the last change of " + k.one, "Back to the revision before, and back from deletion.", a.o.Shop.Undo},
	} {
		add(a, route{id: c.id, tag: tag, call: c.call, least: mend, status: http.StatusOK, summary: c.summary, says: c.says, fails: changeFails},
			func(ctx context.Context, in *ByRevision) (*keptOut[T], error) {
				rev, err := seen(in.Match)
				if err != nil {
					return nil, err
				}
				r, err := c.do(ctx, a.by(ctx), k.kind, in.ID, rev)
				return out[T](r, a.changed(ctx, k.kind, in.ID, rev, err), false)
			})
	}
}

func (a *API) addRecords() {
	for _, k := range kinds {
		k.add(a, k)
	}
}

// document is a value as the shop takes it. What came in as JSON goes out as JSON.
func document(v any) json.RawMessage {
	b, err := json.Marshal(v)
	if err != nil {
		panic("api: " + err.Error())
	}
	return b
}
