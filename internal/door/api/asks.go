package api

import (
	"context"
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/shop"
)

// taskOut answers with a task that was asked for.
type taskOut struct {
	Location string `header:"Location" doc:"the task"`
	Body     fettle.Task
}

func asked(t fettle.Task, err error) (*taskOut, error) {
	if err != nil {
		return nil, err
	}
	return &taskOut{taskAt(t), t}, nil
}

func (a *API) addAsks() {
	add(a, route{
		id: "plan-job", tag: "jobs", call: "POST /api/jobs/{id}/plan", least: hand, status: http.StatusAccepted,
		summary: "Ask for a job's plan",
		says:    "From its brief, the model file that it links to, and shelf and log as they are. The task's result is {\"plan\": the id of the plan's record}. The same question is the same task.",
		fails:   []int{http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *struct {
		ByID
		Mill  string `query:"mill" maxLength:"200" doc:"on the shelf; left out: the first that holds the part"`
		Paper string `query:"paper" enum:"A4,Letter" doc:"of the traveler; left out: A4"`
	}) (*taskOut, error) {
		return asked(a.o.Shop.AskPlan(ctx, a.by(ctx), in.ID, in.Mill, in.Paper))
	})

	add(a, route{
		id: "learn", tag: "logbook", call: "POST /api/logbook/learn", least: hand, status: http.StatusAccepted,
		summary: "Ask for the log to be learned from", says: "It happens by itself after every reading.", fails: []int{http.StatusConflict},
	}, func(ctx context.Context, _ *struct{}) (*taskOut, error) {
		return asked(a.o.Shop.AskLearn(ctx, a.by(ctx)))
	})

	add(a, route{
		id: "prove-program", tag: "tasks", call: "POST /api/proofs", least: hand, status: http.StatusAccepted,
		summary: "Ask what an NC program will leave",
		says: "A form: the part \"setup\" (JSON, may be left out) comes before the part \"program\" (the file). " +
			"The task's result is {\"proof\": SHA-256 of the proof, \"picture\" and \"map\": of the surface, where a model file is named}, all at /api/stored/.",
		fails: []int{http.StatusConflict}, body: &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
			"multipart/form-data": {
				Schema: &huma.Schema{
					Type: "object", Required: []string{"program"},
					Properties: map[string]*huma.Schema{
						"setup":   Given[fettle.Setup]{}.Schema(a.huma.OpenAPI().Components.Schemas),
						"program": {Type: "string", Format: "binary", Description: "an NC program in the words of ISO 6983"},
					},
				},
				Encoding: map[string]*huma.Encoding{"setup": {ContentType: "application/json"}},
			},
		}},
	}, func(ctx context.Context, in *struct {
		Bare
		File string `query:"file" maxLength:"64" doc:"the id of the part's model file; left out: all but the surface is worked out"`
	}) (*taskOut, error) {
		setup, name, program, err := a.form(&in.Bare)
		if err != nil {
			return nil, err
		}
		t, err := a.o.Shop.AskProof(ctx, a.by(ctx), in.File, name, program, setup)
		return asked(t, program.or(err))
	})
}

// form reads a proof's form up to where the program begins.
func (a *API) form(b *Bare) (setup json.RawMessage, name string, program *sent, err error) {
	kind, params, err := mime.ParseMediaType(b.r.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/form-data" || params["boundary"] == "" {
		return nil, "", nil, wrong(http.StatusUnsupportedMediaType, "header.Content-Type", "send the program in a form, as multipart/form-data")
	}
	if b.r.ContentLength > shop.MostModel+mostJSON {
		return nil, "", nil, tooLarge(shop.MostModel)
	}
	form := multipart.NewReader(a.steady(b), params["boundary"])
	for {
		part, err := form.NextPart()
		if err == io.EOF {
			return nil, "", nil, wrong(http.StatusUnprocessableEntity, "body.program", "the form has no part \"program\"; send the NC program in it, after the set-up")
		}
		if err != nil {
			return nil, "", nil, brokenOff(err)
		}
		switch part.FormName() {
		case "setup":
			if setup, err = io.ReadAll(io.LimitReader(part, mostJSON+1)); err != nil {
				return nil, "", nil, brokenOff(err)
			}
			if len(setup) > mostJSON {
				return nil, "", nil, wrong(http.StatusRequestEntityTooLarge, "body.setup", "a set-up is no larger than 1 MiB")
			}
		case "program":
			return setup, part.FileName(), &sent{r: part, left: shop.MostModel, most: shop.MostModel}, nil
		default:
			return nil, "", nil, wrong(http.StatusUnprocessableEntity, "body."+part.FormName(), "the form has a part %q, which is not known; it has setup and program", part.FormName())
		}
	}
}
