package shop

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/tumble"
)

// Compared is one number that a plan predicted and a run measured.
type Compared struct {
	Run    string          `json:"run"`
	Day    string          `json:"day"`
	Job    string          `json:"job"`
	Title  string          `json:"title"` // of the job
	Step   string          `json:"step"`  // its key in the plan
	Doing  fettle.StepKind `json:"doing"`
	Name   string          `json:"name"` // of the step, for people
	Media  string          `json:"media,omitempty"`
	Vessel string          `json:"vessel,omitempty"`
	// Kind is that of the reading, or "hours" for how long a charge ran.
	Kind string  `json:"kind"`
	Read float64 `json:"read"` // as it was read
	AtH  float64 `json:"at_h"`
	// What is compared, both in Unit: readings of roughness as Ra, weights and
	// micrometers as they were read.
	Predicted fettle.Estimate `json:"predicted"`
	Measured  float64         `json:"measured"`
	Unit      string          `json:"unit"`
	Inside    bool            `json:"inside"` // between the predicted bounds
	Says      string          `json:"says"`   // what the prediction is of
}

// Comparison is all that was predicted and measured, by days.
type Comparison struct {
	Numbers []Compared `json:"numbers"`
	Inside  int        `json:"inside"` // of them, between their bounds; four in five should be
}

// Compare puts what was read on runs beside what their plans predicted. Readings within
// a charge are held to its law at their hour, with the numbers that the shelf and the log
// gave when the plan was made.
func (s *Shop) Compare(ctx context.Context) (*Comparison, error) {
	out := &Comparison{Numbers: []Compared{}}
	runs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptRun})
	if err != nil {
		return nil, err
	}
	readings, err := s.all(ctx, fettle.Query{Kind: fettle.KeptReading})
	if err != nil {
		return nil, err
	}
	of := map[string][]fettle.Reading{}
	for _, r := range readings {
		rd, err := bodyOf[fettle.Reading](r)
		if err != nil {
			return nil, err
		}
		of[r.Links["run"]] = append(of[r.Links["run"]], rd)
	}
	past := &foretold{s: s, plans: map[string]*fettle.Plan{}, records: map[string]fettle.Record{}, books: map[string]*book{}}
	for _, rec := range runs {
		run, err := bodyOf[fettle.Run](rec)
		if err != nil {
			return nil, err
		}
		if run.Step == "" || rec.Links["plan"] == "" || len(of[rec.ID]) == 0 && run.HoursRun == 0 {
			continue
		}
		plan, err := past.plan(ctx, rec.Links["plan"])
		if err != nil {
			return nil, err
		}
		at := slices.IndexFunc(plan.Route, func(st fettle.Step) bool { return fettle.FoldName(st.Key) == fettle.FoldName(run.Step) })
		if at < 0 {
			continue
		}
		step := plan.Route[at]
		one := Compared{Run: rec.ID, Day: run.Day, Job: rec.Links["job"], Title: plan.Title, Step: step.Key, Doing: step.Kind, Name: step.Name, Media: run.Media, Vessel: run.Vessel}
		if step.Charge != nil && run.HoursRun > 0 {
			c := one
			c.Kind, c.Read, c.AtH, c.Unit, c.Says = "hours", run.HoursRun, run.HoursRun, "h", "hours of the charge"
			c.add(out, step.Charge.Hours, run.HoursRun)
		}
		for _, rd := range of[rec.ID] {
			c := one
			c.Kind, c.Read, c.AtH = string(rd.Kind), rd.Value, rd.AtH
			if err := past.compare(ctx, out, c, rd, run, rec.Links["plan"], plan, at); err != nil {
				return nil, err
			}
		}
	}
	slices.SortStableFunc(out.Numbers, func(a, b Compared) int {
		if a.Day < b.Day {
			return -1
		}
		if a.Day > b.Day {
			return 1
		}
		return 0
	})
	return out, nil
}

func (c Compared) add(out *Comparison, predicted fettle.Estimate, measured float64) {
	if !(predicted.Value > 0) || !(measured > 0) {
		return // no ratio can be made of it
	}
	c.Predicted, c.Measured = predicted, measured
	c.Inside = measured >= predicted.Low && measured <= predicted.High
	if c.Inside {
		out.Inside++
	}
	out.Numbers = append(out.Numbers, c)
}

// atEnd is how near the planned end a reading counts as the step's own.
const atEnd = 0.05

// compare adds one reading where the plan says anything of it.
func (f *foretold) compare(ctx context.Context, out *Comparison, c Compared, rd fettle.Reading, run fettle.Run, id string, plan *fettle.Plan, at int) error {
	step := plan.Route[at]
	hours := 0.0
	if step.Charge != nil {
		hours = step.Charge.Hours.Value
	}
	part := 1.0 // of the charge, at the reading
	if hours > 0 {
		part = rd.AtH / hours
	}
	switch rd.Kind {
	case fettle.ReadRa, fettle.ReadRz, fettle.ReadSq, fettle.ReadGrade, fettle.ReadGloss:
		ra, ok := learn.AsRa(rd)
		if !ok {
			return nil
		}
		c.Unit = "µm"
		switch {
		case hours == 0 || math.Abs(part-1) <= atEnd:
			c.Says = "Ra after the step"
			c.add(out, step.RaUM, ra.Value)
		case before(plan, at).Value > 0 && rd.AtH == 0:
			c.Says = "Ra before the step, as the step before it was to leave it"
			c.add(out, before(plan, at), ra.Value)
		case before(plan, at).Value > 0:
			p, ok, err := f.process(ctx, id, plan, step)
			if err != nil || !ok {
				return err
			}
			c.Says = fmt.Sprintf("Ra by the law of the charge after %.3g of %.3g h", rd.AtH, hours)
			c.add(out, p.Ra(before(plan, at), fettle.Exactly(rd.AtH, "as read")), ra.Value)
		}
	case fettle.ReadGrams:
		area := run.AreaMM2
		if area == 0 {
			area = plan.Survey.AreaMM2
		}
		c.Unit, c.Says = "g", fmt.Sprintf("grams off one piece after %.3g h, from its area and density", rd.AtH)
		c.add(out, step.RemovedUM.Scale(part*tumble.Fines(1, area, plan.Material.Density)), rd.Value)
	case fettle.ReadMicron:
		c.Unit, c.Says = "µm", fmt.Sprintf("µm off across two faces after %.3g h", rd.AtH)
		c.add(out, step.RemovedUM.Scale(2*part), rd.Value)
	case fettle.ReadMinutes:
		c.Unit, c.Says = "min", "minutes by hand for one piece"
		c.add(out, step.MinutesAttended.Scale(1/float64(max(1, plan.Brief.Lot))), rd.Value)
	}
	return nil
}

// before is the roughness that a step begins with: of its zone, as the step before it
// leaves it.
func before(plan *fettle.Plan, at int) fettle.Estimate {
	for i := at - 1; i >= 0; i-- {
		if st := plan.Route[i]; st.Zone == plan.Route[at].Zone && st.RaUM.Value > 0 {
			return st.RaUM
		}
	}
	return fettle.Estimate{}
}

// foretold is plans and what the log said when they were made, each read once.
type foretold struct {
	s       *Shop
	plans   map[string]*fettle.Plan
	records map[string]fettle.Record
	books   map[string]*book
}

// book is a log that was read, with the shelf that it was read beside.
type book struct {
	shelf *fettle.Shelf
	log   *learn.Book
}

func (f *foretold) plan(ctx context.Context, id string) (*fettle.Plan, error) {
	if p := f.plans[id]; p != nil {
		return p, nil
	}
	p, r, err := f.s.PlanOf(ctx, id)
	if err != nil {
		return nil, err
	}
	f.plans[id], f.records[id] = p, r
	return p, nil
}

// process is what a charge of a plan was expected to be; false where the plan's shelf
// was not kept, or has no such thing any more.
func (f *foretold) process(ctx context.Context, id string, plan *fettle.Plan, step fettle.Step) (tumble.Process, bool, error) {
	shelf, log := f.records[id].Files["shelf"], f.records[id].Files["log"]
	if shelf == "" {
		return tumble.Process{}, false, nil
	}
	b := f.books[shelf+log]
	if b == nil {
		sh, runs, err := f.s.takeUp(ctx, shelf, log)
		if err != nil {
			return tumble.Process{}, false, err
		}
		b = &book{shelf: sh}
		if b.log, err = learn.Read(ctx, *runs, sh); err != nil {
			return tumble.Process{}, false, err
		}
		f.books[shelf+log] = b
	}
	m, err := b.shelf.MediaNamed(step.Charge.Media)
	if err != nil {
		return tumble.Process{}, false, nil
	}
	v, err := b.shelf.Vessel(step.Charge.Vessel)
	if err != nil {
		return tumble.Process{}, false, nil
	}
	return b.log.Process(m, v, plan.Material, step.Charge.Tone), true, nil
}
