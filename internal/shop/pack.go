package shop

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
	"time"

	"fettle"
	"fettle/internal/format/intake"
	"fettle/internal/format/pack"
	"fettle/internal/trade/envelope"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/recipe"
)

// Pack writes a job as one file for a partner shop: model, brief, plan, recipe with
// what was learned, pictures and solids. Who it is for and what it costs are left
// out unless asked for: the brief's notes, the papers and every amount of money.
func (s *Shop) Pack(ctx context.Context, job string, customer, money bool, w io.Writer) error {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return err
	}
	plan, sheet, err := s.planOfJob(ctx, rec)
	if err != nil {
		return err
	}
	body, err := bodyOf[fettle.PlanSheet](sheet)
	if err != nil {
		return err
	}
	shelf, log, err := s.takeUp(ctx, body.From.Shelf, body.From.Log)
	if err != nil {
		return err
	}
	var learned []fettle.Parameter
	if len(log.Runs) > 0 {
		book, err := learn.Read(ctx, *log, shelf)
		if err != nil {
			return err
		}
		learned = book.Learned().Parameters
	}
	r := recipe.Of(plan, shelf, learned, s.program, recipe.Options{Money: money})
	m := pack.Manifest{
		Title: plan.Title, From: plan.Shop, Written: s.now().UTC().Format(time.RFC3339), Program: s.program, Customer: customer, Money: money,
	}
	env, err := s.Envelope(ctx)
	if err != nil {
		return err
	}
	fit, err := envelope.Judge(env, &plan.Survey, plan.Brief, shelf)
	if err != nil {
		return err
	}
	for _, b := range fit.Because {
		m.NotOurs = append(m.NotOurs, pack.Reason(b))
	}
	if !money {
		withoutMoney(plan)
	}
	if !customer {
		plan.Brief.Notes = ""
	}
	files := []pack.File{
		s.packed("model/"+packName(body.From.File), pack.Model, body.From.Model),
		document("brief.json", pack.Brief, plan.Brief), document("plan.json", pack.Plan, plan), document("recipe.json", pack.Recipe, r),
	}
	if customer {
		st, err := s.JobStory(ctx, job)
		if err != nil {
			return err
		}
		if st.Customer != nil {
			files = append(files, document("customer.json", pack.Brief, st.Customer))
		}
	}
	for _, f := range body.Files {
		switch {
		case strings.HasPrefix(f.Name, "pictures/"):
			files = append(files, s.packed(f.Name, pack.Picture, f.SHA256))
		case strings.HasPrefix(f.Name, "solids/"):
			files = append(files, s.packed(f.Name, pack.Solid, f.SHA256))
		case path.Ext(f.Name) == ".pdf" && (customer || body.From.Brief.Notes == ""): // travelers say no prices
			files = append(files, s.packed(f.Name, pack.Paper, f.SHA256))
		}
	}
	return faultless(pack.Write(w, m, files))
}

// packName is a model's name as a pack takes it.
func packName(name string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`<>:"|?*\/`, r) || r < ' ' {
			return '_'
		}
		return r
	}, name)
}

func (s *Shop) packed(name, role, sha string) pack.File {
	return pack.File{Name: name, Role: role, Open: func() (io.ReadCloser, error) {
		f, _, err := s.store.OpenBlob(context.Background(), sha)
		return f, err
	}}
}

func document(name, role string, v any) pack.File {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic("shop: " + err.Error())
	}
	return pack.File{Name: name, Role: role, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}
}

// withoutMoney takes every amount out of a plan, and the sentences that say them.
func withoutMoney(p *fettle.Plan) {
	p.Price = fettle.Price{
		LotPrice: fettle.LotPrice{Lot: p.Price.Lot, Lines: []fettle.PriceLine{}, AttendedH: p.Price.AttendedH, AloneH: p.Price.AloneH},
		Ladder:   []fettle.LotPrice{},
	}
	for i := range p.Route {
		p.Route[i].Cost = fettle.Cost{}
	}
	for i := range p.Offers {
		p.Offers[i].Each = fettle.Cost{}
		p.Offers[i].Says = ""
		p.Offers[i].Ladder = nil
	}
	p.Material.PricePerKg = fettle.Estimate{}
	p.Material.Sold = nil
	p.Mill.RatePerH = fettle.Estimate{}
}

// Unpacked is what came of a partner's pack.
type Unpacked struct {
	Job     string           `json:"job"`
	Title   string           `json:"title"`
	From    string           `json:"from,omitempty"`
	Mapping fettle.Mapping   `json:"mapping"`
	NotOurs []fettle.Refusal `json:"not_ours"` // limits of this shop that the part is beyond
}

// Unpack takes a partner's pack: its model and brief become a job here, and its
// recipe is laid over this shop's shelf. The job's brief keeps the steps that were
// found.
func (s *Shop) Unpack(ctx context.Context, by string, r io.ReaderAt, size int64) (Unpacked, error) {
	var u Unpacked
	p, err := pack.Read(r, size)
	if err != nil {
		return u, faultless(err)
	}
	item := func(role string, name string) (string, error) {
		for _, f := range p.Manifest.Files {
			if f.Role == role && (name == "" || f.Name == name) {
				return f.Name, nil
			}
		}
		return "", fettle.Errorf(fettle.BadFile, "the pack holds no %s; ask the shop that sent it to pack the job again", role)
	}
	var brief fettle.Brief
	var rec fettle.Recipe
	var plan fettle.Plan
	for _, d := range []struct {
		role, name string
		into       any
	}{{pack.Brief, "brief.json", &brief}, {pack.Recipe, "", &rec}, {pack.Plan, "", &plan}} {
		name, err := item(d.role, d.name)
		if err != nil {
			return u, err
		}
		if err := unpackDocument(p, name, d.into); err != nil {
			return u, err
		}
	}
	if err := recipe.Validate(rec); err != nil {
		return u, fettle.Errorf(fettle.BadFile, "the pack's recipe cannot be taken: %w", err)
	}
	model, err := item(pack.Model, "")
	if err != nil {
		return u, err
	}
	if brief.Lot < 1 {
		brief.Lot = 1
	}
	if err := brief.Validate(); err != nil {
		return u, fettle.Errorf(fettle.BadFile, "the pack's brief cannot be taken: %w", err)
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return u, err
	}
	log, err := s.Teaching(ctx)
	if err != nil {
		return u, err
	}
	var book *learn.Book
	if len(log.Runs) > 0 {
		if book, err = learn.Read(ctx, log, shelf); err != nil {
			return u, err
		}
	}
	if u.Mapping, err = recipe.Map(ctx, rec, shelf, book); err != nil {
		return u, err
	}
	env, err := s.Envelope(ctx)
	if err != nil {
		return u, err
	}
	fit, err := envelope.Judge(env, &plan.Survey, brief, shelf)
	if err != nil && fettle.CodeOf(err) != fettle.NotFound { // what is not on the shelf, the mapping tells
		return u, err
	}
	u.Title, u.From, u.NotOurs = p.Manifest.Title, p.Manifest.From, fit.Because
	if u.NotOurs == nil {
		u.NotOurs = []fettle.Refusal{}
	}
	brief.Steps = u.Mapping.Wishes
	f, err := p.Open(model)
	if err != nil {
		return u, faultless(err)
	}
	defer f.Close()
	blob, err := s.store.PutBlob(ctx, f, MostModel)
	if err != nil {
		return u, faultless(err)
	}
	u.Job, err = s.keepUnpacked(ctx, by, p.Manifest, path.Base(model), brief, blob)
	return u, err
}

// keepUnpacked keeps part, model and job of a pack together or not at all.
func (s *Shop) keepUnpacked(ctx context.Context, by string, m pack.Manifest, name string, brief fettle.Brief, blob fettle.Blob) (string, error) {
	title := m.Title
	if title == "" {
		title = name
	}
	notes := "from a partner's pack"
	if m.From != "" {
		notes = fmt.Sprintf("from %s's pack", m.From)
	}
	part, file, job := freshID(), freshID(), freshID()
	_, err := s.store.Apply(ctx, fettle.Edit{By: by, Changes: []fettle.Change{
		{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptPart, ID: part, Name: clip(title), Body: write(fettle.Part{Name: title, Notes: notes})}},
		{Act: fettle.Make, Record: fettle.Record{
			Kind: fettle.KeptFile, ID: file, Name: clip(name), Links: map[string]string{"part": part}, Files: map[string]string{"model": blob.SHA256},
			Body: write(fettle.ModelFile{File: name, SHA256: blob.SHA256, Bytes: blob.Bytes, Version: 1}),
		}},
		{Act: fettle.Make, Record: fettle.Record{
			Kind: fettle.KeptJob, ID: job, Name: clip(title), Links: map[string]string{"part": part, "file": file},
			Body: write(fettle.Job{Title: title, Brief: brief, State: fettle.JobAsked, Notes: notes}),
		}},
	}})
	return job, err
}

func unpackDocument(p *pack.Reader, name string, into any) error {
	f, err := p.Open(name)
	if err != nil {
		return faultless(err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxDocument))
	if err != nil {
		return faultless(err)
	}
	// Keys that this program does not know are no harm in what only informs.
	if err := json.Unmarshal(data, into); err != nil {
		return fettle.Errorf(fettle.BadFile, "%s in the pack is damaged: %w", name, plain(err))
	}
	return nil
}

// faultless turns what a reader found wrong with a file into an error for its
// user.
func faultless(err error) error {
	var f *intake.Fault
	if errors.As(err, &f) {
		return fettle.Errorf(fettle.BadFile, "the pack cannot be taken: %w", err)
	}
	return err
}
