package cavity

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// shallow is how many times wider than deep a gap may be before it counts as an
	// outer face, as for the survey's open slots.
	shallow = 1.5
	slim    = 4.0 // times longer than wide: a slot
	round   = 1.1 // times longer than wide at most: a hole
	looks   = 72  // directions in which walls are looked for round an opening
	walled  = 0.95
)

// name decides what the openings that only the void shows are, drops those that
// are none, and puts the others in order: by kind, the widest first, then the
// deepest, then the nearest to the part's middle, then by place.
func (f *finder) name() {
	first := len(f.Survey.Openings)
	type found struct {
		o     fettle.Opening
		p     *place
		cells []int32
	}
	var all []found
	for i := first; i < len(f.list); i++ {
		o, p := f.list[i], f.places[i]
		cells := f.cells[i-first]
		for _, c := range cells {
			f.of[c] = -1
		}
		if len(o.Profile) == 0 || f.tooNarrow(o.WidestMM) {
			continue
		}
		if f.kind(&o, p); o.Kind == fettle.Gap && o.WidthMM > shallow*o.DepthMM {
			continue
		}
		if p.loose && p.through {
			cells = slices.DeleteFunc(cells, func(c int32) bool { return !p.near(f.At(f.Split(int(c))), f.Cell) })
		}
		all = append(all, found{o, p, cells})
	}
	even := func(v float64) float64 { return math.Round(v / f.Cell) }
	centre := f.box.Centre()
	apart := func(o *fettle.Opening) float64 { return even(r3.Norm(r3.Sub(geom.Vec(o.At), centre))) }
	rank := map[fettle.OpeningKind]int{fettle.Hole: 0, fettle.Slot: 1, fettle.Pocket: 2, fettle.Gap: 3}
	slices.SortStableFunc(all, func(x, y found) int {
		a, b := &x.o, &y.o
		return cmp.Or(
			cmp.Compare(rank[a.Kind], rank[b.Kind]),
			cmp.Compare(even(b.WidthMM), even(a.WidthMM)), cmp.Compare(even(b.DepthMM), even(a.DepthMM)), cmp.Compare(apart(a), apart(b)),
			cmp.Compare(even(a.At[0]), even(b.At[0])), cmp.Compare(even(a.At[1]), even(b.At[1])), cmp.Compare(even(a.At[2]), even(b.At[2])),
		)
	})
	f.list, f.places, f.cells = f.list[:first], f.places[:first], nil
	number := map[fettle.OpeningKind]int{}
	for _, o := range f.list {
		number[o.Kind]++
	}
	for _, n := range all {
		number[n.o.Kind]++
		n.o.ID = fmt.Sprintf("%s-%d", n.o.Kind, number[n.o.Kind])
		for _, c := range n.cells {
			f.of[c] = int32(len(f.list))
		}
		f.list = append(f.list, n.o)
		f.places = append(f.places, n.p)
		f.cells = append(f.cells, n.cells)
	}
}

// kind tells a gap between features from what has walls all round it.
func (f *finder) kind(o *fettle.Opening, p *place) {
	defer func() {
		if !o.Through && o.WidestMM > 1.2*o.WidthMM {
			o.Why += "; it narrows downwards, its width is told half-way down"
		}
	}()
	o.Why = "found in the void: walls that look at each other, open at the sides"
	if o.Through {
		o.Why = "found in the void: a way between walls, open at both ends"
	}
	if !p.hollow {
		return
	}
	o.Why = "found in the void: walls all round, not told on the faces"
	switch ratio := o.LengthMM / max(o.WidestMM, 1e-9); {
	case ratio < round && o.DepthMM > o.WidestMM:
		o.Kind = fettle.Hole
	case ratio > slim:
		o.Kind = fettle.Slot
	default:
		o.Kind = fettle.Pocket
	}
}
