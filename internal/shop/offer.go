package shop

import (
	"context"
	"slices"
	"time"

	"fettle"
)

// OfferJob offers a job's finishes to its customer as a plan has them, and has the
// job wait for the answer. An empty plan is the job's own.
func (s *Shop) OfferJob(ctx context.Context, by, key, job, plan, words, until string) (fettle.Record, error) {
	var none fettle.Record
	// Without the day, the plan of then and where the job stood.
	asked := hash([]byte("offer job"), []byte(job), []byte(plan), []byte(words), []byte(until))
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return none, err
	}
	j, err := bodyOf[fettle.Job](rec)
	if err != nil {
		return none, err
	}
	if plan != "" {
		rec.Links = with(rec.Links, "plan", plan)
	}
	doc, sheet, err := s.planOfJob(ctx, rec)
	if err != nil {
		return none, err
	}
	if sheet.Links["job"] != job {
		return none, fettle.Errorf(fettle.Invalid, "plan %s was made for another job; plan this one", sheet.ID)
	}
	now := s.now()
	if until == "" {
		until = now.UTC().AddDate(0, 0, offerHoldsDays).Format(time.DateOnly)
	}
	body := fettle.Proposal{Offers: slices.Clone(doc.Offers), Sent: now.UTC().Format(time.DateOnly), Until: until, Words: words}
	offer := fettle.Record{ID: freshID(), Kind: fettle.KeptOffer, Links: map[string]string{"job": job, "plan": sheet.ID}}
	if offer.Files, err = s.offerPapers(ctx, rec, doc, sheet, &body, offer.ID); err != nil {
		return none, err
	}
	offer.Body = write(body)
	if err := s.judge(ctx, &offer); err != nil {
		return none, err
	}
	offer.Name = clip(j.Title)
	cs := []fettle.Change{{Act: fettle.Make, Record: offer}}
	if j.State == fettle.JobAsked {
		j.State = fettle.JobOffered
		rec.Links, rec.Body = with(rec.Links, "plan", sheet.ID), write(j)
		cs = append(cs, fettle.Change{Act: fettle.Alter, Record: rec})
	}
	return s.first(ctx, fettle.Edit{By: by, Key: key, Asked: asked, Changes: cs})
}

// first does an edit and returns its first record.
func (s *Shop) first(ctx context.Context, e fettle.Edit) (fettle.Record, error) {
	rs, err := s.store.Apply(ctx, e)
	if err != nil {
		return fettle.Record{}, err
	}
	return rs[0], nil
}

// AnswerOffer keeps the customer's word, and moves the job on.
func (s *Shop) AnswerOffer(ctx context.Context, by, offer string, rev int64, a fettle.Answer) (fettle.Record, error) {
	rec, err := s.store.Get(ctx, fettle.KeptOffer, offer)
	if err != nil {
		return rec, err
	}
	p, err := bodyOf[fettle.Proposal](rec)
	if err != nil {
		return rec, err
	}
	if a.Day == "" {
		a.Day = s.now().UTC().Format(time.DateOnly)
	}
	p.Answer = &a
	rec.Rev, rec.Body = rev, write(p)
	name := rec.Name
	if err := s.judge(ctx, &rec); err != nil {
		return rec, err
	}
	rec.Name = name
	cs := []fettle.Change{{Act: fettle.Alter, Record: rec}}
	job, err := s.store.Get(ctx, fettle.KeptJob, rec.Links["job"])
	if err != nil {
		return rec, err
	}
	j, err := bodyOf[fettle.Job](job)
	if err != nil {
		return rec, err
	}
	if j.State == fettle.JobAsked || j.State == fettle.JobOffered {
		j.State = fettle.JobNo
		if a.Accepted {
			j.State, j.Brief.Finish = fettle.JobAgreed, a.Look
			job.Body = write(j)
			if a.Sample != "" {
				if _, err := s.store.Get(ctx, fettle.KeptRun, a.Sample); err != nil {
					return rec, err
				}
			}
			// The word is kept also where the finish has no plan yet; what is right is then
			// settled when it has one.
			if j.Acceptance, err = s.acceptance(ctx, job, Sampled{Sample: a.Sample}); err != nil && fettle.CodeOf(err) != fettle.NotFound {
				return rec, err
			}
		}
		job.Body = write(j)
		moved := fettle.Change{Act: fettle.Alter, Record: job}
		freed, err := s.freed(ctx, moved)
		if err != nil {
			return rec, err
		}
		cs = append(append(cs, moved), freed...)
	}
	rec, err = s.first(ctx, fettle.Edit{By: by, Changes: cs})
	if err == nil && a.Accepted && j.State == fettle.JobAgreed {
		// The answer stands whatever comes of it; the job says when nothing is promised.
		_, _, _ = s.KeepPromise(ctx, by, job.ID, time.Time{}, true)
	}
	return rec, err
}

// with is links and one more.
func with(links map[string]string, role, id string) map[string]string {
	out := map[string]string{role: id}
	for k, v := range links {
		if k != role {
			out[k] = v
		}
	}
	return out
}
