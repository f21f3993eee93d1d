package finish

import (
	"fmt"

	"fettle"
	"fettle/internal/trade/law"
	"fettle/internal/trade/price"
	"fettle/internal/trade/rub"
)

// stage is a move of the chosen route, made in the worlds in which it is told.
type stage struct {
	*move
	did
	before *law.Surface
}

// replay makes the moves of a route again.
func (t *kit) replay(ms []*move) []stage {
	var out []stage
	var face *law.Surface
	for _, m := range ms {
		d := t.play(face, m)
		out = append(out, stage{move: m, did: d, before: face})
		face = d.face
	}
	return out
}

// withLays gives the strokes of a route their directions: the last goes along the
// long side, and each turns by a quarter against the one before, so that its
// scratches show.
func withLays(ms []*move) []*move {
	toCome := 0
	out := make([]*move, len(ms))
	for i := len(ms) - 1; i >= 0; i-- {
		own := *ms[i]
		if own.kind == fettle.StepRub {
			own.lay = strokeLay(toCome)
			toCome++
		}
		out[i] = &own
	}
	return out
}

// strokeLay names the direction of the stroke with so many grits still to come.
func strokeLay(toCome int) string {
	if toCome%2 == 0 {
		return "along the long side"
	}
	return "across the long side"
}

// steps is a route in numbers: times, state and cost, the washing between
// charges put in, without the sentences.
func (p *planner) steps(t *kit, stages []stage) (fettle.Route, error) {
	lot := float64(p.in.Brief.Lot)
	zero := fettle.Exactly(0, fettle.BasisGeometry)
	var route fettle.Route
	add := func(s fettle.Step, rate fettle.Estimate, before, after *law.Surface, basis string) {
		s.Zone = p.main.ID
		s.RaUM = after.RaUM(basis)
		s.EdgeRadiusUM = t.w.Sum(after.Edge, fettle.BasisGuess)
		s.Marks = after.Tell(p.main.ID)
		took := make([]float64, len(after.Removed))
		if before != nil {
			for k := range took {
				took[k] = after.Removed[k] - before.Removed[k]
			}
		}
		s.RemovedUM = t.w.Sum(took, basis)
		s.Cost = price.StepCost(s, p.in.Shelf.Rates, rate)
		route = append(route, s)
	}
	basis, wet := law.ByMachine, false
	for i, st := range stages {
		if dry := st.mop != nil || st.bath != nil && st.bath.Dry; dry && wet && p.rb.holds(ruleDryForDry) {
			add(fettle.Step{Key: "dry", Kind: fettle.StepWash, MinutesAlone: zero, MinutesAttended: rub.Drying().Scale(lot)}, zero, st.before, st.before, basis)
			wet = false
		}
		s := fettle.Step{Key: st.key, Kind: st.kind, MinutesAttended: zero, MinutesAlone: zero}
		var rate fettle.Estimate
		switch st.kind {
		case fettle.StepSurface:
			s.Pass, s.MinutesAlone, rate = &st.pass.pass, passTime.Scale(st.pass.cutMin*lot), p.mill.RatePerH
		case fettle.StepDeburr:
			min, _ := rub.Deburr(p.in.Survey.SharpEdgeMM, p.mat.Class)
			s.MinutesAttended = min.Scale(lot)
		case fettle.StepRub:
			basis = law.ByLexikon
			f := p.face()
			wet = f.Wet
			s.MinutesAttended = t.w.Sum(st.minutes, t.paceBasis(st.grit)).Scale(lot)
			s.Rub = &fettle.Rub{
				Grit: st.grit.Name, Block: string(p.hold()), Wet: f.Wet, TakeOffUM: t.w.Sum(st.take, basis), PaperCM2: rub.Paper(f),
			}
			if st.lay != strokeLay(0) {
				s.Rub.StrokeDeg = 90
			}
		case fettle.StepTumble:
			b := st.bath
			basis = b.proc.TimeConstantH.Basis
			hours := t.w.Sum(st.hours, basis)
			if st.until.PinnedH > 0 {
				hours = fettle.Exactly(st.until.PinnedH, "as the brief keeps it")
			}
			ch, err := p.charge(*b, hours)
			if err != nil {
				return nil, err
			}
			p.hoursToLooks(t, st, &ch)
			s.Charge, rate = &ch, b.Vessel.RatePerH
			s.MinutesAttended = loadMin.Plus(lookMin.Scale(float64(len(ch.LooksH)))).Scale(float64(ch.Loads))
			s.MinutesAlone = ch.Hours.Scale(60 * float64(ch.Loads))
		case fettle.StepBuff:
			basis = st.mop.LimitRaUM.Basis
			s.MinutesAttended = t.w.Sum(st.minutes, st.mop.MinPer100CM2.Basis).Plus(buffMin).Scale(lot)
			s.Buff = &fettle.Buff{Mop: st.mop.Name, OpenShare: p.openShare()}
		}
		add(s, rate, st.before, st.face, basis)
		if st.kind == fettle.StepSurface {
			route = append(route, p.sides...)
		}
		if st.kind == fettle.StepTumble && (p.rb.holds(ruleWashBetween) || i == len(stages)-1) {
			add(fettle.Step{Key: "wash", Kind: fettle.StepWash, MinutesAlone: zero, MinutesAttended: washMin.Scale(st.bath.loads).Plus(rub.Drying().Scale(lot))},
				zero, st.face, st.face, basis)
			wet = false
		} else if st.bath != nil {
			wet = !st.bath.Dry
		}
	}
	end := stages[len(stages)-1].face
	add(fettle.Step{Key: "inspect", Kind: fettle.StepInspect, MinutesAlone: zero, MinutesAttended: inspectMin.Scale(lot)}, zero, end, end, basis)
	return route, nil
}

// paceBasis is what the minutes with a grit rest on.
func (t *kit) paceBasis(g *fettle.Grit) string {
	if b := t.p.in.Book; b != nil {
		if own, ok := b.Pace(*g, t.p.mat); ok {
			return own.Basis
		}
	}
	return rub.Pace().Basis
}

// hoursToLooks fills in when a charge passes the looks of the shelf, from the face
// that goes into it. A look that wants one direction never comes out of a barrel.
func (p *planner) hoursToLooks(t *kit, st stage, ch *fettle.Charge) {
	ch.HoursTo = []fettle.LookHours{}
	tool := t.barrel(st.bath)
	limit, ra := st.bath.proc.LimitRaUM.Value, st.before.RaUM("").Value
	for _, l := range p.in.Shelf.Looks {
		n := needOf(l, fettle.Brief{})
		if n.Lay == fettle.LayOne {
			continue
		}
		h := fettle.LookHours{Look: l.Name}
		switch {
		case limit > n.HighUM:
			h.Never, h.Says = true, fmt.Sprintf("this charge stays rougher than %s", lowerFirst(l.Title))
		case ra < n.LowUM && (limit < n.LowUM || n.CuspsMayShow): // nobody roughens a face to look machined
			h.Never, h.Says = true, fmt.Sprintf("the face goes in finer than %s", lowerFirst(l.Title))
		default:
			u := law.Until{RaUM: n.AimUM, Seen: n.seenAtMost(), Burr: true, LeastH: shortestH, MostH: longestH}
			if n.Lay == fettle.LayNone {
				u.Even = evenShare
			}
			h.Hours = t.w.Sum(st.before.Hours(tool, u), st.bath.proc.TimeConstantH.Basis)
			if h.Hours.Value >= longestH {
				h.Never, h.Says = true, "longer than three days and nights"
			} else {
				h.Says = fmt.Sprintf("%s from about %s on", l.Title, fettle.Minutes(h.Hours.Value*60))
			}
		}
		if h.Never {
			h.Hours = fettle.Exactly(0, "never")
		}
		ch.HoursTo = append(ch.HoursTo, h)
	}
}
