package part21

import (
	"math"
	"slices"
	"strings"
)

// lengths are the units that have a name of their own, those that a user may
// give for files that declare none.
var lengths = []Unit{{"mm", 1}, {"inch", 25.4}, {"m", 1000}, {"cm", 10}, {"micron", 0.001}, {"ft", 304.8}}

// sameUnit is how far, as a ratio, a factor written in decimals may be from the
// unit that it means. The survey foot is 2e-6 from the foot and stays apart.
const sameUnit = 1e-7

// prefixes are the powers of ten of ISO 10303-41's si_prefix.
var prefixes = map[string]int{
	"EXA": 18, "PETA": 15, "TERA": 12, "GIGA": 9, "MEGA": 6, "KILO": 3, "HECTO": 2, "DECA": 1,
	"DECI": -1, "CENTI": -2, "MILLI": -3, "MICRO": -6, "NANO": -9, "PICO": -12, "FEMTO": -15, "ATTO": -18,
}

// maxChain is how many units may be defined by each other down to the metre.
const maxChain = 16

// units reads units of length, each once.
type units struct {
	f     *file
	known map[int]Unit // by instance; MM is 0 for what is no length
	ctx   map[int]Unit // by context
}

// context is the unit of length of a context.
func (u *units) context(c int) Unit {
	if got, ok := u.ctx[c]; ok {
		return got
	}
	var found Unit
	for to := range u.f.refs(c) {
		if to >= 0 && u.f.inst[to].kind == lengthUnit {
			if found = u.length(to, 0); found.MM > 0 {
				break
			}
		}
	}
	u.ctx[c] = found
	return found
}

// length is a unit by its instance; MM is 0 where it is none of length, or where
// it cannot be followed to the metre.
func (u *units) length(i, depth int) Unit {
	if got, ok := u.known[i]; ok {
		return got
	}
	u.known[i] = Unit{} // until it is known, so that a ring ends
	if depth > maxChain {
		return Unit{}
	}
	got := u.si(i)
	if m := u.f.ref(i, measure); got.MM == 0 && m >= 0 {
		got = u.converted(i, m, depth)
	}
	if got.MM <= 0 || math.IsNaN(got.MM) || math.IsInf(got.MM, 0) {
		got = Unit{}
	}
	for _, l := range lengths {
		if math.Abs(got.MM-l.MM) <= sameUnit*l.MM {
			got = l
		}
	}
	u.known[i] = got
	return got
}

// si reads SI_UNIT: the prefix and the name, behind the dimensions where the
// instance is a simple one.
func (u *units) si(i int) Unit {
	var words []string
	for v := range u.f.params(i, "SI_UNIT") {
		switch v.form {
		case enumeration:
			words = append(words, string(v.raw))
		case text, reference:
			return Unit{} // of another type
		}
	}
	if len(words) == 0 || len(words) > 2 || words[len(words)-1] != "METRE" {
		return Unit{}
	}
	if len(words) == 1 {
		return Unit{"m", 1000}
	}
	exp, ok := prefixes[words[0]]
	if !ok {
		return Unit{}
	}
	return Unit{strings.ToLower(words[0]) + "metre", math.Pow10(exp + 3)}
}

// converted reads CONVERSION_BASED_UNIT: a name, and so many of another unit.
func (u *units) converted(i, m, depth int) Unit {
	base := u.f.ref(m, lengthUnit)
	if base < 0 {
		return Unit{}
	}
	name, factor := "", 0.0
	for v := range u.f.params(i, "CONVERSION_BASED_UNIT") {
		if v.form == text && name == "" {
			name = v.str()
		}
	}
	for v := range u.f.params(m, "MEASURE_WITH_UNIT") {
		if x, ok := v.float(); ok && factor == 0 {
			factor = x
		}
	}
	return Unit{name, factor * u.length(base, depth+1).MM}
}

// tally counts items by unit.
type tally struct {
	units []Unit
	items []int
}

func (t *tally) add(u Unit, items int) {
	i := slices.Index(t.units, u)
	if i < 0 {
		if len(t.units) == maxUnits {
			return
		}
		i = len(t.units)
		t.units = append(t.units, u)
		t.items = append(t.items, 0)
	}
	t.items[i] += items
}

// maxUnits is more than any file mixes.
const maxUnits = 32

// ranked are the units, the one with most items first, those with as many by
// their order in the file.
func (t *tally) ranked() []Unit {
	order := make([]int, len(t.units))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return t.items[b] - t.items[a] })
	out := make([]Unit, 0, len(order))
	for _, i := range order {
		out = append(out, t.units[i])
	}
	return out
}
