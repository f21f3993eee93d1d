package api

import (
	"context"
	"net/http"
	"time"

	"fettle"
)

// Offering is what an offer is made of.
type Offering struct {
	Plan  string `json:"plan,omitempty" maxLength:"64" doc:"left out: the job's own, or its newest"`
	Words string `json:"words,omitempty" maxLength:"10000" doc:"to the customer"`
	Until string `json:"until,omitempty" maxLength:"10" doc:"the day it holds until, such as 2026-03-31"`
}

// Ending is how a run ended.
type Ending struct {
	Hours float64    `json:"hours,omitempty" minimum:"0" maximum:"2000" doc:"that it ran; left out: since it was begun"`
	Ended *time.Time `json:"ended,omitempty" doc:"left out: now"`
}

func (a *API) addOffers() {
	registry := a.huma.OpenAPI().Components.Schemas
	answers := places(registry, Given[fettle.Answer]{}.Schema(registry))
	runs := places(registry, Given[fettle.Run]{}.Schema(registry))
	readings := places(registry, Given[fettle.Reading]{}.Schema(registry))

	add(a, route{
		id: "make-sample-job", tag: "jobs", call: "POST /api/sample-job", least: owner, status: http.StatusCreated,
		summary: "Make the sample job", says: "The escutcheon plate of an invented shop, to try everything with. Asked again, it answers with the one that there is.",
	}, func(ctx context.Context, _ *struct{}) (*keptOut[fettle.Job], error) {
		r, err := a.o.Shop.Sample(ctx, a.by(ctx))
		return out[fettle.Job](r, err, true)
	})

	add(a, route{
		id: "make-offer", tag: "offers", call: "POST /api/jobs/{id}/offers", least: owner, status: http.StatusCreated,
		summary: "Offer a job's finishes to its customer", says: "As a plan has them; the job then waits for the answer.",
		fails: []int{http.StatusNotFound, http.StatusConflict}, fills: "links.job",
	}, func(ctx context.Context, in *struct {
		ByID
		ByKey
		Body Offering
	}) (*keptOut[fettle.Proposal], error) {
		r, err := a.o.Shop.OfferJob(ctx, a.by(ctx), in.Key, in.ID, in.Body.Plan, in.Body.Words, in.Body.Until)
		return out[fettle.Proposal](r, inForm(err, map[string]string{"until": "until"}), true)
	})

	add(a, route{
		id: "answer-offer", tag: "offers", call: "POST /api/offers/{id}/answer", least: owner, status: http.StatusOK,
		summary: "Keep the customer's word", says: "The job moves on with it.", fails: changeFails,
	}, func(ctx context.Context, in *struct {
		ByRevision
		Body Given[fettle.Answer]
	}) (*keptOut[fettle.Proposal], error) {
		rev, err := seen(in.Match)
		if err != nil {
			return nil, err
		}
		r, err := a.o.Shop.AnswerOffer(ctx, a.by(ctx), in.ID, rev, in.Body.Value)
		return out[fettle.Proposal](r, a.changed(ctx, fettle.KeptOffer, in.ID, rev, inForm(err, answers)), false)
	})

	add(a, route{
		id: "make-reading", tag: "runs", call: "POST /api/runs/{id}/readings", least: hand, status: http.StatusCreated,
		summary: "Add a reading to a run", says: "What it teaches is worked out by itself.",
		fails: []int{http.StatusNotFound, http.StatusConflict}, fills: "links.run",
	}, func(ctx context.Context, in *struct {
		ByID
		ByKey
		Body Given[fettle.Reading]
	}) (*keptOut[fettle.Reading], error) {
		r, err := a.o.Shop.AddReading(ctx, a.by(ctx), in.Key, in.ID, in.Body.Value)
		return out[fettle.Reading](r, inForm(err, readings), true)
	})

	add(a, route{
		id: "start-run", tag: "runs", call: "POST /api/jobs/{id}/runs", least: hand, status: http.StatusCreated,
		summary: "Begin a step of a job's plan", says: "The step says what is not given: kind, material, media, vessel, grit, tone, pieces. It begins now unless started says when.",
		fails: []int{http.StatusNotFound, http.StatusConflict}, fills: "links.job",
	}, func(ctx context.Context, in *struct {
		ByID
		ByKey
		Body Given[fettle.Run]
	}) (*keptOut[fettle.Run], error) {
		r, err := a.o.Shop.StartRun(ctx, a.by(ctx), in.Key, in.ID, in.Body.Value)
		return out[fettle.Run](r, inForm(err, runs), true)
	})

	add(a, route{
		id: "end-run", tag: "runs", call: "POST /api/runs/{id}/end", least: hand, status: http.StatusOK,
		summary: "Say that a run is over", says: "The hours go on the media that it wore. With the same ended again it answers as it did.", fails: []int{http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *struct {
		ByID
		Body Ending
	}) (*keptOut[fettle.Run], error) {
		at := time.Now()
		if in.Body.Ended != nil {
			at = *in.Body.Ended
		}
		r, err := a.o.Shop.EndRun(ctx, a.by(ctx), in.ID, in.Body.Hours, at)
		if in.Body.Ended != nil && fettle.CodeOf(err) == fettle.Conflict {
			r, err = a.endedAlready(ctx, in.ID, in.Body, err)
		}
		return out[fettle.Run](r, err, false)
	})
}
