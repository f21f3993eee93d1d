package api

import (
	"context"
	"fmt"
	"net/url"

	"github.com/danielgtaylor/huma/v2"

	"fettle/internal/work"
)

// PassAsked is a pass to be tried.
type PassAsked struct {
	ByID
	Zone       string  `query:"zone" required:"true" maxLength:"100" doc:"of the plan"`
	Cutter     string  `query:"cutter" required:"true" maxLength:"200" doc:"by its name, one of the plan's curves on the zone"`
	StepoverMM float64 `query:"stepover_mm" required:"true" exclusiveMinimum:"0" maximum:"100"`
	Crossed    bool    `query:"crossed" doc:"a second set of passes square to the first"`
}

func (p PassAsked) try() work.TryPass {
	return work.TryPass{Zone: p.Zone, Cutter: p.Cutter, StepoverMM: p.StepoverMM, Crossed: p.Crossed}
}

func (a *API) addTryPass() {
	fails := []int{404}
	add(a, route{
		id: "try-pass", tag: "plans", call: "GET /api/plans/{id}/pass", least: hand, summary: "What another pass would leave",
		says:  "Made tooth by tooth on a piece of the zone, as the plan's own pass was; a pass that takes too long for that comes as geometry has it, and says so. Nothing is kept.",
		fails: fails,
	}, func(ctx context.Context, in *PassAsked) (*struct{ Body work.TriedPass }, error) {
		t, picture, err := a.o.Shop.TryPass(ctx, in.ID, in.try())
		if err != nil {
			return nil, err
		}
		q := url.Values{"zone": {in.Zone}, "cutter": {in.Cutter}, "stepover_mm": {fmt.Sprint(in.StepoverMM)}, "crossed": {fmt.Sprint(in.Crossed)}}
		if picture != nil {
			q.Set("simulated", "true")
		}
		t.Picture = "/api/plans/" + url.PathEscape(in.ID) + "/pass/picture?" + q.Encode()
		return &struct{ Body work.TriedPass }{t}, nil
	})
	add(a, route{
		id: "picture-pass", tag: "plans", call: "GET /api/plans/{id}/pass/picture", least: hand, summary: "A close-up of what another pass would leave",
		says:  "Under the lamp of the plan's close-ups, at one exposure for all that is tried: the cusps drawn from the numbers, which is quick, or the simulated surface.",
		fails: fails, answers: map[string]*huma.Response{"200": {Description: "The picture.", Content: bytesOf("image/png")}},
	}, func(ctx context.Context, in *struct {
		PassAsked
		Simulated bool `query:"simulated"`
	}) (*huma.StreamResponse, error) {
		var data []byte
		var err error
		if in.Simulated {
			_, data, err = a.o.Shop.TryPass(ctx, in.ID, in.try())
		}
		if data == nil && err == nil {
			data, err = a.o.Shop.SketchPass(ctx, in.ID, in.try())
		}
		return made(data, "image/png", "pass.png", closed, err)
	})
}
