package finish

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
)

// wishes are what the user wants done with steps, ready to be asked of a key.
type wishes struct {
	keep  []fettle.StepWish
	drops []string
	where []chance
}

// mostKept is how many steps can be kept: one bit each.
const mostKept = 32

// newWishes checks the wishes of a brief. It fails with Invalid on one that is not
// understood or names nothing that a step could be made of.
func newWishes(b fettle.Brief, known func(name string) bool) (*wishes, error) {
	w := &wishes{}
	check := func(name string) error {
		if !known(name) {
			return fettle.Errorf(fettle.Invalid, "the brief speaks of the step %q, and nothing on the shelf or among the ways to work is called so; a step is named like \"rub P400\", \"tumble cob-2 in dry barrel\", \"pass ball-10\", or by the thing alone", name)
		}
		return nil
	}
	for _, s := range b.Steps {
		if err := check(s.Step); err != nil {
			return nil, err
		}
		if s.Hours < 0 || s.Hours > longestH*10 || s.Hours != s.Hours {
			return nil, fettle.Errorf(fettle.Invalid, "the brief keeps %q for %g h; give hours above zero, or none", s.Step, s.Hours)
		}
		if err := checkPinned(s); err != nil {
			return nil, err
		}
		switch s.Do {
		case "keep":
			w.keep = append(w.keep, s)
		case "drop":
			w.drops = append(w.drops, s.Step)
		case "replace":
			if err := check(s.With); err != nil {
				return nil, err
			}
			w.drops = append(w.drops, s.Step)
			w.keep = append(w.keep, fettle.StepWish{Do: "keep", Step: s.With, Hours: s.Hours, StepoverMM: s.StepoverMM, Crossed: s.Crossed})
		default:
			return nil, fettle.Errorf(fettle.Invalid, "the brief wants to %q the step %q; what can be done is keep, drop or replace", s.Do, s.Step)
		}
	}
	if len(w.keep) > mostKept {
		return nil, fettle.Errorf(fettle.Invalid, "the brief keeps %d steps; at most %d can be kept", len(w.keep), mostKept)
	}
	return w, nil
}

// dropped reports whether a step is not to be taken.
func (w *wishes) dropped(key string) bool {
	for _, d := range w.drops {
		if names(d, key) {
			return true
		}
	}
	return false
}

// kept are the bits of the wishes that a step fulfils, and the hours that they pin.
func (w *wishes) kept(key string) (bits uint32, hours float64) {
	for i, k := range w.keep {
		if names(k.Step, key) {
			bits |= 1 << i
			if k.Hours > 0 {
				hours = k.Hours
			}
		}
	}
	return bits, hours
}

// all are the bits of every wish to keep.
func (w *wishes) all() uint32 { return uint32(uint64(1)<<len(w.keep) - 1) }

// missing says which steps a route that keeps only some leaves out.
func (w *wishes) missing(bits uint32) []string {
	var out []string
	for i, k := range w.keep {
		if bits&(1<<i) == 0 {
			out = append(out, fmt.Sprintf("%q", k.Step))
		}
	}
	return out
}

// names reports whether a wish means the step of a key: the key itself, or a part of
// it that names a thing: after its verb, or before or after "in".
func names(wish, key string) bool {
	verb, rest, _ := strings.Cut(key, " ")
	media, vessel, both := strings.Cut(rest, " in ")
	w := fold(wish)
	return w == fold(key) || w == fold(rest) && rest != "" || w == fold(verb) && rest == "" ||
		both && (w == fold(media) || w == fold(vessel) || w == fold(verb+" "+media))
}

func fold(s string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), " "))
}

// keys are those of all steps that this shelf could make, with the grains of its
// grits.
func (p *planner) keys(visit func(kind fettle.StepKind, key string, grain float64)) {
	s := p.in.Shelf
	visit(fettle.StepDeburr, deburrKey, 0)
	for _, c := range s.Cutters {
		visit(fettle.StepSurface, passKey(c.Name), 0)
	}
	for _, g := range s.Grits {
		visit(fettle.StepRub, rubKey(g.Name), g.GrainUM)
	}
	for _, m := range s.Mops {
		visit(fettle.StepBuff, buffKey(m.Name), 0)
	}
	for _, m := range s.Media {
		for _, v := range s.Vessels {
			visit(fettle.StepTumble, tumbleKey(m.Name, v.Name), 0)
		}
	}
}

// known reports whether a name could be that of a step over this shelf.
func (p *planner) known(name string) (yes bool) {
	p.keys(func(_ fettle.StepKind, key string, _ float64) { yes = yes || names(name, key) })
	return yes
}

// chance is where in a route a step that is kept could still come.
type chance struct {
	kinds map[fettle.StepKind]bool
	grain float64 // of the finest grit that it could mean
}

// place works out where the steps that are kept could come.
func (p *planner) place() {
	w := p.wish
	w.where = make([]chance, len(w.keep))
	for i, k := range w.keep {
		c := chance{kinds: map[fettle.StepKind]bool{}, grain: math.Inf(1)}
		p.keys(func(kind fettle.StepKind, key string, grain float64) {
			if names(k.Step, key) {
				c.kinds[kind] = true
				if kind == fettle.StepRub {
					c.grain = math.Min(c.grain, grain)
				}
			}
		})
		w.where[i] = c
	}
}

// lost reports that a step which is kept can no longer come: the work has gone past
// it.
func (p *planner) lost(n *node) bool {
	for i, c := range p.wish.where {
		if n.kept&(1<<i) != 0 {
			continue
		}
		polished := n.buffs > 0 && p.rb.holds(ruleMopLast)
		open := c.kinds[fettle.StepBuff] && !n.done ||
			c.kinds[fettle.StepTumble] && !n.done && !polished && n.charges < mostCharges ||
			c.kinds[fettle.StepDeburr] && !n.done && slices.Max(n.face.Burr) > burrLeft ||
			c.kinds[fettle.StepRub] && !n.done && !n.lastGrit && !polished && n.rungs < mostRungs &&
				!(n.smoothed && p.rb.holds(ruleSandFirst)) && !(c.grain >= n.grain && p.rb.holds(ruleFinerOnly))
		if !open {
			return true
		}
	}
	return false
}

// Keys of steps.
const deburrKey = "deburr"

func passKey(cutter string) string          { return "pass " + cutter }
func rubKey(grit string) string             { return "rub " + grit }
func buffKey(mop string) string             { return "buff " + mop }
func tumbleKey(media, vessel string) string { return "tumble " + media + " in " + vessel }
