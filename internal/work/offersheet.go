package work

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"time"

	"fettle"
	"fettle/internal/output/ical"
	"fettle/internal/output/offer"
	"fettle/internal/output/paper"
	"fettle/internal/trade/promise"
)

// OfferSource is what an offer to a customer is made of.
type OfferSource struct {
	// Plans are those of the finishes that are offered, the one asked for first.
	Plans []*fettle.Plan
	// Promises are when each can be ready, Pictures how each looks, by its name.
	Promises map[string]*fettle.Promise
	Pictures map[string][]offer.Picture
	Part     []offer.Picture
	Customer string
	Number   string
	Words    string
	Day      string // of the offer, RFC 3339 full-date
	Until    string
}

// MostOffered is how many finishes are laid side by side.
const MostOffered = 3

// OfferSheet lays finishes side by side for a customer.
func OfferSheet(in OfferSource) *offer.Sheet {
	first := in.Plans[0]
	b := first.Brief
	t := tongueOf(b)
	s := &offer.Sheet{
		Shop: b.Shop, Contact: b.Contact, Customer: in.Customer, Title: first.Title, Number: in.Number,
		Material: first.Material.Title, SizeMM: first.Survey.SizeMM, Lot: b.Lot, Day: in.Day, Until: in.Until, Words: in.Words,
		Part: in.Part, Display: b.Display, Language: b.Language, Reply: b.Contact,
	}
	if len(in.Promises) > 0 {
		s.Terms = append(s.Terms, t.Say("The days are those for an answer on the day of this offer; each day that it comes later moves them on by about as much."))
	}
	for i, pl := range in.Plans[:min(MostOffered, len(in.Plans))] {
		c := offer.Choice{
			Look: pl.Look.Name, Title: pl.Look.Title, Says: pl.Look.Says, Asked: i == 0,
			Each: pl.Price.Each, Price: pl.Price.Price, RaUM: pl.Route[len(pl.Route)-1].RaUM, EdgeUM: pl.Look.EdgeUM,
			Pictures: in.Pictures[pl.Look.Name],
		}
		for _, r := range pl.Price.Ladder {
			c.Ladder = append(c.Ladder, fettle.OfferRung{Lot: r.Lot, Each: r.Each, Price: r.Price})
		}
		if p := in.Promises[pl.Look.Name]; p != nil {
			c.Day = p.Day
		}
		c.Promised, c.NotPromised = offer.Promises(pl, t)
		s.Choices = append(s.Choices, c)
	}
	return s
}

// schedule puts the plan on the calendar as work that may begin then. A lot that
// takes for ever gets no day, and a warning that says so.
func (d *Planned) schedule(ctx context.Context, from time.Time) error {
	if from.IsZero() {
		return nil
	}
	var err error
	d.Promise, err = d.reckon(ctx, d.Plan, from)
	return err
}

func (d *Planned) reckon(ctx context.Context, pl *fettle.Plan, from time.Time) (*fettle.Promise, error) {
	p, err := promise.Of(ctx, promise.Input{
		Plan: pl, Rates: d.shelf.Rates, Vessels: d.shelf.Vessels, Machines: d.shelf.Machines, From: from, Title: pl.Title,
	})
	if fettle.CodeOf(err) == fettle.No {
		pl.Warnings = append(pl.Warnings, err.Error())
		return nil, nil
	}
	return p, err
}

// finishes are the plans whose finishes are shown, the one asked for first.
func (d *Planned) finishes() []*fettle.Plan {
	return append([]*fettle.Plan{d.Plan}, d.Others...)
}

// Offered are those of some plans that can be offered: what does not meet its finish
// is not.
func Offered(plans []*fettle.Plan) []*fettle.Plan {
	return slices.DeleteFunc(slices.Clone(plans), func(p *fettle.Plan) bool { return !p.Meets })
}

// offerHoldsDays is how long an offer holds where nobody says otherwise.
const offerHoldsDays = 30

// writeOffers leaves the promise, as a document and for a calendar, and what goes to
// the customer. Without a promise, and where no finish can be met, there is nothing to
// leave.
func (d *Planned) writeOffers(ctx context.Context, dir string, size paper.Size, part string, likes []likeness) error {
	if d.Promise == nil {
		return nil
	}
	from, made := d.Promise.From, time.Now()
	put := func(name string, data []byte, err error) error {
		if err != nil {
			return err
		}
		path := filepath.Join(dir, name)
		d.Files = append(d.Files, path)
		return WriteBytes(path, data)
	}
	doc := filepath.Join(dir, "promise.json")
	if err := writeJSON(doc, d.Promise); err != nil {
		return err
	}
	d.Files = append(d.Files, doc)
	cal, err := Calendar(d.Promise, d.Plan.Title, d.Plan.Survey.SHA256, d.Plan.Brief, made)
	if err := put("promise.ics", cal, err); err != nil {
		return err
	}
	plans := Offered(d.finishes())
	if len(plans) == 0 {
		return nil
	}
	src := OfferSource{
		Plans: plans, Promises: map[string]*fettle.Promise{}, Pictures: map[string][]offer.Picture{},
		Day: made.Format(time.DateOnly), Until: made.AddDate(0, 0, offerHoldsDays).Format(time.DateOnly),
	}
	for _, pl := range plans {
		if src.Promises[pl.Look.Name] = d.Promise; pl != d.Plan {
			if src.Promises[pl.Look.Name], err = d.reckon(ctx, pl, from); err != nil {
				return err
			}
		}
	}
	for _, l := range likes {
		data, err := os.ReadFile(l.file)
		if err != nil {
			return cannotWrite(l.file, err)
		}
		src.Pictures[l.look] = []offer.Picture{{Data: data, Type: "image/png", Says: LikenessSays(d.Plan.Brief)}}
	}
	data, err := os.ReadFile(part)
	if err != nil {
		return cannotWrite(part, err)
	}
	src.Part = []offer.Picture{{Data: data, Type: "image/png", Says: PartSays(d.Plan.Brief)}}
	sheet := OfferSheet(src)
	page, err := offer.HTML(sheet)
	if err := put("offers.html", page, err); err != nil {
		return err
	}
	pdf, err := offer.PDF(sheet, size)
	return put("offers.pdf", pdf, err)
}

// Calendar is a promise for a calendar program (RFC 5545), as it was made then.
func Calendar(p *fettle.Promise, title, id string, b fettle.Brief, made time.Time) ([]byte, error) {
	var out bytes.Buffer
	err := ical.Write(&out, title, made, ical.Promise(p, title, id, tongueOf(b)))
	return out.Bytes(), err
}
