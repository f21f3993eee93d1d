package offer

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/tongue"
)

// Promises are what the shop may promise of a plan's finish and what it may not, each a
// whole sentence for somebody who is no machinist. They follow from the plan's numbers;
// the day is not among them, as a plan knows none: the offer itself says it.
func Promises(pl *fettle.Plan, t *tongue.Tongue) (promised, not []string) {
	p := &promiser{pl: pl, t: t}
	p.roughness()
	p.edges()
	p.marks()
	p.alike()
	p.faces()
	p.unreached()
	p.sizes()
	p.metal()
	return p.promised, p.not
}

// promiser gathers sentences.
type promiser struct {
	pl            *fettle.Plan
	t             *tongue.Tongue
	promised, not []string
}

func (p *promiser) yes(says string) { p.promised = append(p.promised, says) }
func (p *promiser) no(says string)  { p.not = append(p.not, says) }

func (p *promiser) sys() fettle.System { return p.pl.Brief.Display }

// last is the last step that says what the show face is then like; nil without one.
func (p *promiser) last() *fettle.Step {
	zone := ""
	for _, z := range p.pl.Zones {
		if z.Class == fettle.Show {
			zone = z.ID
			break
		}
	}
	for i := len(p.pl.Route) - 1; i >= 0; i-- {
		if s := &p.pl.Route[i]; zone == "" || s.Zone == zone {
			return s
		}
	}
	return nil
}

// roughness promises the look's band, or the drawing's limit where there is one.
func (p *promiser) roughness() {
	t, ra, limit := p.t, p.pl.Look.RaUM, p.pl.Brief.RaMaxUM
	switch {
	case !p.pl.Meets:
		p.no(t.Say("With what the shop has, we do not expect the faces that show to come out as smooth as this finish asks."))
	case limit > 0:
		p.yes(t.Say("The faces that show are no rougher than your drawing allows: Ra %s.", p.sys().Height(limit)))
	case given(ra) && ra.Low < ra.High:
		p.yes(t.Say("The faces that show have a roughness Ra between %s and %s.", p.sys().Height(ra.Low), p.sys().Height(ra.High)))
	}
	if limit := p.pl.Brief.RzMaxUM; limit > 0 {
		p.no(t.Say("Whether the limit Rz %s of your drawing is kept cannot be told ahead; it is measured on the sample first.", p.sys().Height(limit)))
	}
}

// edges promises the radius to which edges are broken, and the drawing's limit only
// where even the roundest edge keeps it.
func (p *promiser) edges() {
	t, s := p.t, p.last()
	if s == nil || !given(s.EdgeRadiusUM) {
		return
	}
	e, limit := s.EdgeRadiusUM, p.pl.Brief.EdgeMaxUM
	length := func(um float64) string { return p.sys().Length(um / 1000) }
	if limit > 0 && e.High <= limit {
		p.yes(t.Say("Every outside edge is broken so that it does not cut, and none is rounder than the %s radius of your drawing.", length(limit)))
		return
	}
	p.yes(t.Say("Every outside edge is broken so that it does not cut, to a radius of %s to %s.", length(e.Low), length(e.High)))
	if limit > 0 {
		p.no(t.Say("Some edges may come out rounder than the %s radius that your drawing allows, at up to %s.", length(limit), length(e.High)))
	}
}

// marks tells which older marks may still be found. The scratches of the last grit are
// the finish itself where it wants a direction.
func (p *promiser) marks() {
	t, s := p.t, p.last()
	if s == nil {
		return
	}
	if p.pl.Look.CuspsMayShow {
		p.yes(t.Say("The cutter's fine lines stay: they belong to this finish and look even at arm's length."))
		return
	}
	own := ""
	for _, r := range p.pl.Route {
		if r.Rub != nil && r.Zone == s.Zone {
			own = r.Rub.Grit + " scratches"
		}
	}
	clear, worst := 1.0, fettle.Mark{}
	for _, m := range s.Marks {
		if m.Cause == own && p.pl.Look.Lay == fettle.LayOne {
			continue
		}
		clear *= 1 - m.Seen.P
		if m.Seen.P > worst.Seen.P {
			worst = m
		}
	}
	switch {
	case 1-clear <= max(0.05, p.pl.Look.MarkChance):
		p.yes(t.Say("On the faces that show, no marks of the cutter or of coarser sanding are seen at arm's length."))
	case worst.Cause == "cusps" || worst.Cause == "feed marks" || worst.Cause == "chord facets":
		p.no(t.Say("Under a low lamp, some lines of the cutter may still be found on the faces that show."))
	case strings.HasSuffix(worst.Cause, "scratches"):
		p.no(t.Say("Under a low lamp, some scratches of the sanding may still be found on the faces that show."))
	default:
		p.no(t.Say("Under a low lamp, some marks of the work before may still be found on the faces that show."))
	}
}

// alike is about the pieces of the lot against each other and against the sample.
func (p *promiser) alike() {
	t := p.t
	if p.pl.Brief.Lot > 1 {
		p.yes(t.Say("Once you have signed off a sample, the pieces are alike within the limits that are written down with it."))
		p.no(t.Say("The fine pattern differs from piece to piece, as grain does in wood."))
	}
	p.no(t.Say("Colour and gloss are not exact: both change with the light and with the batch of metal."))
}

// faces names the faces that are not judged.
func (p *promiser) faces() {
	var names []string
	for _, z := range p.pl.Zones {
		if z.Class != fettle.Show {
			names = append(names, strings.ToLower(clean(z.Name)))
		}
	}
	if len(names) > 0 {
		p.no(p.t.Say("Faces that do not show in use (%s) come clean and safe to touch, but not in this finish.", p.t.List(names)))
	}
}

// unreached names places that the last barrel or bowl leaves as they were cut.
func (p *promiser) unreached() {
	var leaves []fettle.LeftAsCut
	for _, s := range p.pl.Route {
		if s.Charge != nil {
			leaves = s.Charge.Leaves
		}
	}
	var names []string
	for _, l := range leaves {
		if n := p.place(l); !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	if len(names) > 0 {
		p.no(p.t.Say("Tumbling does not get everywhere; what it leaves as it was cut: %s.", p.t.List(names)))
	}
}

// place names a place so that somebody finds it who does not know the survey's names:
// an opening by its kind and width.
func (p *promiser) place(l fettle.LeftAsCut) string {
	t := p.t
	i := slices.IndexFunc(p.pl.Survey.Openings, func(o fettle.Opening) bool { return o.ID == l.Opening })
	if l.Opening == "" || i < 0 {
		return clean(l.Place)
	}
	o := &p.pl.Survey.Openings[i]
	wide := p.sys().Length(o.WidthMM)
	twins := 0
	for _, other := range p.pl.Survey.Openings {
		if other.Kind == o.Kind && p.sys().Length(other.WidthMM) == wide {
			twins++
		}
	}
	var what string
	switch {
	case o.Kind == fettle.Hole && twins > 1:
		what = t.Say("the %s holes", wide)
	case o.Kind == fettle.Hole:
		what = t.Say("the %s hole", wide)
	case o.Kind == fettle.Slot && twins > 1:
		what = t.Say("the %s wide slots", wide)
	case o.Kind == fettle.Slot:
		what = t.Say("the %s wide slot", wide)
	case o.Kind == fettle.Pocket && twins > 1:
		what = t.Say("the %s wide pockets", wide)
	case o.Kind == fettle.Pocket:
		what = t.Say("the %s wide pocket", wide)
	default:
		what = t.Say("the %s wide gap", wide)
	}
	where, _, _ := strings.Cut(l.Place, " "+l.Opening)
	switch where {
	case "inside corners of":
		return t.Say("the inside corners of %s", what)
	case "bottom of":
		return t.Say("the bottom of %s", what)
	case "underside in":
		return t.Say("the underside in %s", what)
	case "walls of":
		return t.Say("the walls of %s", what)
	}
	return fmt.Sprintf("%s (%s)", clean(l.Place), what)
}

// sizes is about holes and threads, which finishing changes by a little.
func (p *promiser) sizes() {
	if slices.ContainsFunc(p.pl.Survey.Openings, func(o fettle.Opening) bool { return o.Kind == fettle.Hole }) {
		p.no(p.t.Say("Finishing takes a little off; the sizes of holes are promised only where your drawing gives a tolerance."))
	}
}

// metal is about what air and hands do to it later.
func (p *promiser) metal() {
	t, m := p.t, p.pl.Material
	switch {
	case m.Class == fettle.ClassBrass:
		p.no(t.Say("Copper alloys darken with air and touch; the tone of the first day does not stay."))
	case m.Rusts:
		p.no(t.Say("This steel rusts where it is kept damp and bare."))
	}
}
