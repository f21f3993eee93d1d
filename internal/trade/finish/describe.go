package finish

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/trade/rub"
)

// describe gives a step its name, what to do, what to look for and why.
func (p *planner) describe(s *fettle.Step, c *told) {
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
	case fettle.StepBuff:
		p.describeBuff(s, zone)
	case fettle.StepWash:
		if s.Key == "dry" {
			s.Name = "Dry"
			s.Do = "Rinse the pieces, wipe them and dry them with warm air, holes and slots too, and leave none wet"
			s.Look = "no drop comes out of a hole when a piece is shaken"
			s.Why = []string{"what comes next must be dry: damp cob clots and stains, and slurry on a mop scratches"}
			return
		}
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
		s.Look = fmt.Sprintf("the same face as on the agreed sample, Ra %s to %s, no mark from an earlier step", sys.Height(p.need.LowUM), sys.Height(p.need.HighUM))
		s.Why = []string{"readings written down make the next lot's hours this shop's own"}
	}
}

func (p *planner) describePass(s *fettle.Step, zone string, c *told) {
	sys := p.in.Brief.Display
	pass := s.Pass
	cutter, err := p.in.Shelf.Cutter(pass.Cutter)
	if err != nil {
		panic("finish: a pass with a cutter that is not there")
	}
	s.Name = fmt.Sprintf("Last pass over the %s with %s", zone, lowerFirst(cutter.Title))
	sweep := "Sweep the %s in parallel passes %s apart, climb cutting one way, tolerance %s; %.0f rpm, %s, %s a piece"
	if pass.Crossed {
		sweep = "Sweep the %s in parallel passes %s apart, then once more square to them, climb cutting, tolerance %s; %.0f rpm, %s, %s a piece"
	}
	s.Do = fmt.Sprintf(sweep,
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
	s.Do = fmt.Sprintf("Stroke %s until what came before is gone everywhere, %s at the peaks; %s, with %s of paper",
		lay, sys.Fine(r.TakeOffUM.Value), p.aPiece(s), sys.Area(r.PaperCM2.Value*100))
	s.Look = fmt.Sprintf("only %s scratches, all %s; nothing that crosses them", r.Grit, lay)
	s.Why = []string{fmt.Sprintf("the grit must cut to the bottom of what came before; its own furrows are about %s deep", sys.Fine(s.Marks[0].DepthUM.Value))}
	if r.Block == "formed block" {
		s.Why = append(s.Why, "a block that follows the curve bridges the cusps and cuts their peaks first, so the shape stays true")
	}
}

func (p *planner) describeCharge(s *fettle.Step, c *told) {
	sys := p.in.Brief.Display
	ch := s.Charge
	b, st := p.bathOf(*ch), c.stage(s.Key)
	s.Name = fmt.Sprintf("Tumble in %s in the %s", lowerFirst(b.Title), ch.Vessel)
	s.Do = fmt.Sprintf("%s; look after %s, rinse one piece and hold it under the lamp", loadsOf(*ch), lookTimes(ch.LooksH))
	if ch.Hours.High > 1.2*ch.Hours.Value {
		s.Do += fmt.Sprintf("; if it is not done then, go on looking at such times, to %s at the latest", fettle.Minutes(ch.Hours.High*60))
	}
	if ch.VentEveryH > 0 && ch.Hours.High > ch.VentEveryH {
		s.Do += fmt.Sprintf("; stop and open the lid every %s", fettle.Minutes(ch.VentEveryH*60))
	}
	if mark := slowest(st); mark != "" {
		s.Look = mark + " gone in the hollows and along inside corners, which lag behind"
	} else {
		s.Look = "an even face; inside corners lag behind"
	}
	if st.only {
		s.Look = "no burr catches a fingernail along any edge; what it does to the face besides is of no matter yet"
		s.Why = []string{fmt.Sprintf("the charge breaks every edge alike, with nobody standing by: %s of edge a piece by hand would take %s of a person for the lot",
			sys.About(p.in.Survey.SharpEdgeMM), fettle.Minutes(p.deburrMinutes()))}
	}
	s.Why = append(s.Why, fmt.Sprintf("left to run, this media tends to Ra %s whatever it starts from", sys.Range(b.proc.LimitRaUM)))
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

// slowest names the mark that a charge is likeliest to leave in the places where it
// lags behind; empty where it meets none.
func slowest(st *stage) string {
	var name string
	var most float64
	marks := st.before.Marks
	for i := range marks {
		var left float64
		for k := range marks[i].Left {
			left += marks[i].Left[k] * marks[i].Height[k]
		}
		if left > most {
			most, name = left, marks[i].Cause
		}
	}
	return name
}

// tooWideFor says which inside corners a media does not get into.
func (p *planner) tooWideFor(b *bath) string {
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

// aPiece says how long a piece takes by hand, and the first where the lot is learned.
func (p *planner) aPiece(s *fettle.Step) string {
	each := fettle.Minutes(s.MinutesAttended.Value / float64(p.in.Brief.Lot))
	if !p.learns() {
		return fmt.Sprintf("about %s a piece", each)
	}
	return fmt.Sprintf("about %s for the first piece and %s for one on the average", fettle.Minutes(s.MinutesAttended.Value/p.learnedLot), each)
}

// deburrMinutes is what breaking the edges of the lot by hand would take.
func (p *planner) deburrMinutes() float64 {
	min, _ := rub.Deburr(p.in.Survey.SharpEdgeMM, p.mat.Class)
	return min.Value * p.learnedLot
}

// loadsOf says how many pieces go into how many loads.
func loadsOf(ch fettle.Charge) string {
	switch {
	case ch.Loads == 1:
		return fmt.Sprintf("%s in one load", pieces(ch.PartsPerLoad))
	case ch.LastLoadParts > 0 && ch.LastLoadParts != ch.PartsPerLoad:
		return fmt.Sprintf("%d loads of %s, the last of %d", ch.Loads, pieces(ch.PartsPerLoad), ch.LastLoadParts)
	}
	return fmt.Sprintf("%d loads of %s", ch.Loads, pieces(ch.PartsPerLoad))
}

func pieces(n int) string {
	if n == 1 {
		return "1 piece"
	}
	return fmt.Sprintf("%d pieces", n)
}

// lookTimes says when to look: "1 h, 2 h and 3 h".
func lookTimes(hours []float64) string {
	var t []string
	for _, h := range hours {
		t = append(t, fettle.Minutes(h*60))
	}
	switch n := len(t); n {
	case 0:
		return "an hour"
	case 1:
		return t[0]
	default:
		return strings.Join(t[:n-1], ", ") + " and " + t[n-1]
	}
}

// describeBuff says how a mop is used.
func (p *planner) describeBuff(s *fettle.Step, zone string) {
	m, err := p.in.Shelf.Mop(s.Buff.Mop)
	if err != nil {
		panic("finish: a mop that is not there")
	}
	s.Name = fmt.Sprintf("Polish the %s on %s", zone, lowerFirst(m.Title))
	s.Do = fmt.Sprintf("Charge the mop with %s, work across the last lay and then along it, %s; keep it moving and off the edges, and wipe the piece with whiting and a soft cloth",
		m.Compound, p.aPiece(s))
	s.Look = "no grey haze and no line under one lamp turned through a quarter; drag marks mean too much compound"
	s.Why = []string{fmt.Sprintf("a mop brightens and does not level: it follows what is longer than about %s, and what it meets rougher than Ra %s it only makes shine", p.in.Brief.Display.About(m.ContactMM), p.in.Brief.Display.Height(m.StartRaUM))}
}
