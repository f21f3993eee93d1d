package recipe

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/rub"
)

// apart is how far two sizes are apart, as a logarithm; large where one is none.
func apart(a, b float64) float64 {
	switch {
	case a == b:
		return 0
	case !(a > 0) || !(b > 0):
		return 1e3
	}
	return math.Abs(math.Log(a / b))
}

// alike is how far two sizes of the same thing may be apart: they are written down
// rounded.
const alike = 0.005

// pass finds a cutter of the same shape. Its nose decides: on a flat, cusps of height
// h = R − √(R² − s²/4) at stepover s, and s = 2√(2Rh − h²) for the same cusps
// (docs/physics.md, What a cutter leaves). A bend of the face changes both cutters'
// cusps alike to within R/ρ, so ratios are told.
func (m *mapper) pass(i int, out *fettle.MappedStep) {
	// Past a factor of four in the nose another cutter is another way to work.
	farthest := math.Log(4)
	s := m.r.Steps[i]
	was := s.Cutter
	if was == nil {
		name := ""
		if s.Pass != nil {
			name = s.Pass.Cutter
		}
		c, err := m.shelf.Cutter(name)
		m.use(out, byName(fettle.KeptCutter, name, err == nil), "pass "+c.Name, rankCutter, fmt.Sprintf("a cutter such as %s", name))
		return
	}
	best, least := -1, math.Inf(1)
	for k, c := range m.shelf.Cutters {
		if c.Shape != was.Shape {
			continue
		}
		d := apart(c.DiameterMM, was.DiameterMM)
		if c.Shape != fettle.Flat {
			d = apart(c.NoseMM(), was.NoseMM()) + d/100 // the diameter where noses are alike
		}
		if c.Name != was.Name {
			d += 1e-9 // of two that are alike, the one of this name
		}
		if d < least {
			best, least = k, d
		}
	}
	if best < 0 || least > farthest {
		says := fmt.Sprintf("No %s of about %s.", noun(was.Shape), fettle.Metric.Length(was.DiameterMM))
		m.use(out, stand(fettle.KeptCutter, was.Name, "", fettle.NoMatch, says), "", rankCutter, fmt.Sprintf("a %s of %s", noun(was.Shape), fettle.Metric.Length(was.DiameterMM)))
		return
	}
	now := m.shelf.Cutters[best]
	u := stand(fettle.KeptCutter, was.Name, now.Name, fettle.SameThing, sameThing(was.Name, now.Name))
	if apart(now.DiameterMM, was.DiameterMM) > alike || apart(now.CornerMM, was.CornerMM) > alike {
		u.Grade = fettle.CloseKin
		u.Says = fmt.Sprintf("%s of %s in place of %s.", upper(noun(now.Shape)), fettle.Metric.Length(now.DiameterMM), fettle.Metric.Length(was.DiameterMM))
		if says := cuspSays(*was, now, s.Pass); says != "" {
			out.Says = append(out.Says, says)
		}
		if now.DiameterMM > was.DiameterMM*(1+alike) {
			out.Says = append(out.Says, fmt.Sprintf("It is %.2g times as thick: it may not get into every hollow and corner that %s did; the plan of the part says.", now.DiameterMM/was.DiameterMM, was.Name))
		}
	}
	if now.ReachMM > 0 && now.ReachMM < was.ReachMM*(1-alike) {
		u.Grade = worse(u.Grade, fettle.CloseKin)
		out.Says = append(out.Says, fmt.Sprintf("It reaches %s below its holder in place of %s.", fettle.Metric.Length(now.ReachMM), fettle.Metric.Length(was.ReachMM)))
	}
	m.use(out, u, "pass "+now.Name, rankCutter, "")
}

// cuspSays is what another nose does to the cusps and the minutes of a pass; empty
// where it leaves none.
func cuspSays(was, now fettle.Cutter, p *fettle.Pass) string {
	if p == nil || !(p.CuspUM > 0) || !(p.StepoverMM > 0) || !(was.NoseMM() > 0) || !(now.NoseMM() > 0) {
		return ""
	}
	flat, err := cusp.Height(was.NoseMM(), p.StepoverMM)
	if err != nil {
		return ""
	}
	step, err := cusp.Stepover(now.NoseMM(), flat)
	if err != nil {
		return ""
	}
	keep := fmt.Sprintf("for the same cusps of %s take %s, which is %.2f times the minutes at the same feed",
		fettle.Metric.Height(p.CuspUM), fettle.Metric.Small(step), p.StepoverMM/step)
	here, err := cusp.Height(now.NoseMM(), p.StepoverMM)
	if err != nil {
		return fmt.Sprintf("Passes %s apart do not overlap with its nose of %s; %s.", fettle.Metric.Small(p.StepoverMM), fettle.Metric.Length(now.NoseMM()), keep)
	}
	return fmt.Sprintf("At the same stepover of %s its cusps are %.2f times as high, %s in place of %s; %s.",
		fettle.Metric.Small(p.StepoverMM), here/flat, fettle.Metric.Height(p.CuspUM*here/flat), fettle.Metric.Height(p.CuspUM), keep)
}

func noun(s fettle.CutterShape) string {
	switch s {
	case fettle.Ball:
		return "ball"
	case fettle.Bull:
		return "bull nose"
	}
	return "square end mill"
}

// nextGrain is how far two grains may be apart for one paper to stand for the other:
// about one neighbour in a scale. A starting guess. widest is the largest step down
// between neighbours of a ladder: common practice.
const (
	nextGrain = 1.4
	widest    = 2.2
)

// ladder finds the papers of all steps together, for grits of two scales do not stand
// in one ladder. The scale with which most steps find a paper is taken; the recipe's own
// where that makes no difference.
func (m *mapper) ladder() {
	var scales []fettle.GritScale
	add := func(s fettle.GritScale) {
		for _, o := range scales {
			if o == s {
				return
			}
		}
		scales = append(scales, s)
	}
	for _, s := range m.r.Steps {
		if s.Grit != nil {
			add(s.Grit.Scale)
		}
	}
	for _, g := range m.shelf.Grits {
		add(g.Scale)
	}
	most := -1
	for _, scale := range scales {
		got := map[int]*fettle.Grit{}
		for i, s := range m.r.Steps {
			if s.Grit == nil {
				continue
			}
			if g := m.paper(*s.Grit, scale); g != nil {
				got[i] = g
			}
		}
		if len(got) > most {
			most, m.grits = len(got), got
		}
	}
}

// paper is the shelf's paper of a scale that is nearest to another: by its number
// within one scale, and by grain between two.
func (m *mapper) paper(was fettle.Grit, scale fettle.GritScale) *fettle.Grit {
	var best *fettle.Grit
	least := math.Log(nextGrain)
	for k := range m.shelf.Grits {
		g := &m.shelf.Grits[k]
		switch {
		case g.Scale != scale:
		case g.Scale == was.Scale && g.Number == was.Number:
			if best == nil || best.Number != was.Number || g.Name == was.Name {
				best, least = g, -1
			}
		case apart(g.GrainUM, was.GrainUM) < least:
			best, least = g, apart(g.GrainUM, was.GrainUM)
		}
	}
	return best
}

func (m *mapper) rub(i int, out *fettle.MappedStep) {
	s := m.r.Steps[i]
	was := s.Grit
	if was == nil {
		name := ""
		if s.Rub != nil {
			name = s.Rub.Grit
		}
		g, err := m.shelf.Grit(name)
		m.use(out, byName(fettle.KeptGrit, name, err == nil), "rub "+g.Name, rankGrit, fmt.Sprintf("paper such as %s", name))
		return
	}
	now := m.grits[i]
	if now == nil {
		says := fmt.Sprintf("No paper with a grain of about %.3g µm.", was.GrainUM)
		m.use(out, stand(fettle.KeptGrit, was.Name, "", fettle.NoMatch, says), "", rankGrit, fmt.Sprintf("%s paper, grain %.3g µm", was.Name, was.GrainUM))
		return
	}
	u := stand(fettle.KeptGrit, was.Name, now.Name, fettle.SameThing, sameThing(was.Name, now.Name))
	switch {
	case now.Scale != was.Scale:
		u.Grade = fettle.CloseKin
		u.Says = fmt.Sprintf("Chosen by its grain of %.3g µm beside %.3g µm; numbers of the scales %s and %s are not to be compared.", now.GrainUM, was.GrainUM, now.Scale, was.Scale)
	case now.Number != was.Number:
		u.Grade = fettle.CloseKin
		u.Says = fmt.Sprintf("The nearest of the scale %s, with a grain of %.3g µm beside %.3g µm.", now.Scale, now.GrainUM, was.GrainUM)
	}
	if u.Grade == fettle.CloseKin {
		out.Says = append(out.Says, fmt.Sprintf("It leaves about Ra %s in place of %s, and takes %.2f times the minutes for the same depth.",
			fettle.Metric.Height(rub.Ra(*now, m.mat.Class).Value), fettle.Metric.Height(rub.Ra(*was, m.mat.Class).Value), was.GrainUM/now.GrainUM))
	}
	if before := m.before(i); before != nil {
		switch step := before.GrainUM / now.GrainUM; {
		case before.Name == now.Name:
			out.Says = append(out.Says, "The step before has the same paper: leave one of the two out.")
		case step <= 1:
			out.Says = append(out.Says, fmt.Sprintf("It is no finer than %s of the step before: leave one of the two out.", before.Name))
		case step > widest:
			out.Says = append(out.Says, fmt.Sprintf("From %s of the step before that is a step of %.1f in grain, where common practice stops at about %.1f: a paper between them saves time.", before.Name, step, widest))
		}
	}
	m.use(out, u, "rub "+now.Name, rankGrit, "")
}

// before is the paper of the rubbing before, if any.
func (m *mapper) before(i int) *fettle.Grit {
	for k := i - 1; k >= 0; k-- {
		if g := m.grits[k]; g != nil {
			return g
		}
	}
	return nil
}

// buff finds a mop: the same wheel with a compound that tends to the same face, else
// the one whose limit is nearest.
func (m *mapper) buff(i int, out *fettle.MappedStep) {
	s := m.r.Steps[i]
	was := s.Mop
	if was == nil {
		name := ""
		if s.Buff != nil {
			name = s.Buff.Mop
		}
		p, err := m.shelf.Mop(name)
		m.use(out, byName(fettle.KeptMop, name, err == nil), "buff "+p.Name, rankMop, fmt.Sprintf("a mop such as %s", name))
		return
	}
	// A mop of another wheel counts as farther off, and one that tends to a face twice
	// as rough or fine does another thing.
	farthest, otherWheel := math.Log(2), 0.2
	best, least := -1, math.Inf(1)
	for k, p := range m.shelf.Mops {
		d := apart(p.LimitRaUM.Value, was.LimitRaUM.Value)
		if d > farthest {
			continue
		}
		if fettle.FoldName(p.Wheel) != fettle.FoldName(was.Wheel) {
			d += otherWheel
		}
		if p.Name != was.Name {
			d += 1e-9
		}
		if d < least {
			best, least = k, d
		}
	}
	if best < 0 {
		m.use(out, stand(fettle.KeptMop, was.Name, "", fettle.NoMatch, fmt.Sprintf("No mop here tends to about Ra %s on steel.", fettle.Metric.Height(was.LimitRaUM.Value))), "", rankMop,
			fmt.Sprintf("a mop of %s with %s", was.Wheel, was.Compound))
		return
	}
	now := m.shelf.Mops[best]
	u := stand(fettle.KeptMop, was.Name, now.Name, fettle.SameThing, sameThing(was.Name, now.Name))
	if fettle.FoldName(now.Wheel) != fettle.FoldName(was.Wheel) || fettle.FoldName(now.Compound) != fettle.FoldName(was.Compound) ||
		apart(now.LimitRaUM.Value, was.LimitRaUM.Value) > alike || apart(now.MinPer100CM2.Value, was.MinPer100CM2.Value) > alike {
		u.Grade = fettle.CloseKin
		u.Says = fmt.Sprintf("%s with %s in place of %s with %s.", upper(now.Wheel), now.Compound, was.Wheel, was.Compound)
		out.Says = append(out.Says, fmt.Sprintf("It tends to Ra %s in place of %s, in %.2f times the minutes.",
			fettle.Metric.Height(rub.MopLimit(now, m.mat.Class).Value), fettle.Metric.Height(rub.MopLimit(*was, m.mat.Class).Value), now.MinPer100CM2.Value/was.MinPer100CM2.Value))
	}
	m.use(out, u, "buff "+now.Name, rankMop, "")
}

// use puts a stand into a step; where nothing stands for the thing it is missing.
func (m *mapper) use(out *fettle.MappedStep, u fettle.Stand, key string, rank int, want string) {
	out.Uses = append(out.Uses, u)
	if u.Grade == fettle.NoMatch {
		instead := "plan the finish without this step"
		if rank == rankCutter {
			instead = "let the plan choose another cutter"
		}
		m.lacking(rank, "For %q there is nothing here. %s Get %s, or %s.", out.Was, u.Says, want, instead)
		return
	}
	out.Now = key
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return string(s[0]&^0x20) + s[1:]
}
