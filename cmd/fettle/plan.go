package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type planCmd struct {
	modelFlags
	Part     string    `arg:"" help:"Model file: STEP, STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Material string    `help:"Alloy on the shelf, such as \"naval brass\" or 304." placeholder:"NAME"`
	Finish   string    `help:"Finish: as machined, deburred, satin, matte, stonewash, bright or mirror." placeholder:"NAME"`
	Lot      int       `help:"Pieces in the lot (default 1)." placeholder:"N"`
	Brief    string    `help:"Brief as a JSON file; options given here win over it." placeholder:"FILE"`
	Shelf    string    `help:"Shelf as a JSON file (fettle --json shelf writes the built-in one)." placeholder:"FILE"`
	Mill     string    `help:"Mill on the shelf (default: the first that holds the part)." placeholder:"NAME"`
	Up       []float64 `help:"Direction the show face looks: --up 0,0,1." placeholder:"X,Y,Z"`
	Ra       float64   `help:"Largest Ra the drawing allows, µm; wins over the finish." placeholder:"UM"`
	Rz       float64   `help:"Largest Rz the drawing allows, µm; wins over the finish." placeholder:"UM"`
	Log      string    `help:"Logbook as a JSON file; plans with the shop's own numbers." placeholder:"FILE"`
	Aim      string    `help:"Choose for least money, soonest or surest (default: least money)." placeholder:"AIM"`
	Keep     []string  `help:"Keep a step and solve the rest around it, with hours for a charge or a stepover for a pass if wanted: --keep \"rub P400\", --keep \"cob-2 in dry barrel=12\", --keep \"pass ball-10=0.3 mm, crossed\"." placeholder:"STEP[=HOW]" sep:"none"`
	Drop     []string  `help:"Do without a step, or anything on the shelf." placeholder:"STEP" sep:"none"`
	Replace  []string  `help:"Take another step in place of one." placeholder:"STEP=STEP" sep:"none"`
	SetAside []string  `help:"Set a rule of the trade aside, by its id in the plan's rules." placeholder:"RULE"`
	Tone     string    `help:"Wet charges brighter or darker than the finish has them." enum:",brighter,darker" default:""`
	Learning float64   `help:"Rate of learning by hand over the lot, in the place of the shelf's: 0.9 for a tenth less at every doubling; 1 for none." placeholder:"RATE"`
	From     string    `help:"Day, or time as 2026-03-31T08:00:00Z, when work may begin (default: tomorrow)." placeholder:"DAY"`
	Shop     string    `help:"Name of the shop, for the offer." placeholder:"TEXT"`
	Contact  string    `help:"Where the customer's answer goes: an e-mail address or a telephone number." placeholder:"TEXT"`
	Explain  bool      `help:"Say how each predicted number came about, instead of the plan."`
	Out      string    `help:"Folder for plan.json, traveler.pdf, offers, calendar and pictures; without it only words are written." placeholder:"DIR"`
	Paper    string    `help:"Paper of the traveler: A4 or Letter." enum:"A4,Letter,a4,letter" default:"A4"`
}

func (planCmd) Help() string {
	return "Surveys the part and searches the shelf for the route to the finish: cutter and stepover, grits, charges of media, mops, with the times that the laws give, for the least money, the soonest day or the surest look. Says why, lays the other two ways beside it, and solves the rest again around any step that is kept, dropped or replaced. Every predicted number carries its interval, its law and where it came from; --explain prints them.\n\nExamples:\n\n  fettle plan plate.stl --material \"naval brass\" --finish satin --lot 12 --out plate-plan\n\n  fettle plan plate.stl --brief brief.json --log shop.json --aim soonest\n\n  fettle plan plate.stl --brief brief.json --keep \"rub P400\" --drop bowl --explain\n\n" + exits
}

func (c planCmd) Run(ctx context.Context, s *streams) error {
	up, err := direction("--up", c.Up)
	if err != nil {
		return err
	}
	wishes, err := c.wishes()
	if err != nil {
		return err
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	log, err := s.logged(ctx, c.Log)
	if err != nil {
		return err
	}
	from, err := moment(c.From)
	if err != nil {
		return err
	}
	if from.IsZero() {
		from = tomorrow()
	}
	done, err := work.PlanFile(ctx, work.PlanRequest{
		Part: c.model(s, c.Part, up), BriefFile: c.Brief, Things: things, LogFile: c.Log, Log: log, Mill: c.Mill, Out: c.Out, Paper: c.Paper, From: from,
		Over: fettle.Brief{
			Material: c.Material, Finish: c.Finish, Lot: c.Lot, ModelUnits: c.Units, Body: c.Body, Up: up,
			RaMaxUM: c.Ra, RzMaxUM: c.Rz, Display: s.display,
			Aim: fettle.Aim(c.Aim), Steps: wishes, SetAside: c.SetAside, Tone: fettle.Tone(c.Tone),
			Learning: c.Learning, Shop: c.Shop, Contact: c.Contact,
		},
	}, s.progress())
	if err != nil {
		return err
	}
	plan := done.Plan
	say := func() string { return words.Plan(*plan) + promiseSays(done.Promise, plan.Brief) }
	if c.Explain {
		say = func() string { return words.Explain(*plan) }
	}
	if err := s.answer(plan, say); err != nil {
		return err
	}
	s.written(done.Files)
	return verdict(plan)
}

// tomorrow is when work may begin where nobody says: the same all day, so that a plan
// made twice is the same.
func tomorrow() time.Time {
	y, m, d := time.Now().AddDate(0, 0, 1).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.Local)
}

// promiseSays is a plan's promise in words; nothing where there is none.
func promiseSays(p *fettle.Promise, b fettle.Brief) string {
	if p == nil {
		return ""
	}
	return "\n" + words.Promise(p, b.Display)
}

// wishes are the steps to keep, drop and replace.
func (c planCmd) wishes() ([]fettle.StepWish, error) {
	var out []fettle.StepWish
	for _, k := range c.Keep {
		w := fettle.StepWish{Do: "keep", Step: k}
		if step, how, more := strings.Cut(k, "="); more {
			w.Step = step
			if err := keepHow(&w, how); err != nil {
				return nil, fettle.Errorf(fettle.Invalid, "--keep %q: %w", k, err)
			}
		}
		out = append(out, w)
	}
	for _, d := range c.Drop {
		out = append(out, fettle.StepWish{Do: "drop", Step: d})
	}
	for _, r := range c.Replace {
		step, with, ok := strings.Cut(r, "=")
		if !ok {
			return nil, fettle.Errorf(fettle.Invalid, "--replace %q names one step; write the old and the new with = between, like --replace \"rub P400=rub P500\"", r)
		}
		out = append(out, fettle.StepWish{Do: "replace", Step: step, With: with})
	}
	return out, nil
}

// keepHow reads how a step is to be kept: "12" hours, "0.3 mm" apart, "crossed", "one
// way", or the latter two with a comma between.
func keepHow(w *fettle.StepWish, how string) error {
	for part := range strings.SplitSeq(how, ",") {
		part = strings.TrimSpace(part)
		if part == "crossed" || part == "one way" {
			w.Crossed = new(part == "crossed")
			continue
		}
		number, apart := strings.CutSuffix(part, "mm")
		v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		switch {
		case err != nil:
			return fmt.Errorf("%q is no number of hours and no stepover; write it like --keep \"cob-2=12\" or --keep \"ball-10=0.3 mm, crossed\"", part)
		case apart:
			w.StepoverMM = v
		default:
			w.Hours = v
		}
	}
	return nil
}

// verdict turns a plan that misses its finish into the answer "no".
func verdict(p *fettle.Plan) error {
	if p.Meets {
		return nil
	}
	return fettle.Errorf(fettle.No, "%s", p.Verdict)
}

// written names the files that were left, beside the words or, with --json,
// away from the document.
func (s *streams) written(files []string) {
	w := s.out
	if s.json {
		w = s.err
	}
	if s.quiet {
		w = io.Discard
	}
	for _, f := range files {
		fmt.Fprintln(w, "wrote", f)
	}
}

// direction reads three numbers as a vector of any length but zero.
func direction(option string, v []float64) (d [3]float64, err error) {
	if len(v) == 0 {
		return d, nil
	}
	if len(v) != 3 {
		return d, fettle.Errorf(fettle.Invalid, "%s has %d numbers; give three, such as %s 0,0,1", option, len(v), option)
	}
	copy(d[:], v)
	n := math.Hypot(math.Hypot(d[0], d[1]), d[2])
	if n == 0 || math.IsNaN(n) || math.IsInf(n, 0) {
		return d, fettle.Errorf(fettle.Invalid, "%s %g,%g,%g has no direction; give three numbers that are not all zero, such as %s 0,0,1", option, d[0], d[1], d[2], option)
	}
	return d, nil
}
