package api

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"fettle"
	"fettle/internal/shop"
)

// LookedAt is that somebody looked.
type LookedAt struct {
	AtH float64 `json:"at_h" minimum:"0" maximum:"2000" doc:"hours since the run began"`
}

func (a *API) addBench() {
	add(a, route{
		id: "look-at-run", tag: "runs", call: "POST /api/runs/{id}/looked", least: hand, status: http.StatusOK,
		summary: "Say that somebody looked at a run", says: "The next look is then due. An earlier look changes nothing; a reading is a look by itself.",
		fails: []int{http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *struct {
		ByID
		Body LookedAt
	}) (*keptOut[fettle.Run], error) {
		r, err := a.o.Shop.Looked(ctx, a.by(ctx), in.ID, in.Body.AtH)
		return out[fettle.Run](r, err, false)
	})

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

// endedAlready is the run where it ended just as is said now: it was said before, and the
// answer did not arrive. Else no is the error.
func (a *API) endedAlready(ctx context.Context, id string, e Ending, no error) (fettle.Record, error) {
	r, err := a.o.Shop.Get(ctx, fettle.KeptRun, id)
	if err != nil {
		return r, no
	}
	var run fettle.Run
	if err := json.Unmarshal(r.Body, &run); err != nil {
		return r, err
	}
	if run.Ended != e.Ended.UTC().Format(time.RFC3339) || e.Hours != 0 && e.Hours != run.HoursRun {
		return r, no
	}
	return r, nil
}
