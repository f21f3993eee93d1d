package finish

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"fettle"
	"fettle/internal/trade/reach"
	"fettle/internal/trade/tumble"
)

// bath is one kind of media in one vessel, working on this part's metal.
type bath struct {
	fettle.Media
	Vessel fettle.Vessel
	proc   tumble.Process
	jams   []fettle.Jam
	reach  *fettle.MediaReach // nil where it was not worked out
	loads  float64            // of this lot
	// wearPerH is the money that a load wears off its media in an hour, compound what
	// one load of it costs.
	wearPerH, compound float64
}

// wearPctH is the media's loss of weight an hour in this vessel.
func (b bath) wearPctH() fettle.Estimate {
	if b.Vessel.Kind == fettle.Rotary {
		return b.WearBarrelPctH
	}
	return b.WearBowlPctH.Scale(b.Vessel.Speedup.Value)
}

// findBaths pairs media with vessels, and leaves out with a reason what would
// jam, rust or not fit.
func (p *planner) findBaths() error {
	p.base, p.baths, p.refused, p.jamming = p.blank.clone(), nil, nil, 0
	vessels := make([]fettle.Vessel, 0, len(p.in.Shelf.Vessels))
	for _, v := range p.in.Shelf.Vessels {
		if tumble.TooBig(p.in.Survey.SizeMM, v) {
			p.refused = append(p.refused, fmt.Sprintf("the %s is not used: the part cannot turn over freely in it", lowerFirst(v.Title)))
			continue
		}
		vessels = append(vessels, v)
	}
	for _, m := range p.in.Shelf.Media {
		jams, got := p.meets(m)
		jams = p.counted(p.unplugged(jams), m)
		if worst, ok := worstJam(jams); p.bars(ruleJams, m, ok) {
			p.refused = append(p.refused, fmt.Sprintf("%s is not used: %s", m.Title, p.in.Brief.Display.Reword(worst.Why)))
			p.jamming++
			continue
		}
		if why := p.missesFace(got); p.bars(ruleTouchesFace, m, why != "") {
			p.refused = append(p.refused, fmt.Sprintf("%s is not used: %s", m.Title, why))
			continue
		}
		if p.bars(ruleSteelOnAlu, m, m.Kind == fettle.Steel && p.mat.Class == fettle.ClassAluminium) {
			p.refused = append(p.refused, fmt.Sprintf("%s is not used: steel media leave iron in %s, which then spots", m.Title, p.mat.Class))
			continue
		}
		for _, v := range vessels {
			if m.Dry && !v.Dry || !m.Dry && !v.Wet {
				continue
			}
			b := &bath{Media: m, Vessel: v, proc: p.in.Book.Process(m, v, p.mat, p.need.Tone), jams: jams, reach: got}
			ch, err := p.charge(*b, fettle.Exactly(1, fettle.BasisGuess), p.in.Brief.Lot)
			if err != nil {
				if fettle.CodeOf(err) != fettle.No {
					return err
				}
				p.refused = append(p.refused, fmt.Sprintf("%s is not used in %s: %s", m.Title, v.Name, err))
				continue
			}
			b.loads = float64(ch.Loads)
			b.wearPerH = b.wearPctH().Value / 100 * ch.MediaKg * b.PricePerKg.Value
			b.compound = ch.CompoundML.Value / 1000 * p.in.Shelf.Rates.CompoundPerL.Value
			p.baths = append(p.baths, b)
		}
	}
	return nil
}

// bars holds media to a rule of the shelf, and remembers where that bars a step that
// is kept.
func (p *planner) bars(rule string, m fettle.Media, broken bool) bool {
	bars := p.base.against(rule, broken)
	for _, v := range p.in.Shelf.Vessels {
		if bits, _ := p.wish.kept(tumbleKey(m.Name, v.Name)); bars && bits != 0 {
			p.base.kept[rule]++
		}
	}
	return bars
}

// charge makes up a load of a lot.
func (p *planner) charge(b bath, hours fettle.Estimate, lot int) (fettle.Charge, error) {
	s := p.in.Survey
	c, err := tumble.Plan(tumble.Load{
		PartVolumeMM3: s.VolumeMM3, PartAreaMM2: s.AreaMM2, PartSizeMM: s.SizeMM, Lot: lot,
		Material: p.mat, Media: b.Media, Vessel: b.Vessel, Hours: hours, Jams: b.jams, Cosmetic: true, Tone: p.need.Tone,
	})
	c.ReachedShare, c.Leaves = 1, []fettle.LeftAsCut{}
	if b.reach != nil {
		if z := zoneReach(b.reach, p.main.ID); z != nil {
			c.ReachedShare = z.ReachedShare
		}
		c.Leaves = b.reach.Leaves
	}
	return c, err
}

// counted puts what the shop has counted on this very part in the place of what is
// worked out. A part is known by the title of its brief or the name of its file.
func (p *planner) counted(jams []fettle.Jam, m fettle.Media) []fettle.Jam {
	stem := strings.TrimSuffix(p.in.Survey.File, extension(p.in.Survey.File))
	out := slices.Clone(jams)
	for i := range out {
		for _, part := range []string{p.in.Brief.Title, stem} {
			e, ok := p.in.Book.Jam(part, out[i].Opening, m.Name)
			if ok && part != "" {
				out[i].Chance = fettle.ChanceOf(e.Value)
				out[i].Why = fmt.Sprintf("by count, %s, a piece of %s stays in %s of %.0f in 100 parts (%.0f–%.0f)", e.Basis, m.Name, out[i].Opening, 100*e.Value, 100*e.Low, 100*e.High)
				break
			}
		}
	}
	return out
}

// unplugged leaves out the jams in openings that are closed.
func (p *planner) unplugged(jams []fettle.Jam) []fettle.Jam {
	return slices.DeleteFunc(slices.Clone(jams), func(j fettle.Jam) bool {
		return slices.ContainsFunc(p.plugged, func(g fettle.Plug) bool { return g.Opening == j.Opening || slices.Contains(g.With, j.Opening) })
	})
}

// smallJam is the chance below which a jam is not worth a line.
const smallJam = 0.005

// worstEach keeps the likelier of the judgements for each opening, new or worn.
func worstEach(jams []fettle.Jam) []fettle.Jam {
	var out []fettle.Jam
	for _, j := range jams {
		i := slices.IndexFunc(out, func(k fettle.Jam) bool { return k.Opening == j.Opening })
		switch {
		case i < 0:
			out = append(out, j)
		case j.Chance.P > out[i].Chance.P:
			out[i] = j
		}
	}
	return out
}

// jamWarning says, for media that are used all the same, where a piece may
// stay, with the reason of the likeliest place; empty where none is worth a line.
func jamWarning(b *bath, sys fettle.System) string {
	var where []string
	var worst fettle.Jam
	for _, j := range worstEach(b.jams) {
		if j.Chance.P <= smallJam {
			continue
		}
		where = append(where, j.Opening)
		if j.Chance.P > worst.Chance.P {
			worst = j
		}
	}
	if len(where) == 0 {
		return ""
	}
	return fmt.Sprintf("%s: a %s chance that a piece stays in %s: %s", b.Title, worst.Chance.Word, strings.Join(where, ", "), sys.Reword(worst.Why))
}

// worstJam is the likeliest jam that counts.
func worstJam(jams []fettle.Jam) (fettle.Jam, bool) {
	if len(jams) == 0 {
		return fettle.Jam{}, false
	}
	sorted := append([]fettle.Jam(nil), jams...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].Chance.P > sorted[j].Chance.P })
	return sorted[0], sorted[0].Chance.P >= reach.RealJam
}

// bathOf finds the bath of a charge again.
func (p *planner) bathOf(c fettle.Charge) *bath {
	for _, b := range p.baths {
		if b.Name == c.Media && b.Vessel.Name == c.Vessel {
			return b
		}
	}
	panic("finish: a charge of a bath that is not there")
}
