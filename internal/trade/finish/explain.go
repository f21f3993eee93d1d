package finish

import (
	"fmt"
	"slices"

	"fettle"
	"fettle/internal/trade/law"
)

// Laws by the kind of step that follows them, with their sources.
var laws = map[fettle.StepKind]struct{ ra, time, removed, edge, source string }{
	fettle.StepSurface: {
		ra: "Ra = √(bare² + (0.2566·h)²), h the cusp height by geometry, or as simulated, × what the mill adds", removed: "nothing: removal counts from here",
		edge: "as cut", source: "geometry of parabolic cusps; Qu and Shih, Machining Science and Technology 7 (2003) 281; × 1–2 for the machine: common practice",
	},
	fettle.StepDeburr: {
		ra: "unchanged", time: "minutes per metre of edge and per piece", removed: "nothing from the face", edge: "the wider of as cut and as broken by hand", source: fettle.BasisGuess,
	},
	fettle.StepRub: {
		ra:      "Ra = 0.00407·d^1.116 µm, d the mean grain in µm, × 1.3 for soft metals",
		time:    "6 min per 100 cm² of steel at P320, × (area/100 cm²)^0.475 × removal ÷ grain × metal × shape",
		removed: "the mean above the bottom of what came before, by its material ratio curve", edge: "√(r² + Δr²)",
		source: "Lexikon der Pharmatechnologie (2013), ground stainless steel; size: 59 cast pieces, GLMsData (Dunn and Smyth); pace: starting guess",
	},
	fettle.StepTumble: {
		ra:      "R(t) = RL + (R0 − RL)·e^(−t/T); older marks by truncation through their material ratio curve",
		time:    "t = T·ln((R0 − RL)/(R − RL)), and until no older mark is found",
		removed: "M(t) = Ms·t", edge: "√(r² + 4·M·L), L = 0.3 mm",
		source: "Hashimoto, CIRP Annals 45 (1996) 303 (form from memory); constants: see the inputs",
	},
	fettle.StepBuff: {
		ra: "R(t) = RL + (R0 − RL)·e^(−t/T)", time: "t = T·ln((R0 − RL)/(R − RL)), T by area", removed: "M(t) = Ms·t", edge: "√(r² + 4·M·L), L = 0.3 mm",
		source: "the form as for media; constants: " + fettle.BasisGuess,
	},
}

// accounts say of every predicted number of a route how it came about: the route is
// played again with one unknown out at a time.
func (p *planner) accounts(route fettle.Route, t *kit, stages []stage) []fettle.Account {
	names := t.w.Names()
	alone := p.newKit(law.Alone(names))
	ms := make([]*move, len(stages))
	for i, s := range stages {
		ms[i] = s.move
	}
	again := alone.replay(ms)
	out := []fettle.Account{}
	add := func(step int, of, unit, law, source string, value fettle.Estimate, v []float64) {
		a := fettle.Account{Of: fmt.Sprintf("%s of step %d", of, step+1), Step: step, Unit: unit, Value: value, Law: law, Source: source, Inputs: []fettle.Input{}}
		for i, s := range alone.w.Shares(v) {
			if s > 0 {
				e, u := alone.w.Known(names[i])
				a.Inputs = append(a.Inputs, fettle.Input{Name: names[i], Unit: u, Value: e, Share: s})
			}
		}
		slices.SortStableFunc(a.Inputs, func(x, y fettle.Input) int {
			switch {
			case x.Share > y.Share:
				return -1
			case x.Share < y.Share:
				return 1
			}
			return 0
		})
		out = append(out, a)
	}
	i := 0
	for n := range route {
		s := &route[n]
		if i >= len(again) || s.Key != again[i].key || s.Zone != p.main.ID {
			continue // a side, a wash, the last look: nothing is predicted of the face
		}
		st := again[i]
		i++
		l := laws[s.Kind]
		ra, took := make([]float64, alone.w.N()), make([]float64, alone.w.N())
		for k := range ra {
			ra[k] = st.face.Measured(k)
			took[k] = st.face.Removed[k]
			if st.before != nil {
				took[k] -= st.before.Removed[k]
			}
		}
		if s.Kind != fettle.StepDeburr {
			add(n, "Ra", "µm", l.ra, l.source, s.RaUM, ra)
		}
		if st.hours != nil && s.Charge != nil {
			add(n, "hours", "h", l.time, l.source, s.Charge.Hours, st.hours)
		}
		if st.minutes != nil {
			name := "minutes a piece"
			if p.learns() {
				name = "minutes of the first piece"
			}
			add(n, name, "min", l.time, l.source, s.MinutesAttended.Scale(1/p.learnedLot), st.minutes)
		}
		if s.RemovedUM.High > 0 {
			add(n, "removal", "µm", l.removed, l.source, s.RemovedUM, took)
		}
		add(n, "edge radius", "µm", l.edge, l.source, s.EdgeRadiusUM, st.face.Edge)
	}
	return out
}
