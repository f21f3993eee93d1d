package api

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"reflect"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/shop"
)

// ByModel is a question about a model file and what is said about it.
type ByModel struct {
	ByID
	Units string `query:"units" maxLength:"20" doc:"of the model where it does not say: mm, inch, m"`
	Of    string `query:"body" maxLength:"200" doc:"of the file where it holds several: its name or number"`
	Seen  string `header:"If-None-Match"`
}

// Reached is where media get on a part.
type Reached struct {
	Reach fettle.Reach `json:"reach"`
	// Values are buffers, by media.
	Values map[string]string `json:"values" doc:"SHA-256 of a buffer for each media: values at the corners of the part's mesh, at /api/stored/"`
}

// answerFails are what an answer that a task gives may fail with.
var answerFails = []int{http.StatusNotFound, http.StatusConflict, http.StatusInsufficientStorage}

// either describes an answer that is there, or the task that works it out.
func (a *API) either(says string, there map[string]*huma.MediaType) map[string]*huma.Response {
	return map[string]*huma.Response{
		"200": {Description: says, Content: there, Headers: map[string]*huma.Param{"ETag": text("SHA-256 of the answer, in quotes")}},
		"202": a.accepted(),
		"304": {Description: "It is what If-None-Match says."},
	}
}

// accepted describes a task that was asked for.
func (a *API) accepted() *huma.Response {
	return &huma.Response{
		Description: "It is being worked out; the task tells how far it is.",
		Headers:     map[string]*huma.Param{"Location": text("the task"), "Retry-After": text("seconds")},
		Content:     a.jsonOf(reflect.TypeFor[fettle.Task]()),
	}
}

// jsonOf describes a JSON document.
func (a *API) jsonOf(t reflect.Type) map[string]*huma.MediaType {
	return map[string]*huma.MediaType{"application/json": {Schema: a.huma.OpenAPI().Components.Schemas.Schema(t, true, "")}}
}

// answered writes what a task answered, or tells of the task. done is asked once
// it is over.
func answered[T any](t fettle.Task, done func(T) (*huma.StreamResponse, error)) (*huma.StreamResponse, error) {
	switch t.State {
	case fettle.Done:
		var v T
		if err := json.Unmarshal(t.Result, &v); err != nil {
			return nil, err
		}
		return done(v)
	case fettle.Failed:
		return nil, fettle.Errorf(fettle.BadFile, "%s", t.Why)
	case fettle.Stopped, fettle.Parked:
		p := problem(http.StatusConflict, fettle.Conflict, "the task that works this out is "+string(t.State)+"; ask for it again with POST "+taskAt(t)+"/again")
		return nil, huma.ErrorWithHeaders(p, http.Header{"Location": {taskAt(t)}})
	}
	return written(func(w http.ResponseWriter, _ *http.Request) { writeTask(w, t) }), nil
}

func taskAt(t fettle.Task) string { return "/api/tasks/" + t.ID }

// writeTask tells of a task that was asked for.
func writeTask(w http.ResponseWriter, t fettle.Task) {
	w.Header().Set("Location", taskAt(t))
	w.Header().Set("Retry-After", "1")
	writeJSON(w, http.StatusAccepted, t)
}

func (a *API) addAnswers() {
	const says = "Worked out once for the same file; until it is there the answer is 202 with the task."
	add(a, route{
		id: "survey-file", tag: "files", call: "GET /api/files/{id}/survey", least: hand,
		summary: "What a model file is", says: says, fails: answerFails,
		answers: a.either("The survey.", a.jsonOf(reflect.TypeFor[fettle.Survey]())),
	}, func(ctx context.Context, in *ByModel) (*huma.StreamResponse, error) {
		t, err := a.o.Shop.AskSurvey(ctx, a.by(ctx), in.ID, in.Units, in.Of)
		if err != nil {
			return nil, err
		}
		return answered(t, func(s shop.SurveyAnswer) (*huma.StreamResponse, error) {
			return a.serve(ctx, s.Survey, "survey.json", revalidate)
		})
	})
	add(a, route{
		id: "mesh-file", tag: "files", call: "GET /api/files/{id}/mesh", least: hand,
		summary: "The mesh of a model file", says: says + " A buffer; see the description of this API. With most it is made coarser where it has more triangles, in a task of its own.", fails: answerFails,
		answers: a.either("The mesh.", bytesOf(bytesType)),
	}, func(ctx context.Context, in *struct {
		ByModel
		AtMost
	}) (*huma.StreamResponse, error) {
		t, err := a.o.Shop.AskSurvey(ctx, a.by(ctx), in.ID, in.Units, in.Of)
		if err != nil {
			return nil, err
		}
		return answered(t, func(s shop.SurveyAnswer) (*huma.StreamResponse, error) {
			return a.coarse(ctx, s.Mesh, in.Most)
		})
	})
	add(a, route{
		id: "reach-file", tag: "files", call: "GET /api/files/{id}/reach", least: hand,
		summary: "Where media get on a part", says: says, fails: answerFails,
		answers: a.either("Where they get.", a.jsonOf(reflect.TypeFor[Reached]())),
	}, func(ctx context.Context, in *struct {
		ByModel
		Media []string `query:"media" maxItems:"100" doc:"on the shelf, by name, with commas between; left out: all"`
	}) (*huma.StreamResponse, error) {
		t, err := a.o.Shop.AskReach(ctx, a.by(ctx), in.ID, in.Units, in.Of, in.Media)
		if err != nil {
			return nil, err
		}
		return answered(t, func(s shop.ReachAnswer) (*huma.StreamResponse, error) {
			if anyTag(in.Seen, shaTag(s.Reach)) {
				return nil, huma.ErrorWithHeaders(huma.Status304NotModified(), http.Header{"Etag": {shaTag(s.Reach)}})
			}
			doc, err := a.stored(ctx, s.Reach)
			if err != nil {
				return nil, err
			}
			return written(func(w http.ResponseWriter, _ *http.Request) {
				w.Header().Set("ETag", shaTag(s.Reach))
				writeJSON(w, http.StatusOK, struct {
					Reach  json.RawMessage   `json:"reach"`
					Values map[string]string `json:"values"`
				}{doc, s.Values})
			}), nil
		})
	})
}

// stored is a stored document.
func (a *API) stored(ctx context.Context, sha string) (json.RawMessage, error) {
	f, _, err := a.o.Shop.OpenStored(ctx, sha)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(f)
}
