package learn

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"

	"gonum.org/v1/gonum/mathext"
)

// Names of parameters.
const (
	NameTime  = "time constant"
	NameLimit = "limit roughness"
	NameTake  = "removal"
	NamePace  = "pace by hand"
	NamePower = "power of size"
	NameJam   = "jam chance"
)

var shown = []struct {
	i          int
	name, unit string
}{{iT, NameTime, "h"}, {iRL, NameLimit, "µm"}, {iMs, NameTake, "µm/h"}}

// Learned is the document that shows what the log says: every number of the
// processes in it before and after, what was refused, and what to read next.
func (b *Book) Learned() fettle.Learned {
	l := b.blank()
	if b == nil {
		return l
	}
	seen := map[key]bool{}
	for _, j := range b.runs {
		if !j.charge() {
			continue
		}
		k := keyOf(j.media, j.vessel, j.mat, j.Tone)
		if seen[k] {
			continue
		}
		seen[k] = true
		l.Parameters = append(l.Parameters, b.parameters(j)...)
		l.Next = append(l.Next, b.nextFor(j)...)
	}
	l.Parameters = append(l.Parameters, b.jams("")...)
	l.Parameters = append(l.Parameters, b.handParameters()...)
	l.Next = bestOf(l.Next, 3)
	return l
}

// LearnedOf is Learned for one kind of media, which need not be in the log itself:
// it is told of in every vessel and on every metal that the log has for the like
// of it, wet or dry.
func (b *Book) LearnedOf(m fettle.Media) fettle.Learned {
	l := b.blank()
	if b == nil {
		return l
	}
	seen := map[key]bool{}
	for _, j := range b.runs {
		if !j.charge() || j.media.Dry != m.Dry {
			continue
		}
		j.media, j.Media = m, m.Name
		k := keyOf(j.media, j.vessel, j.mat, j.Tone)
		if seen[k] {
			continue
		}
		seen[k] = true
		l.Parameters = append(l.Parameters, b.parameters(j)...)
		l.Next = append(l.Next, b.nextFor(j)...)
	}
	l.Parameters = append(l.Parameters, b.jams(m.Name)...)
	l.Next = bestOf(l.Next, 3)
	if len(l.Parameters) == 0 {
		how := "wet"
		if m.Dry {
			how = "dry"
		}
		l.Warnings = append(l.Warnings, fmt.Sprintf("No %s charge is in the log, so it says nothing of %s; wet and dry are different processes.", how, m.Name))
	}
	return l
}

func (b *Book) blank() fettle.Learned {
	l := fettle.Learned{Parameters: []fettle.Parameter{}, Next: []fettle.NextReading{}, Refused: []string{}, Warnings: []string{}}
	if b == nil {
		return l
	}
	l.Runs = len(b.runs)
	for _, r := range b.runs {
		l.Readings += len(r.Readings)
	}
	l.Refused = append(l.Refused, b.refused...)
	l.Warnings = append(l.Warnings, b.warnings...)
	l.Warnings = append(l.Warnings, b.unused()...)
	return l
}

// unused tells of readings that teach nothing, and why.
func (b *Book) unused() []string {
	var out []string
	for _, j := range b.runs {
		var area, roughness, other int
		for _, r := range j.Readings {
			switch {
			case j.charge():
			case r.Kind == fettle.ReadMinutes && j.Kind == fettle.StepRub:
				if j.AreaMM2 == 0 {
					area++
				}
			case rough(r.Kind):
				roughness++
			default:
				other++
			}
		}
		if area > 0 {
			out = append(out, fmt.Sprintf("Run %s has minutes by hand without area_mm2, the area that was worked; they teach nothing.", j.label()))
		}
		if roughness+other > 0 {
			out = append(out, fmt.Sprintf("Run %s is a %s step; only charges and minutes by hand are learned from, so %d of its readings are kept and not used.", j.label(), j.Kind, roughness+other))
		}
	}
	return out
}

// parameters of the process of a run.
func (b *Book) parameters(j job) []fettle.Parameter {
	k := b.know(j.media, j.vessel, j.mat, j.Tone)
	var out []fettle.Parameter
	for _, s := range shown {
		p := fettle.Parameter{
			Name: s.name, Unit: s.unit, Media: j.media.Name, Vessel: j.vessel.Name, Class: j.mat.Class, Tone: k.tone,
			Value: k.estimate(s.i, false), Prior: k.priorOf(s.i), N: k.n[s.i],
		}
		p.Says = change(p.Prior, p.Value)
		out = append(out, p)
	}
	return out
}

// change says what a log did to a number.
func change(before, after fettle.Estimate) string {
	if before == after {
		return "as guessed"
	}
	moved := ""
	switch r := after.Value / before.Value; {
	case r > 1.1:
		moved = fmt.Sprintf("%.2g times the guess", r)
	case r < 1/1.1:
		moved = fmt.Sprintf("%.0f %% of the guess", 100*r)
	default:
		moved = "about as guessed"
	}
	narrow := "no surer"
	if after.LogSD() > 0 {
		switch f := before.LogSD() / after.LogSD(); {
		case f > 1.5:
			narrow = fmt.Sprintf("the interval is %.1f times narrower", f)
		case f > 1.02:
			narrow = fmt.Sprintf("the interval is %.0f %% narrower", 100*(1-1/f))
		}
	}
	return moved + ", " + narrow
}

// jamPrior is what is assumed of the share of pieces that hold media, before any
// were counted: half a piece of one (Jeffreys).
const jamPrior = 0.5

// jams are the chances that an opening held media, by part, opening and media.
func (b *Book) jams(media string) []fettle.Parameter {
	type place struct{ part, opening, media string }
	type tally struct {
		held, of, n int
		class       fettle.HardnessClass
		vessel      string
	}
	counts := map[place]tally{}
	var order []place
	for _, j := range b.runs {
		for _, r := range j.Readings {
			if r.Kind != fettle.ReadJammed || !j.charge() || media != "" && j.media.Name != media {
				continue
			}
			p := place{j.Part, r.Place, j.media.Name}
			t, seen := counts[p]
			if !seen {
				order = append(order, p)
				t.class, t.vessel = j.mat.Class, j.vessel.Name
			}
			t.held, t.of, t.n = t.held+int(r.Value), t.of+j.pieces(), t.n+1
			counts[p] = t
		}
	}
	slices.SortFunc(order, func(a, c place) int {
		return slices.Compare([]string{a.part, a.opening, a.media}, []string{c.part, c.opening, c.media})
	})
	var out []fettle.Parameter
	for _, p := range order {
		t := counts[p]
		name := NameJam
		if p.opening != "" {
			name += ", " + p.opening
		}
		if p.part != "" {
			name += " of " + p.part
		}
		out = append(out, fettle.Parameter{
			Name: name, Media: p.media, Vessel: t.vessel, Class: t.class, Unit: "share of pieces",
			Value: beta(jamPrior+float64(t.held), jamPrior+float64(t.of-t.held), fmt.Sprintf("shop log (n = %d)", t.of)),
			Prior: beta(jamPrior, jamPrior, fettle.BasisGuess), N: t.n,
			Says: fmt.Sprintf("%d of %d pieces held media", t.held, t.of),
		})
	}
	return out
}

// beta is a Beta distribution's median with its 10 and 90 % bounds.
func beta(a, b float64, basis string) fettle.Estimate {
	q := func(p float64) float64 { return mathext.InvRegIncBeta(a, b, p) }
	return fettle.Guess(q(0.5), q(0.1), q(0.9), basis)
}

// Jam is the share of pieces of a part whose opening held media, from the log;
// false where none were counted.
func (b *Book) Jam(part, opening, media string) (fettle.Estimate, bool) {
	if b == nil {
		return fettle.Estimate{}, false
	}
	held, of := 0.0, 0.0
	for _, j := range b.runs {
		if !j.charge() || !strings.EqualFold(j.Part, part) || j.media.Name != media {
			continue
		}
		for _, r := range j.Readings {
			if r.Kind == fettle.ReadJammed && r.Place == opening {
				held, of = held+r.Value, of+float64(j.pieces())
			}
		}
	}
	if of == 0 {
		return fettle.Estimate{}, false
	}
	return beta(jamPrior+held, jamPrior+of-held, fmt.Sprintf("shop log (n = %.0f)", of)), true
}

// handParameters are the pace of every grit and metal that minutes were logged
// of, and how they grow with size.
func (b *Book) handParameters() []fettle.Parameter {
	type place struct {
		grit  string
		class fettle.HardnessClass
	}
	var order []place
	for _, j := range b.hands.jobs {
		if p := (place{j.grit, j.class}); !slices.Contains(order, p) {
			order = append(order, p)
		}
	}
	slices.SortFunc(order, func(a, c place) int {
		return slices.Compare([]string{string(a.class), a.grit}, []string{string(c.class), c.grit})
	})
	var out []fettle.Parameter
	for _, p := range order {
		v, n, _ := b.hands.pace(p.grit, p.class)
		q := fettle.Parameter{Name: NamePace + ", " + p.grit, Class: p.class, Unit: "times the usual minutes", Value: v, Prior: priorPace(), N: n}
		q.Says = change(q.Prior, q.Value)
		out = append(out, q)
	}
	if n := b.hands.powerN; n > 0 {
		prior := fettle.LogNormal(usualSizePower, usualPowerSD/usualSizePower, "59 cast pieces, GLMsData")
		out = append(out, fettle.Parameter{
			Name: NamePower, Unit: "1", Value: b.hands.power, Prior: prior, N: n,
			Says: fmt.Sprintf("a piece twice as long takes %.1f times the minutes", math.Pow(2, b.hands.power.Value)),
		})
	}
	return out
}
