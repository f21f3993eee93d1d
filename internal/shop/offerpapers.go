package shop

import (
	"bytes"
	"context"
	"io"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/offer"
	"fettle/internal/output/paper"
	"fettle/internal/work"
)

// offerHoldsDays is how long an offer holds where nobody says otherwise.
const offerHoldsDays = 30

// offerPapers makes what goes to the customer, a page and a PDF, and stores both. The
// offers of the proposal get the days for which they are promised, around all that was
// promised to others.
func (s *Shop) offerPapers(ctx context.Context, job fettle.Record, plan *fettle.Plan, sheet fettle.Record, body *fettle.Proposal, id string) (map[string]string, error) {
	others, err := s.besides(ctx, sheet)
	if err != nil {
		return nil, err
	}
	src := work.OfferSource{
		Plans:    work.Offered(append([]*fettle.Plan{plan}, others...)),
		Promises: map[string]*fettle.Promise{}, Pictures: map[string][]offer.Picture{},
		Number: id[max(0, len(id)-6):], Words: body.Words, Day: body.Sent, Until: body.Until,
	}
	if len(src.Plans) == 0 {
		return nil, fettle.Errorf(fettle.No, "no finish of job %q can be met, so there is nothing to offer; the plan says what is missing", job.Name)
	}
	if src.Customer, err = s.customerOf(ctx, job); err != nil {
		return nil, err
	}
	booked, _, err := s.booked(ctx, job.ID)
	if err != nil {
		return nil, err
	}
	photos, err := s.photosByLook(ctx, plan.Material.Name)
	if err != nil {
		return nil, err
	}
	for _, pl := range src.Plans {
		look := pl.Look.Name
		p, err := s.reckon(ctx, job, pl, booked, time.Time{})
		if err != nil && fettle.CodeOf(err) != fettle.No {
			return nil, err
		}
		if err == nil {
			src.Promises[look] = p
			for i := range body.Offers {
				if body.Offers[i].Look == look {
					body.Offers[i].Day = p.Day
				}
			}
		}
		// A photo of the real thing says more than a likeness, and stands first.
		src.Pictures[look] = photos[fettle.FoldName(look)]
		likeness, err := s.pictureOf(ctx, sheet, work.LikenessFile(look), work.LikenessSays(plan.Brief))
		if err != nil {
			return nil, err
		}
		src.Pictures[look] = append(src.Pictures[look], likeness...)
	}
	if src.Part, err = s.pictureOf(ctx, sheet, "pictures/part.png", work.PartSays(plan.Brief)); err != nil {
		return nil, err
	}
	doc := work.OfferSheet(src)
	size, err := paper.ParseSize(paperOf(sheet))
	if err != nil {
		return nil, err
	}
	files := map[string]string{}
	page, err := offer.HTML(doc)
	if err != nil {
		return nil, err
	}
	pdf, err := offer.PDF(doc, size)
	if err != nil {
		return nil, err
	}
	for role, data := range map[string][]byte{"page": page, "paper": pdf} {
		blob, err := s.store.PutBlob(ctx, bytes.NewReader(data), maxDocument)
		if err != nil {
			return nil, err
		}
		files[role] = blob.SHA256
	}
	return files, nil
}

// paperOf is the paper that a plan was made for.
func paperOf(sheet fettle.Record) string {
	body, err := bodyOf[fettle.PlanSheet](sheet)
	if err != nil {
		return ""
	}
	return body.From.Paper
}

func (s *Shop) customerOf(ctx context.Context, job fettle.Record) (string, error) {
	id := job.Links["customer"]
	if id == "" {
		return "", nil
	}
	r, err := s.store.Get(ctx, fettle.KeptCustomer, id)
	return r.Name, err
}

// pictureOf is a picture of a plan; none where the plan has no such file.
func (s *Shop) pictureOf(ctx context.Context, sheet fettle.Record, name, says string) ([]offer.Picture, error) {
	sha := sheet.Files["sheet/"+name]
	if sha == "" {
		return nil, nil
	}
	data, err := s.bytes(ctx, sha)
	if err != nil {
		return nil, err
	}
	kind := "image/png"
	if strings.HasSuffix(name, ".jpg") {
		kind = "image/jpeg"
	}
	return []offer.Picture{{Data: data, Type: kind, Says: says}}, nil
}

func (s *Shop) bytes(ctx context.Context, sha string) ([]byte, error) {
	f, _, err := s.store.OpenBlob(ctx, sha)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxDocument))
}

// mostPhotos is how many photos stand in an offer for one finish.
const mostPhotos = 2

// photosByLook are the newest photos of pieces of a metal, of runs and jobs, by the
// finish that their job has.
func (s *Shop) photosByLook(ctx context.Context, material string) (map[string][]offer.Picture, error) {
	rs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptPhoto, Newest: true})
	if err != nil {
		return nil, err
	}
	out := map[string][]offer.Picture{}
	for _, r := range rs {
		id := r.Links["job"]
		if run := r.Links["run"]; id == "" && run != "" {
			of, err := s.store.Get(ctx, fettle.KeptRun, run)
			if err != nil {
				return nil, err
			}
			id = of.Links["job"]
		}
		if id == "" {
			continue
		}
		job, err := s.store.Get(ctx, fettle.KeptJob, id)
		if err != nil {
			return nil, err
		}
		j, err := bodyOf[fettle.Job](job)
		if err != nil {
			return nil, err
		}
		look := fettle.FoldName(j.Brief.Finish)
		if fettle.FoldName(j.Brief.Material) != fettle.FoldName(material) || len(out[look]) == mostPhotos {
			continue
		}
		p, err := bodyOf[fettle.Photo](r)
		if err != nil {
			return nil, err
		}
		data, err := s.bytes(ctx, p.SHA256)
		if err != nil {
			return nil, err
		}
		says := p.Says
		if says == "" {
			says = work.PhotoSays(j.Brief)
		}
		out[look] = append(out[look], offer.Picture{Data: data, Type: p.Type, Says: says, Photo: true})
	}
	return out, nil
}
