package api

import (
	"bytes"
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/shop"
)

// Promising is from when a job is reckoned.
type Promising struct {
	From *time.Time `json:"from,omitempty" doc:"when work may begin; left out: now"`
	Move bool       `json:"move,omitempty" doc:"the job is then due on the day"`
}

// Sampling is how a lot is to be looked at.
type Sampling struct {
	Sample string  `json:"sample,omitempty" maxLength:"64" doc:"the run that made the piece which the customer signed off, by id"`
	Level  string  `json:"level,omitempty" enum:"S1,S2,S3,S4,I,II,III" doc:"of inspection (ISO 2859-1); left out: II"`
	AQL    float64 `json:"aql,omitempty" minimum:"0" maximum:"10" doc:"% nonconforming; left out: 1.0"`
}

// Measured is a line of a first-article record.
type Measured struct {
	Line     int     `json:"line" minimum:"1" maximum:"10000"`
	Measured float64 `json:"measured" minimum:"-1000000" maximum:"1000000"`
}

// Looked is what was found in a lot.
type Looked struct {
	Looked int `json:"looked,omitempty" minimum:"0" maximum:"1000000" doc:"pieces; left out: as many as the plan wants"`
	Bad    int `json:"bad" minimum:"0" maximum:"1000000" doc:"pieces that failed"`
}

// promisedOut answers with a promise, and the record where it is kept.
type promisedOut struct {
	Location string `header:"Location" doc:"the promise's record"`
	Body     *fettle.Promise
}

func (a *API) addAgreed() {
	unsettled := []int{http.StatusNotFound, http.StatusConflict}
	add(a, route{
		id: "reckon-promise", tag: "jobs", call: "GET /api/jobs/{id}/promise", least: hand, status: http.StatusOK,
		summary: "When a job can be ready, and why not sooner", says: "Around all that was promised to others. Nothing is kept.", fails: unsettled,
	}, func(ctx context.Context, in *struct {
		ByID
		From time.Time `query:"from" doc:"when work may begin; left out: now"`
	}) (*struct{ Body *fettle.Promise }, error) {
		p, err := a.o.Shop.Promise(ctx, in.ID, in.From)
		if err != nil {
			return nil, err
		}
		return &struct{ Body *fettle.Promise }{p}, nil
	})

	add(a, route{
		id: "keep-promise", tag: "jobs", call: "POST /api/jobs/{id}/promise", least: owner, status: http.StatusCreated,
		summary: "Promise a job", says: "What it takes is taken from then on; an earlier promise of the job gives its times back.", fails: unsettled,
	}, func(ctx context.Context, in *struct {
		ByID
		Body Promising
	}) (*promisedOut, error) {
		var from time.Time
		if in.Body.From != nil {
			from = *in.Body.From
		}
		r, p, err := a.o.Shop.KeepPromise(ctx, a.by(ctx), in.ID, from, in.Body.Move)
		if err != nil {
			return nil, err
		}
		return &promisedOut{pathOf(r.Kind) + "/" + r.ID, p}, nil
	})

	add(a, route{
		id: "get-calendar", tag: "jobs", call: "GET /api/jobs/{id}/promise.ics", least: hand,
		summary: "What was promised, for a calendar", says: "Steps and looks, as iCalendar (RFC 5545).", fails: unsettled,
		answers: map[string]*huma.Response{"200": {Description: "The calendar.", Content: bytesOf("text/calendar")}},
	}, func(ctx context.Context, in *struct{ ByID }) (*huma.StreamResponse, error) {
		data, err := a.o.Shop.Calendar(ctx, in.ID)
		return made(data, "text/calendar; charset=utf-8", a.called(ctx, fettle.KeptJob, in.ID, "promise", ".ics"), closed, err)
	})

	add(a, route{
		id: "accept-sample", tag: "jobs", call: "POST /api/jobs/{id}/acceptance", least: owner, status: http.StatusOK,
		summary: "Say what is right for a job's lot", says: "From the readings of the sample that was signed off, with a sampling plan and the lines of the first article.", fails: unsettled,
	}, func(ctx context.Context, in *struct {
		ByID
		Body Sampling
	}) (*struct{ Body *fettle.Acceptance }, error) {
		_, acc, err := a.o.Shop.Accept(ctx, a.by(ctx), in.ID, shop.Sampled{Sample: in.Body.Sample, Level: in.Body.Level, AQL: in.Body.AQL})
		if err != nil {
			return nil, err
		}
		return &struct{ Body *fettle.Acceptance }{acc}, nil
	})

	add(a, route{
		id: "measure-first-article", tag: "jobs", call: "POST /api/jobs/{id}/first-article", least: hand, status: http.StatusOK,
		summary: "Keep what was measured on the first article", fails: unsettled,
	}, func(ctx context.Context, in *struct {
		ByID
		Body Measured
	}) (*struct{ Body *fettle.Acceptance }, error) {
		_, acc, err := a.o.Shop.FirstArticle(ctx, a.by(ctx), in.ID, in.Body.Line, in.Body.Measured)
		if err != nil {
			return nil, err
		}
		return &struct{ Body *fettle.Acceptance }{acc}, nil
	})

	add(a, route{
		id: "check-lot", tag: "jobs", call: "POST /api/jobs/{id}/checks", least: hand, status: http.StatusCreated,
		summary: "Keep what was found when the lot was looked at", says: "By its sampling plan the lot is taken or not.", fails: unsettled,
	}, func(ctx context.Context, in *struct {
		ByID
		ByKey
		Body Looked
	}) (*struct{ Body *fettle.LotCheck }, error) {
		_, c, err := a.o.Shop.CheckLotOnce(ctx, a.by(ctx), in.Key, in.ID, in.Body.Looked, in.Body.Bad)
		if err != nil {
			return nil, err
		}
		return &struct{ Body *fettle.LotCheck }{c}, nil
	})

	a.addPapers(unsettled)
}

// Printed is a paper that is made when it is asked for.
type Printed struct {
	Paper string `query:"paper" enum:"A4,Letter" doc:"left out: that of the plan"`
}

// addPapers are the papers of a job and what goes to its customer.
func (a *API) addPapers(unsettled []int) {
	pdf := map[string]*huma.Response{"200": {Description: "The paper.", Content: bytesOf("application/pdf")}}
	policy := shown[2].policy
	add(a, route{
		id: "get-traveler", tag: "jobs", call: "GET /api/jobs/{id}/traveler", least: hand, summary: "A job's traveler, as it is now",
		says: "With the days promised, what is right, and codes that open the pages of its steps.", fails: unsettled, answers: pdf,
	}, func(ctx context.Context, in *struct {
		ByID
		Printed
		Money bool `query:"money" doc:"with what it costs"`
	}) (*huma.StreamResponse, error) {
		if in.Money && a.who(ctx).rank() < owner.rank() {
			return nil, fettle.Errorf(fettle.Denied, "what a job costs is for the owner to print; leave money out")
		}
		data, err := a.o.Shop.Traveler(ctx, in.ID, shop.Papers{Size: in.Paper, Base: a.o.Base, Money: in.Money})
		return made(data, "application/pdf", a.called(ctx, fettle.KeptJob, in.ID, "traveler", ".pdf"), policy, err)
	})
	add(a, route{
		id: "get-first-article", tag: "jobs", call: "GET /api/jobs/{id}/first-article", least: hand, summary: "The paper of a job's first article",
		says: "With the limits, the sampling plan and lines to fill in.", fails: unsettled, answers: pdf,
	}, func(ctx context.Context, in *struct {
		ByID
		Printed
	}) (*huma.StreamResponse, error) {
		data, err := a.o.Shop.FirstArticlePaper(ctx, in.ID, shop.Papers{Size: in.Paper, Base: a.o.Base})
		return made(data, "application/pdf", a.called(ctx, fettle.KeptJob, in.ID, "first-article", ".pdf"), policy, err)
	})
	for _, f := range []struct{ id, role, says, ending, mime, policy string }{
		{"get-offer-page", "page", "What goes to the customer, as a page", ".html", "text/html; charset=utf-8",
			"default-src 'none'; img-src data:; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'"},
		{"get-offer-paper", "paper", "What goes to the customer, on paper", ".pdf", "application/pdf", policy},
	} {
		add(a, route{
			id: f.id, tag: "offers", call: "GET /api/offers/{id}/" + f.role, least: owner, summary: f.says,
			says: "As it was made when the offer was.", fails: unsettled,
			answers: map[string]*huma.Response{"200": {Description: "The file.", Content: bytesOf(f.mime)}},
		}, func(ctx context.Context, in *struct{ ByID }) (*huma.StreamResponse, error) {
			data, err := a.o.Shop.OfferFile(ctx, in.ID, f.role)
			return made(data, f.mime, a.called(ctx, fettle.KeptOffer, in.ID, "offer", f.ending), f.policy, err)
		})
	}
}

// made answers with a file that the shop made itself.
func made(data []byte, kind, name, policy string, err error) (*huma.StreamResponse, error) {
	if err != nil {
		return nil, err
	}
	return written(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Type", kind)
		h.Set("Content-Disposition", disposition(true, name))
		h.Set("Content-Security-Policy", policy)
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
	}), nil
}
