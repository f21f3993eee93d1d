package cusp

import (
	"fmt"
	"math"

	"fettle"
)

// Choice is the cutter and stepover recommended for a zone.
type Choice struct {
	Cutter  fettle.Cutter
	Pass    fettle.Pass
	RaUM    float64
	Minutes float64 // a piece
	Fits    bool    // false: nothing on the shelf gets everywhere, this gets furthest
	Why     []string
	// Others are the remaining cutters at the same cusp height, in the order of
	// the shelf.
	Others []Other
}

// Other is a cutter that was not chosen.
type Other struct {
	Cutter     string
	Fits       bool
	Why        string
	StepoverMM float64 // 0 where it does not fit
	Minutes    float64
}

// Choose recommends the quickest cutter that gets everywhere in the zone and
// leaves cusps of at most targetUM: the biggest ball that reaches, or on a level
// face or a wall the biggest end mill. It says what a smaller one would cost and
// why a bigger one is out. Where none gets everywhere it names the one that gets
// furthest, with Fits false. It fails on an empty shelf and a target that is
// not positive.
func Choose(z fettle.Zone, cutters []fettle.Cutter, mat fettle.Material, mill fettle.Machine, targetUM float64, opt Options) (Choice, error) {
	if len(cutters) == 0 {
		return Choice{}, fettle.Errorf(fettle.NotFound, "there is no cutter on the shelf; enter at least one ball")
	}
	if err := positive("the cusp height asked for", targetUM); err != nil {
		return Choice{}, err
	}
	type candidate struct {
		*setup
		step, minutes float64
	}
	all := make([]candidate, 0, len(cutters))
	best := -1
	for i, c := range cutters {
		s, err := newSetup(z, c, mat, mill, opt)
		if err != nil {
			return Choice{}, err
		}
		cand := candidate{setup: s}
		if s.stairs() {
			cand.minutes = math.Inf(1)
		} else {
			step, err := s.stepFor(targetUM / 1000)
			if err != nil {
				return Choice{}, err
			}
			cand.step = roundDown(step)
			cand.minutes = s.minutes(cand.step)
		}
		all = append(all, cand)
		if best < 0 || better(s, cand.minutes, all[best].setup, all[best].minutes) {
			best = i
		}
	}
	b := all[best]
	if b.stairs() {
		return Choice{}, fettle.Errorf(fettle.NotFound, "zone %q is curved and the shelf holds no round-nosed cutter; enter a ball", z.ID)
	}
	pass, err := b.pass(b.step)
	if err != nil {
		return Choice{}, err
	}
	out := Choice{Cutter: b.cutter, Pass: pass, RaUM: b.point(b.step).RaUM, Minutes: b.minutes, Fits: b.fits}
	smaller, bigger := -1, -1
	for i, c := range all {
		if i == best {
			continue
		}
		o := Other{Cutter: c.cutter.Name, Fits: c.fits, Why: c.why}
		if c.fits {
			o.StepoverMM, o.Minutes = c.step, c.minutes
		}
		out.Others = append(out.Others, o)
		d := c.cutter.DiameterMM
		if c.cutter.Shape != b.cutter.Shape {
			continue
		}
		if c.fits && d < b.cutter.DiameterMM && (smaller < 0 || d < all[smaller].cutter.DiameterMM) && d >= b.cutter.DiameterMM/2.5 {
			smaller = i
		}
		if !c.fits && d > b.cutter.DiameterMM && (bigger < 0 || d < all[bigger].cutter.DiameterMM) {
			bigger = i
		}
	}
	out.Why = append(out.Why, b.reason())
	if smaller >= 0 && all[smaller].minutes > 1.05*b.minutes {
		s := all[smaller]
		word := "cusp"
		if b.manner != passes {
			word = "face"
		}
		out.Why = append(out.Why, fmt.Sprintf("a %.3g mm %s takes %.1f × as long for the same %s",
			s.cutter.DiameterMM, noun(s.cutter.Shape), s.minutes/b.minutes, word))
	}
	if bigger >= 0 {
		c := all[bigger]
		out.Why = append(out.Why, fmt.Sprintf("not the %.3g mm %s: %s", c.cutter.DiameterMM, noun(c.cutter.Shape), c.why))
	}
	if z.SharpInside && b.fits {
		out.Why = append(out.Why, "the sharp inside corner keeps a round that only a file, a graver or a spark takes out")
	}
	return out, nil
}

// reason says in one clause why a cutter was chosen.
func (s *setup) reason() string {
	switch {
	case !s.fits:
		return fmt.Sprintf("nothing on the shelf gets everywhere: the %.3g mm %s gets furthest, but %s", s.cutter.DiameterMM, noun(s.cutter.Shape), s.why)
	case s.manner == facing:
		return fmt.Sprintf("the quickest on a level face, and it leaves no cusps: %.3g mm %s", s.cutter.DiameterMM, noun(s.cutter.Shape))
	case s.manner == flank:
		return fmt.Sprintf("the quickest along a wall, and it leaves no cusps: %.3g mm %s", s.cutter.DiameterMM, noun(s.cutter.Shape))
	}
	return fmt.Sprintf("the quickest that reaches: %.3g mm %s; %s", s.cutter.DiameterMM, noun(s.cutter.Shape), s.why)
}

// better orders candidates: one that fits before one that does not, then
// fewer minutes, then the thicker, which is stiffer. Among those that do not fit
// more reach comes first, then the finer nose, which leaves less behind.
func better(a *setup, am float64, b *setup, bm float64) bool {
	switch {
	case a.fits != b.fits:
		return a.fits
	case !a.fits && a.stairs() != b.stairs():
		return b.stairs()
	case !a.fits && a.reach != b.reach:
		return a.reach > b.reach
	case !a.fits && a.round() != b.round():
		return a.round() < b.round()
	case math.Abs(am-bm) > 1e-9*(am+bm):
		return am < bm
	}
	return a.cutter.DiameterMM > b.cutter.DiameterMM
}

// roundDown takes a stepover down to a half of its second significant figure,
// 0.155 or 0.16: a number to type into a program, and never a higher cusp.
func roundDown(step float64) float64 {
	per := 2 * math.Pow(10, 1-math.Floor(math.Log10(step)))
	return math.Floor(step*per*(1+1e-12)) / per
}

func noun(s fettle.CutterShape) string {
	switch s {
	case fettle.Ball:
		return "ball"
	case fettle.Bull:
		return "bull nose"
	}
	return "end mill"
}
