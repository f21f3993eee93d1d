package finish

import (
	"fmt"

	"fettle"
	"fettle/internal/trade/law"
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

// work is a route in numbers for a lot of any size: what each step takes and leaves,
// the washing between charges put in, without the sentences.
func (p *planner) work(t *kit, stages []stage) []work {
	var out []work
	add := func(w work, before, after *law.Surface, basis string) {
		s := &w.step
		s.Zone = p.main.ID
		s.RaUM = after.RaUM(basis)
		s.EdgeRadiusUM = t.w.Sum(after.Edge, fettle.BasisGuess)
		s.Marks = after.Tell(p.main.ID)
		s.TextureMM, s.TextureLay = after.WaveMM, after.Lay
		took := make([]float64, len(after.Removed))
		if before != nil {
			for k := range took {
				took[k] = after.Removed[k] - before.Removed[k]
			}
		}
		s.RemovedUM = t.w.Sum(took, basis)
		out = append(out, w)
	}
	basis, wet := law.ByMachine, false
	for i, st := range stages {
		if dry := st.mop != nil || st.bath != nil && st.bath.Dry; dry && wet && p.rb.holds(ruleDryForDry) {
			add(work{step: fettle.Step{Key: "dry", Kind: fettle.StepWash}, piece: rub.Drying()}, st.before, st.before, basis)
			wet = false
		}
		w := work{step: fettle.Step{Key: st.key, Kind: st.kind}}
		switch s := &w.step; st.kind {
		case fettle.StepSurface:
			s.Pass, w.alone = &st.pass.pass, passTime.Scale(st.pass.cutMin)
		case fettle.StepDeburr:
			w.hand, _ = rub.Deburr(p.in.Survey.SharpEdgeMM, p.mat.Class)
		case fettle.StepRub:
			basis = law.ByLexikon
			f := p.face()
			wet = f.Wet
			w.hand = t.w.Sum(st.minutes, t.paceBasis(st.grit))
			s.Rub = &fettle.Rub{
				Grit: st.grit.Name, Block: string(p.hold()), Wet: f.Wet, TakeOffUM: t.w.Sum(st.take, basis), PaperCM2: rub.Paper(f),
			}
			if st.lay != strokeLay(0) {
				s.Rub.StrokeDeg = 90
			}
		case fettle.StepTumble:
			w.bath = st.bath
			basis = w.bath.proc.TimeConstantH.Basis
			w.hours = t.w.Sum(st.hours, basis)
			if st.until.PinnedH > 0 {
				w.hours = fettle.Exactly(st.until.PinnedH, "as the brief keeps it")
			}
			w.looks = func(ch *fettle.Charge) { p.hoursToLooks(t, st, ch) }
		case fettle.StepBuff:
			basis = st.mop.LimitRaUM.Basis
			w.hand = t.w.Sum(st.minutes, st.mop.MinPer100CM2.Basis).Plus(buffMin)
			s.Buff = &fettle.Buff{Mop: st.mop.Name, OpenShare: p.openShare()}
		}
		add(w, st.before, st.face, basis)
		if st.kind == fettle.StepSurface {
			out = append(out, p.sides...)
		}
		if st.kind == fettle.StepTumble && (p.rb.holds(ruleWashBetween) || i == len(stages)-1) {
			add(work{step: fettle.Step{Key: "wash", Kind: fettle.StepWash}, bath: st.bath, load: washMin, piece: rub.Drying()}, st.face, st.face, basis)
			wet = false
		} else if st.bath != nil {
			wet = !st.bath.Dry
		}
	}
	end := stages[len(stages)-1].face
	add(work{step: fettle.Step{Key: "inspect", Kind: fettle.StepInspect}, hand: inspectMin}, end, end, basis)
	return out
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
