package finish

import (
	"fmt"
	"strings"

	"fettle"
	"fettle/internal/trade/jam"
	"fettle/internal/trade/reach"
	"fettle/internal/trade/tumble"
)

// meets is what media do on this part: their jams, and where they reach, nil
// where that was not worked out.
func (p *planner) meets(m fettle.Media) ([]fettle.Jam, *fettle.MediaReach) {
	if p.in.Reach != nil {
		for i := range p.in.Reach.Media {
			if r := &p.in.Reach.Media[i]; r.Name == m.Name {
				return r.Jams, r
			}
		}
	}
	return jam.Jams(p.in.Survey.Openings, m), nil
}

// zoneReach is how media do on one zone; nil where that is not known.
func zoneReach(r *fettle.MediaReach, zone string) *fettle.ZoneReach {
	for i := range r.Zones {
		if r.Zones[i].Zone == zone {
			return &r.Zones[i]
		}
	}
	return nil
}

// missesFace says why media do not do for the judged face; empty where they
// do.
func (p *planner) missesFace(r *fettle.MediaReach) string {
	if r == nil {
		return ""
	}
	z := zoneReach(r, p.main.ID)
	if z == nil || z.ReachedShare >= reach.FullReach {
		return ""
	}
	says := fmt.Sprintf("it touches %.0f %% of the %s", 100*z.ReachedShare, strings.ToLower(p.main.Name))
	for _, l := range r.Leaves {
		if l.Zone == p.main.ID {
			return says + "; " + p.in.Brief.Display.Reword(lowerFirst(strings.TrimSuffix(l.Says, ".")))
		}
	}
	return says
}

// removedFrom is what a route's charges take off a zone or, with an opening, off
// its walls: the removal from an open flat face times how openly the place lies
// to each of the media.
func (p *planner) removedFrom(c *told, zone string) fettle.Estimate {
	var sum fettle.Estimate
	for _, st := range c.stages {
		b := st.bath
		if b == nil {
			continue
		}
		took := c.took(st)
		z := (*fettle.ZoneReach)(nil)
		if b.reach != nil {
			z = zoneReach(b.reach, zone)
		}
		switch {
		case z != nil:
			took = took.Times(openness(z.Removal))
		case zone == recess:
			took = took.Times(tumble.RecessShare())
		}
		sum = sum.Plus(took)
	}
	if sum.Basis == "" {
		sum.Basis = fettle.BasisGuess
	}
	return sum
}

// took is what a stage takes off the judged face.
func (c *told) took(st stage) fettle.Estimate {
	v := make([]float64, len(st.face.Removed))
	for k := range v {
		v[k] = st.face.Removed[k] - st.before.Removed[k]
	}
	return c.t.w.Sum(v, st.bath.proc.RemovalUMH.Basis)
}

// recess is the zone of walls and floors of openings.
const recess = "openings"

// openness is a factor of removal that was worked out from directions, with the
// doubt of what it leaves out: pressure, and how media flow past.
func openness(ratio float64) fettle.Estimate {
	return fettle.Guess(ratio, ratio/1.5, ratio*1.5, "exposure, worked out; that removal goes with it is a starting guess")
}

// wallsOf are the allowances on the walls of each opening, by its id: what the
// charges take off an open flat face, by how openly the opening lies to the media
// that allowances were worked out for.
func (p *planner) wallsOf(c *told) map[string]fettle.Estimate {
	out := map[string]fettle.Estimate{}
	if p.in.Reach == nil {
		return out
	}
	open := fettle.Exactly(0, fettle.BasisGuess)
	for _, st := range c.stages {
		if st.bath != nil {
			open = open.Plus(c.took(st))
		}
	}
	for _, a := range p.in.Reach.Allowances {
		if a.Opening != "" {
			out[a.Opening] = open.Times(openness(a.Ratio))
		}
	}
	return out
}

// bestPlug says what closing frees the most media; empty where nothing does.
func (p *planner) bestPlug() string {
	if p.in.Reach == nil {
		return ""
	}
	var best fettle.Plug
	for _, g := range p.in.Reach.Plugs {
		if len(g.Frees) > len(best.Frees) {
			best = g
		}
	}
	return p.in.Brief.Display.Reword(strings.TrimSuffix(best.Says, "."))
}

// missed warns of faces that are looked at, besides the judged one, which a
// charge's media do not wholly touch.
func (p *planner) missed(b *bath) []string {
	var out []string
	if b.reach == nil {
		return nil
	}
	for _, z := range p.zones {
		if z.ID == p.main.ID || z.Class != fettle.Show {
			continue
		}
		if r := zoneReach(b.reach, z.ID); r != nil && r.ReachedShare < reach.FullReach {
			out = append(out, fmt.Sprintf("%s touches %.0f %% of the %s, which is looked at too; the rest stays as it was", b.Title, 100*r.ReachedShare, strings.ToLower(z.Name)))
		}
	}
	return out
}
