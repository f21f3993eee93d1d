package shop

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fettle"
	"fettle/internal/work"
)

// NewJob is what a job begins with.
type NewJob struct {
	File      string // the model's name
	Model     io.Reader
	BriefFile string // JSON; may be empty
	Over      fettle.Brief
	Title     string
	Customer  string // by name; kept anew if there is none
	Due       string
}

// NewJob keeps a model, the part it is of and a job for it. Nothing is kept but
// the model's bytes if the brief cannot be taken.
func (s *Shop) NewJob(ctx context.Context, by string, n NewJob) (fettle.Record, error) {
	var none fettle.Record
	brief, err := work.BriefOf(n.BriefFile, n.Over)
	if err != nil {
		return none, err
	}
	name := baseName(n.File)
	title := n.Title
	for _, t := range []string{brief.Title, strings.TrimSuffix(name, filepath.Ext(name))} {
		if title == "" {
			title = t
		}
	}
	brief.Title = title // what the papers call it
	job := fettle.Job{Title: title, Brief: brief, State: fettle.JobAsked, Due: n.Due}
	if _, err := checkJob(job); err != nil {
		return none, err
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return none, err
	}
	if _, err := shelf.Material(brief.Material); err != nil {
		return none, err
	}
	if _, err := shelf.Look(brief.Finish); err != nil {
		return none, err
	}
	links := map[string]string{}
	if n.Customer != "" {
		if links["customer"], err = s.customer(ctx, by, n.Customer); err != nil {
			return none, err
		}
	}
	partLinks := map[string]string{}
	if c := links["customer"]; c != "" {
		partLinks["customer"] = c
	}
	part, err := s.Make(ctx, by, "", fettle.Record{Kind: fettle.KeptPart, Links: partLinks, Body: write(fettle.Part{Name: title})})
	if err != nil {
		return none, err
	}
	file, err := s.AddFile(ctx, by, "", part.ID, name, n.Model)
	if err != nil {
		return none, err
	}
	links["part"], links["file"] = part.ID, file.ID
	return s.Make(ctx, by, "", fettle.Record{Kind: fettle.KeptJob, Links: links, Body: write(job)})
}

// customer finds a customer by name, or keeps a new one.
func (s *Shop) customer(ctx context.Context, by, name string) (string, error) {
	page, err := s.store.List(ctx, fettle.Query{Kind: fettle.KeptCustomer, Name: name, Limit: 1})
	if err != nil {
		return "", err
	}
	if len(page.Records) > 0 {
		return page.Records[0].ID, nil
	}
	r, err := s.Make(ctx, by, "", fettle.Record{Kind: fettle.KeptCustomer, Body: write(fettle.Customer{Name: name})})
	return r.ID, err
}

// Jobs lists jobs, the newest first; without all, those that are still open.
func (s *Shop) Jobs(ctx context.Context, all bool) ([]fettle.JobLine, error) {
	rs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptJob, Newest: true})
	if err != nil {
		return nil, err
	}
	out := []fettle.JobLine{}
	for _, r := range rs {
		j, err := bodyOf[fettle.Job](r)
		if err != nil {
			return nil, err
		}
		if !all && (j.State == fettle.JobShipped || j.State == fettle.JobNo) {
			continue
		}
		out = append(out, fettle.JobLine{ID: r.ID, Title: j.Title, State: j.State, Due: j.Due, Material: j.Brief.Material, Finish: j.Brief.Finish, Lot: j.Brief.Lot})
	}
	return out, nil
}

// SetJobState moves a job.
func (s *Shop) SetJobState(ctx context.Context, by string, r fettle.Record, state fettle.JobState) (fettle.Record, error) {
	j, err := bodyOf[fettle.Job](r)
	if err != nil {
		return r, err
	}
	j.State = state
	r.Body = write(j)
	return s.Alter(ctx, by, r)
}

// JobStory gathers what is known of a job.
func (s *Shop) JobStory(ctx context.Context, id string) (*fettle.JobStory, error) {
	st := &fettle.JobStory{Plans: []fettle.StoryPlan{}, Offers: []fettle.StoryOffer{}, Runs: []fettle.Run{}}
	var err error
	if st.Job, err = s.store.Get(ctx, fettle.KeptJob, id); err != nil {
		return nil, err
	}
	if st.Body, err = bodyOf[fettle.Job](st.Job); err != nil {
		return nil, err
	}
	if c := st.Job.Links["customer"]; c != "" {
		r, err := s.store.Get(ctx, fettle.KeptCustomer, c)
		if err != nil {
			return nil, err
		}
		body, err := bodyOf[fettle.Customer](r)
		if err != nil {
			return nil, err
		}
		st.Customer = &body
	}
	if f := st.Job.Links["file"]; f != "" {
		r, err := s.store.Get(ctx, fettle.KeptFile, f)
		if err != nil {
			return nil, err
		}
		body, err := bodyOf[fettle.ModelFile](r)
		if err != nil {
			return nil, err
		}
		st.File = &body
	}
	plans, err := s.all(ctx, fettle.Query{Kind: fettle.KeptPlan, Role: "job", Target: id, Newest: true})
	if err != nil {
		return nil, err
	}
	for _, r := range plans {
		body, err := bodyOf[fettle.PlanSheet](r)
		if err != nil {
			return nil, err
		}
		st.Plans = append(st.Plans, fettle.StoryPlan{ID: r.ID, Made: r.Made.UTC().Format("2006-01-02 15:04"), Sheet: body})
	}
	offers, err := s.all(ctx, fettle.Query{Kind: fettle.KeptOffer, Role: "job", Target: id, Newest: true})
	if err != nil {
		return nil, err
	}
	for _, r := range offers {
		body, err := bodyOf[fettle.Proposal](r)
		if err != nil {
			return nil, err
		}
		st.Offers = append(st.Offers, fettle.StoryOffer{ID: r.ID, Offer: body})
	}
	if st.Runs, err = s.runsOf(ctx, id); err != nil {
		return nil, err
	}
	st.History, err = s.store.History(ctx, fettle.KeptJob, id)
	return st, err
}

// PlanNow plans a job on the spot.
func (s *Shop) PlanNow(ctx context.Context, by, job, mill, paper string) (*fettle.Plan, fettle.Record, error) {
	t, err := s.AskPlan(ctx, by, job, mill, paper)
	if err != nil {
		return nil, fettle.Record{}, err
	}
	a, err := answerOf[PlanAnswer](t)
	if err != nil {
		return nil, fettle.Record{}, err
	}
	return s.PlanOf(ctx, a.Plan)
}

// CopyOut writes a plan's files into a folder, and returns their paths.
func (s *Shop) CopyOut(ctx context.Context, plan fettle.Record, dir string) ([]string, error) {
	sheet, err := bodyOf[fettle.PlanSheet](plan)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, f := range sheet.Files {
		at := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := s.writeOut(ctx, f.SHA256, at); err != nil {
			return out, err
		}
		out = append(out, at)
	}
	return out, nil
}

func (s *Shop) writeOut(ctx context.Context, sha, path string) error {
	f, _, err := s.store.OpenBlob(ctx, sha)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return fettle.Errorf(fettle.Invalid, "%s cannot be made; choose another folder with --out", filepath.Dir(path))
	}
	return work.WriteFile(path, func(w io.Writer) error { _, err := io.Copy(w, f); return err })
}
