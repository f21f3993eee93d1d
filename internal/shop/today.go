package shop

import (
	"context"
	"slices"
	"strings"
	"time"

	"fettle"
)

// Today is what needs a hand now.
type Today struct {
	At time.Time `json:"at"`
	// Running are runs that have begun and not ended, Waiting offers without an
	// answer, Jobs those that are not shipped, the soonest promised first.
	Running []Now `json:"running"`
	Waiting []Now `json:"waiting"`
	Jobs    []Now `json:"jobs"`
}

// Now is one thing that needs a hand.
type Now struct {
	ID    string          `json:"id"`
	Title string          `json:"title"`
	State fettle.JobState `json:"state,omitempty"`
	Due   string          `json:"due,omitempty"`
	// Of a run: the step, the vessel and the hours gone.
	Job    string  `json:"job,omitempty"`
	Step   string  `json:"step,omitempty"`
	Vessel string  `json:"vessel,omitempty"`
	GoneH  float64 `json:"gone_h,omitempty"`
	// LookInH is in how many hours to look next, below 0 for late; nil where the plan
	// does not say.
	LookInH *float64 `json:"look_in_h,omitempty"`
}

// Today lists what needs a hand.
func (s *Shop) Today(ctx context.Context) (*Today, error) {
	t := &Today{At: s.now().UTC(), Running: []Now{}, Waiting: []Now{}, Jobs: []Now{}}
	runs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptRun})
	if err != nil {
		return nil, err
	}
	for _, r := range runs {
		run, err := bodyOf[fettle.Run](r)
		if err != nil {
			return nil, err
		}
		began, err := time.Parse(time.RFC3339, run.Started)
		if err != nil || run.Ended != "" {
			continue
		}
		n := Now{ID: r.ID, Title: r.Name, Job: r.Links["job"], Step: run.Step, Vessel: run.Vessel, GoneH: t.At.Sub(began).Hours()}
		if looks := s.looksOf(ctx, r); len(looks) > 0 {
			next := looks[len(looks)-1]
			if i := slices.IndexFunc(looks, func(h float64) bool { return h >= n.GoneH }); i >= 0 {
				next = looks[i]
			}
			in := next - n.GoneH
			n.LookInH = &in
		}
		t.Running = append(t.Running, n)
	}
	offers, err := s.all(ctx, fettle.Query{Kind: fettle.KeptOffer})
	if err != nil {
		return nil, err
	}
	jobs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptJob})
	if err != nil {
		return nil, err
	}
	title := map[string]string{}
	for _, r := range jobs {
		j, err := bodyOf[fettle.Job](r)
		if err != nil {
			return nil, err
		}
		title[r.ID] = j.Title
		if j.State != fettle.JobShipped && j.State != fettle.JobNo {
			t.Jobs = append(t.Jobs, Now{ID: r.ID, Title: j.Title, State: j.State, Due: j.Due})
		}
	}
	for _, r := range offers {
		p, err := bodyOf[fettle.Proposal](r)
		if err != nil {
			return nil, err
		}
		if p.Answer == nil {
			t.Waiting = append(t.Waiting, Now{ID: r.ID, Title: title[r.Links["job"]], Job: r.Links["job"], Due: p.Until})
		}
	}
	slices.SortStableFunc(t.Jobs, func(a, b Now) int { return strings.Compare(undated(a.Due), undated(b.Due)) })
	return t, nil
}

// undated sorts what has no date last.
func undated(day string) string {
	if day == "" {
		return "9999"
	}
	return day
}

// looksOf are the hours at which the plan of a run has it looked at.
func (s *Shop) looksOf(ctx context.Context, run fettle.Record) []float64 {
	body, err := bodyOf[fettle.Run](run)
	if err != nil || body.Step == "" || run.Links["plan"] == "" {
		return nil
	}
	plan, _, err := s.PlanOf(ctx, run.Links["plan"])
	if err != nil {
		return nil
	}
	for _, st := range plan.Route {
		if st.Key == body.Step && st.Charge != nil {
			return st.Charge.LooksH
		}
	}
	return nil
}
