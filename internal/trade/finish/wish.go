package finish

import (
	"fmt"
	"strings"

	"fettle"
)

// wishes are what the user wants done with steps, ready to be asked of a key.
type wishes struct {
	keep  []fettle.StepWish
	drops []string
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
			w.keep = append(w.keep, fettle.StepWish{Do: "keep", Step: s.With, Hours: s.Hours})
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

// known reports whether a name could be that of a step over this shelf.
func (p *planner) known(name string) bool {
	s := p.in.Shelf
	keys := []string{deburrKey}
	for _, c := range s.Cutters {
		keys = append(keys, passKey(c.Name))
	}
	for _, g := range s.Grits {
		keys = append(keys, rubKey(g.Name))
	}
	for _, m := range s.Mops {
		keys = append(keys, buffKey(m.Name))
	}
	for _, m := range s.Media {
		for _, v := range s.Vessels {
			keys = append(keys, tumbleKey(m.Name, v.Name))
		}
	}
	for _, k := range keys {
		if names(name, k) {
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
