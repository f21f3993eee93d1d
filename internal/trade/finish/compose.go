package finish

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"
	"strings"

	"fettle"
	"fettle/internal/trade/price"
)

// compose turns the chosen candidate into a plan with its sentences.
func (p *planner) compose(c *candidate) *fettle.Plan {
	b := p.in.Brief
	pl := &fettle.Plan{
		Title: b.Title, Shop: b.Shop, Brief: b, Material: p.mat, Look: p.look, Survey: p.in.Survey,
		Zones: p.zones, Mill: p.mill, Curves: p.curves, Route: p.steps(c), Solids: []fettle.Solid{},
		Charges: []fettle.Charge{}, Meets: c.right(), Plugs: []fettle.Plug{}, Masks: []fettle.Mask{}, Edges: []fettle.EdgeWear{},
	}
	if r := p.in.Reach; r != nil {
		pl.Plugs, pl.Masks, pl.Edges = r.Plugs, r.Masks, r.Edges
	}
	if pl.Title == "" {
		pl.Title = strings.TrimSuffix(p.in.Survey.File, extension(p.in.Survey.File))
	}
	pl.Stock = p.stock()
	sys := b.Display
	pl.Stock.Says = fmt.Sprintf("saw %d blanks of %s × %s × %s, %s each", b.Lot,
		sys.Length(pl.Stock.SizeMM[0]), sys.Length(pl.Stock.SizeMM[1]), sys.Length(pl.Stock.SizeMM[2]), sys.Mass(pl.Stock.Kg*1000))
	for i := range pl.Route {
		p.describe(&pl.Route[i], c)
		if ch := pl.Route[i].Charge; ch != nil {
			ch.Step = i
			pl.Charges = append(pl.Charges, *ch)
		}
	}
	pl.AllowanceUM = p.allowance(c)
	pl.Cautions = p.cautions(pl.Route)
	pl.Price = price.Of(p.job(pl.Route))
	pl.Verdict = p.verdict(c)
	pl.Warnings = p.warnings(c)
	pl.LeftOut = append([]string{}, p.refused...)
	return pl
}

func extension(name string) string {
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		return name[i:]
	}
	return ""
}

// describe gives a step its name, what to do, what to look for and why.
func (p *planner) describe(s *fettle.Step, c *candidate) {
	sys := p.in.Brief.Display
	zone := strings.ToLower(p.main.Name)
	switch s.Kind {
	case fettle.StepSurface:
		if s.Zone == p.main.ID {
			p.describePass(s, zone, c)
		}
	case fettle.StepDeburr:
		s.Name = "Deburr by hand"
		s.Do = fmt.Sprintf("Break every outside edge evenly with a fine file and a scraper, %s of edge a piece; leave the %s alone", sys.About(p.in.Survey.SharpEdgeMM), zone)
		s.Look = "no burr catches a fingernail, and the broken edge is the same width all round"
		s.Why = []string{"a burr that breaks off under the paper scratches deeper than the paper does, and one that is tumbled over closes small holes"}
	case fettle.StepRub:
		p.describeRub(s, zone)
	case fettle.StepTumble:
		p.describeCharge(s, c)
	case fettle.StepWash:
		s.Name = "Wash and dry"
		s.Do = "Rinse media and parts in clean water, wash the parts with soap, rinse again and dry them at once with a cloth and warm air"
		if p.mat.Rusts {
			s.Do += "; this steel rusts within minutes, so oil or wax it as soon as it is dry"
		}
		s.Look = "no grey film comes off on a white cloth"
		s.Why = []string{"fines left on the part scratch in the next charge and stain when they dry"}
	case fettle.StepInspect:
		s.Name = "Inspect"
		s.Do = fmt.Sprintf("Look at every piece under one lamp held low, turning it through a quarter; measure Ra on the %s of the first, middle and last piece, and weigh three", zone)
		s.Look = fmt.Sprintf("the same %s as the agreed sample, Ra %s to %s, no mark from an earlier step", p.look.Name, sys.Height(p.need.LowUM), sys.Height(p.need.HighUM))
		s.Why = []string{"readings written down make the next lot's hours this shop's own"}
	}
}

func (p *planner) describePass(s *fettle.Step, zone string, c *candidate) {
	sys := p.in.Brief.Display
	pass := s.Pass
	cutter, err := p.in.Shelf.Cutter(pass.Cutter)
	if err != nil {
		panic("finish: a pass with a cutter that is not there")
	}
	s.Name = fmt.Sprintf("Last pass over the %s with %s", zone, lowerFirst(cutter.Title))
	s.Do = fmt.Sprintf("Sweep the %s in parallel passes %s apart, climb cutting one way, tolerance %s; %.0f rpm, %s, %s a piece",
		zone, sys.Small(pass.StepoverMM), sys.Fine(p.curveOptions().ToleranceUM), pass.SpindleRPM, sys.Feed(pass.FeedMMMin), fettle.Minutes(s.MinutesAlone.Value/float64(p.in.Brief.Lot)))
	s.Look = fmt.Sprintf("even lines %s apart, cusps about %s high, no step where two regions meet", sys.Small(pass.StepoverMM), sys.Height(s.Marks[0].HeightUM.Value))
	s.Why = p.whyPass(c)
	trial := p.whySimulated(*pass, s.MinutesAlone.Value/float64(p.in.Brief.Lot))
	s.Why = slices.Insert(s.Why, min(1, len(s.Why)), trial...)
	if pass.FacetDeg > 0.5 {
		s.Why = append(s.Why, fmt.Sprintf("a tolerance of %s turns the surface by %.1f° every %s on its tightest curve; that shows on a bright face long before it can be measured as a height", sys.Fine(p.curveOptions().ToleranceUM), pass.FacetDeg, sys.Small(pass.FacetMM)))
	}
}

func (p *planner) describeRub(s *fettle.Step, zone string) {
	sys := p.in.Brief.Display
	r := s.Rub
	how := "dry"
	if r.Wet {
		how = "wet"
	}
	lay := s.Marks[0].Lay
	s.Name = fmt.Sprintf("Sand the %s with %s, %s, on a %s", zone, r.Grit, how, r.Block)
	s.Do = fmt.Sprintf("Stroke %s until what came before is gone everywhere, %s at the peaks; about %s a piece and %s of paper",
		lay, sys.Fine(r.TakeOffUM.Value), fettle.Minutes(s.MinutesAttended.Value/float64(p.in.Brief.Lot)), sys.Area(r.PaperCM2.Value*100))
	s.Look = fmt.Sprintf("only %s scratches, all %s; nothing that crosses them", r.Grit, lay)
	s.Why = []string{fmt.Sprintf("the grit must cut to the bottom of what came before; its own furrows are about %s deep", sys.Fine(s.Marks[0].DepthUM.Value))}
	if r.Block == "formed block" {
		s.Why = append(s.Why, "a block that follows the curve bridges the cusps and cuts their peaks first, so the shape stays true")
	}
}

func (p *planner) describeCharge(s *fettle.Step, c *candidate) {
	sys := p.in.Brief.Display
	ch := s.Charge
	b := p.bathOf(*ch)
	s.Name = fmt.Sprintf("Tumble in %s in the %s", lowerFirst(b.Title), ch.Vessel)
	s.Do = fmt.Sprintf("%d pieces a load; look after %s and then as often again, rinse one piece and hold it under the lamp", ch.PartsPerLoad, fettle.Minutes(ch.FirstLookH*60))
	if ch.VentEveryH > 0 {
		s.Do += fmt.Sprintf("; stop and open the lid every %s", fettle.Minutes(ch.VentEveryH*60))
	}
	if mark := p.slowest(c, b); mark != "" {
		s.Look = mark + " gone in the hollows and along inside corners, which lag behind"
	} else {
		s.Look = "an even face; inside corners lag behind"
	}
	s.Why = []string{fmt.Sprintf("left to run, this media tends to Ra %s whatever it starts from", sys.Range(b.proc.LimitRaUM))}
	if b.Vessel.Kind == fettle.Vibratory {
		s.Why = append(s.Why, "a bowl works several times as fast as a barrel, and forgives minutes where the barrel forgives hours")
	}
	if ch.CriticalRPM > 0 && ch.RPM > 0 {
		s.Why = append(s.Why, fmt.Sprintf("%.0f %% of the critical %.0f rpm: the load slides and does not fall, so pieces do not dent each other", 100*ch.RPM/ch.CriticalRPM, ch.CriticalRPM))
	}
	if r := p.tooWideFor(b); b.reach == nil && r != "" { // else the charge says what it leaves
		s.Why = append(s.Why, r)
	}
}

// slowest names the mark that decides how long a charge runs.
func (p *planner) slowest(c *candidate, b bath) string {
	var name string
	var most float64
	for _, m := range c.after.marks {
		if d := meanDepth(m) / levelling(m, b.contactMM()); d > most {
			most, name = d, m.Cause
		}
	}
	return name
}

// tooWideFor says which inside corners a media does not get into.
func (p *planner) tooWideFor(b bath) string {
	half := math.Min(b.SizeMM[0], b.SizeMM[1]) / 2
	if b.Shape.Pointed() {
		half /= 4 // points and edges get in where the body does not
	}
	n, tightest := 0, math.Inf(1)
	for _, k := range p.in.Survey.Corners {
		if k.RadiusMM < half {
			n++
			tightest = math.Min(tightest, k.RadiusMM)
		}
	}
	if n == 0 {
		return ""
	}
	sys := p.in.Brief.Display
	radius := "sharp"
	if tightest > 0 {
		radius = "radius " + sys.Length(tightest)
	}
	noun := "inside corners stay"
	if n == 1 {
		noun = "inside corner stays"
	}
	return fmt.Sprintf("%d %s as cut, the tightest %s: pieces of this size do not get in", n, noun, radius)
}

// allowance is the material to leave on each zone before finishing starts, by
// what the route takes from it.
func (p *planner) allowance(c *candidate) map[string]fettle.Estimate {
	out := map[string]fettle.Estimate{}
	for _, z := range p.zones {
		if z.ID == p.main.ID || z.Class == fettle.Show {
			out[z.ID] = c.final.removed.Because(fettle.BasisGuess)
			continue
		}
		out[z.ID] = p.removedFrom(c, z.ID)
		if isRecess(z) {
			maps.Copy(out, p.wallsOf(c))
		}
	}
	return out
}

func (p *planner) verdict(c *candidate) string {
	sys := p.in.Brief.Display
	got := sys.Range(c.final.ra)
	want := fmt.Sprintf("%s to %s for %s", sys.Height(p.need.LowUM), sys.Height(p.need.HighUM), lowerFirst(p.need.Source))
	if c.right() {
		return fmt.Sprintf("yes: it should come out at Ra %s, wanted %s; about %.0f in 100 such lots would need another round", got, want, math.Max(1, 100*c.miss))
	}
	var why []string
	if c.rough {
		why = append(why, p.finest())
	}
	for _, m := range c.shows {
		why = append(why, fmt.Sprintf("%s would still show", m.Cause))
	}
	if c.edge {
		why = append(why, fmt.Sprintf("edges would be rounder than %s", sys.Fine(p.need.EdgeUM)))
	}
	if c.lay && p.need.Lay == fettle.LayNone {
		why = append(why, "no media on the shelf may be used on this part, and handwork alone leaves a direction")
	}
	if c.lay && p.need.Lay == fettle.LayOne {
		why = append(why, "no ladder of grits on the shelf leads to a single direction")
	}
	return fmt.Sprintf("no: with what is on the shelf it comes out at Ra %s, wanted %s; %s", got, want, strings.Join(why, "; "))
}

// finest names the media with the lowest limit that may be used on this part.
func (p *planner) finest() string {
	sys := p.in.Brief.Display
	if len(p.baths) == 0 {
		return "no media on the shelf may be used on this part"
	}
	sorted := append([]bath(nil), p.baths...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].proc.LimitRaUM.Value < sorted[j].proc.LimitRaUM.Value })
	b := sorted[0]
	return fmt.Sprintf("the finest media that may be used here, %s, tends to Ra %s: finer media, or a mop with polish by hand, would be needed", lowerFirst(b.Title), sys.Range(b.proc.LimitRaUM))
}

// warnings are what may go wrong, worst first.
func (p *planner) warnings(c *candidate) []string {
	var ws []string
	for _, m := range c.final.showing() {
		for _, s := range c.shows {
			if s.Cause == m.Cause {
				ws = append(ws, fmt.Sprintf("%s may still show under low light", m.Cause))
			}
		}
	}
	for _, b := range c.baths {
		if w := jamWarning(b, p.in.Brief.Display); w != "" {
			ws = append(ws, w)
		}
		ws = append(ws, p.missed(b)...)
	}
	if p.jamming > 0 && (len(c.baths) > 0 || !c.right()) {
		w := fmt.Sprintf("%d of the %d kinds of media on the shelf may stay in an opening and are left out", p.jamming, len(p.in.Shelf.Media))
		if plug := p.bestPlug(); plug != "" {
			w += "; " + plug
		}
		ws = append(ws, w)
	}
	return append(ws, p.in.Survey.Warnings...)
}

// offer is a plan as one of the finishes side by side.
func (p *planner) offer(pl *fettle.Plan, asked bool) fettle.Offer {
	return fettle.Offer{
		Look: p.look.Name, Title: p.look.Title, Asked: asked, Each: pl.Price.Each, AttendedH: pl.Price.AttendedH, AloneH: pl.Price.AloneH,
		RaUM: pl.Route[len(pl.Route)-1].RaUM, Meets: pl.Meets, Says: pl.Verdict,
	}
}

func lowerFirst(s string) string {
	if s == "" || len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
