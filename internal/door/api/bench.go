package api

import (
	"context"
	"net/http"

	"fettle"
	"fettle/internal/shop"
)

func (a *API) addBench() {
	add(a, route{
		id: "get-job-steps", tag: "runs", call: "GET /api/jobs/{id}/steps", least: hand, summary: "The steps of a job and what was done of them",
		says:  "What a phone at the machine needs, by the plan of the finish that was agreed; at is the shop's own time.",
		fails: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *ByID) (*struct{ Body shop.Steps }, error) {
		s, err := a.o.Shop.Steps(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		return &struct{ Body shop.Steps }{*s}, nil
	})

	add(a, route{
		id: "resume-run", tag: "runs", call: "POST /api/runs/{id}/resume", least: hand, status: http.StatusOK,
		summary: "Take back that a run is over", says: "It runs on, and its hours come off the media again.", fails: changeFails,
	}, func(ctx context.Context, in *ByRevision) (*keptOut[fettle.Run], error) {
		rev, err := seen(in.Match)
		if err != nil {
			return nil, err
		}
		r, err := a.o.Shop.ResumeRun(ctx, a.by(ctx), in.ID, rev)
		return out[fettle.Run](r, a.changed(ctx, fettle.KeptRun, in.ID, rev, err), false)
	})
}
