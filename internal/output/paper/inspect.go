package paper

import (
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// inspection lists the sizes to measure: before finishing, with the allowance
// still on, and after, with a blank for the drawing's tolerance; and the texture that
// is wanted.
func (t *traveler) inspection() {
	p := t.plan
	var rows [][]string
	add := func(what string, after, before float64, tolerance string) {
		rows = append(rows, []string{what, exact(t.sys, before), exact(t.sys, after), tolerance, "", ""})
	}
	ax := t.axes()
	for k, name := range []string{t.say("Overall, X"), t.say("Overall, Y"), t.say("Thickness, Z")} {
		if v := p.Survey.SizeMM[ax[k]]; v > 0 && finite(v) {
			add(name, v, v+(t.leftOn(ax[k], 1)+t.leftOn(ax[k], -1))/1000, t.tolerance("Overall size along "+[]string{"X", "Y", "Z"}[ax[k]], ""))
		}
	}
	for _, o := range p.Survey.Openings {
		wall := t.wallAllowance(o.ID) / 1000
		switch {
		case o.Kind == fettle.Hole:
			add(o.ID+", "+strings.Join(draw.OpeningIn(o, t.sys, t.tongue), ", "), o.WidthMM, o.WidthMM-2*wall, t.tolerance("Diameter", o.ID))
		default:
			add(t.say("%s, %s, width", o.ID, draw.OpeningForm(o, t.tongue)), o.WidthMM, o.WidthMM-2*wall, t.tolerance("Width", o.ID))
			add(t.say("%s, length", o.ID), o.LengthMM, o.LengthMM-2*wall, t.tolerance("Length", o.ID))
		}
	}
	rows = append(rows, t.textureRows()...)
	s := t.sheet
	s.section(t.say("Inspection"), 30)
	s.flow(prose(t.allowanceSays(), s.width(), bodySize, false), nil)
	s.y += 1.5
	s.table([]string{t.say("What"), t.say("Before finishing"), t.say("After finishing"), t.say("Tolerance"), t.say("Measured before"), t.say("Measured after")}, rows, []float64{2.3, 1.15, 1.15, 1.1, 1.05, 1.05})
}

// tolerance is what the first article's record allows of a size, by the names that it
// has there; empty, for a blank, where it names none.
func (t *traveler) tolerance(what, place string) string {
	if t.opt.Acceptance == nil {
		return ""
	}
	for _, l := range t.opt.Acceptance.First {
		if l.What != what || l.Place != place || l.Low == nil || l.High == nil {
			continue
		}
		k := 1.0
		switch l.Unit {
		case "mm":
		case "in":
			k = fettle.MMPerInch
		default:
			continue
		}
		return "± " + exact(t.sys, k*(*l.High-*l.Low)/2)
	}
	return ""
}

// textureRows are the limits of the show face's texture: the signed-off sample's
// stand in a list of their own, else the drawing's or the look's.
func (t *traveler) textureRows() [][]string {
	p := t.plan
	before := "–"
	for _, st := range p.Route { // what the last pass over the show face leaves
		if st.Pass != nil && given(st.RaUM) && t.class(st.Zone) == fettle.Show {
			before = "Ra " + t.sys.Height(st.RaUM.Value)
		}
	}
	var rows [][]string
	add := func(what, tol string) {
		b := before
		if len(rows) > 0 {
			b = "–"
		}
		rows = append(rows, []string{what, b, tol, t.say("upper limit"), "", ""})
	}
	ra, rz := p.Brief.RaMaxUM, p.Brief.RzMaxUM
	if ra > 0 {
		add(t.say("Show face, from the drawing"), "Ra "+t.sys.Height(ra))
	}
	if rz > 0 {
		add(t.say("Show face, from the drawing"), "Rz "+t.sys.Height(rz))
	}
	if e := p.Look.RaUM; len(rows) == 0 && given(e) {
		rows = append(rows, []string{t.say("Show face, for %s", first(p.Look.Title, p.Look.Name)), before, "Ra " + t.sys.Height(e.Value), between(t.sys.Height(e.Low), t.sys.Height(e.High)), "", ""})
	}
	return rows
}

// class is that of a zone; Show where it is not known.
func (t *traveler) class(zone string) fettle.Class {
	for _, z := range t.plan.Zones {
		if z.ID == zone {
			return z.Class
		}
	}
	return fettle.Show
}

// leftOn is the allowance, in µm, on the side of the part that looks along
// model axis k with the given sign.
func (t *traveler) leftOn(k int, sign float64) float64 {
	dir := [3]float64{}
	dir[k] = sign
	best, at := 0.5, ""
	for _, z := range t.plan.Zones {
		if c := r3.Dot(geom.Vec(dir), geom.Vec(z.Up)); c > best && z.ID != "openings" {
			best, at = c, z.ID
		}
	}
	if at == "" {
		at = "sides"
	}
	return t.allowance(at)
}

func (t *traveler) allowance(zone string) float64 {
	if e, ok := t.plan.AllowanceUM[zone]; ok && given(e) {
		return e.Value
	}
	return 0
}

// wallAllowance is the allowance, in µm, on the walls of an opening.
func (t *traveler) wallAllowance(opening string) float64 {
	if _, ok := t.plan.AllowanceUM[opening]; ok {
		return t.allowance(opening)
	}
	if _, ok := t.plan.AllowanceUM["openings"]; ok {
		return t.allowance("openings")
	}
	return t.allowance("sides")
}

// allowanceSays names what is left on each zone for the finishing.
func (t *traveler) allowanceSays() string {
	var ids, others []string
	name := map[string]string{}
	for _, z := range t.plan.Zones {
		name[z.ID] = z.Name
		ids = append(ids, z.ID)
	}
	for id := range t.plan.AllowanceUM {
		if _, ok := name[id]; !ok {
			others = append(others, id)
		}
	}
	slices.Sort(others)
	ids = append(ids, others...)
	var says []string
	for _, id := range ids {
		if e := t.plan.AllowanceUM[id]; given(e) {
			says = append(says, strings.ToLower(first(name[id], id))+" "+ranged(e, t.sys.Fine))
		}
	}
	if len(says) == 0 {
		return t.say("Sizes are those of the model; no allowance for finishing was worked out.")
	}
	return t.say("Finishing takes off, a side: %s. Sizes before finishing include it; sizes after are the model's. The drawing's tolerances win.", points(says))
}
