package part21

import (
	"fmt"
	"slices"
	"strings"
)

// shapes counts what is in the shape representations: solids first, so that
// what belongs to one is not counted again as something loose.
type shapes struct {
	f   *file
	s   *Summary
	all []representation
	// counted are the items that were counted, walked the instances that what was
	// counted is made of.
	counted, walked bits
	todo            []uint32
	names           map[int]string // of surfaces that are complex instances
	n               besides
}

// besides are the counts of what is no solid of the part.
type besides struct {
	wireframes, tessellated, primitives           int
	points, curves, surfaces, solids              int // of construction
	annotationCurves, annotations, datums, toleds int
}

func (f *file) shapes(s *Summary) error {
	w := &shapes{f: f, s: s, counted: newBits(len(f.inst)), walked: newBits(len(f.inst)), names: map[int]string{}}
	w.all = w.representations()
	if err := w.solids(); err != nil {
		return err
	}
	for _, r := range w.all {
		if err := w.items(int(r.i), r.aside); err != nil {
			return err
		}
	}
	w.n.annotationCurves, w.n.annotations = len(f.kinds[annotationCurve]), len(f.kinds[annotation])
	w.n.datums, w.n.toleds = len(f.kinds[datum]), len(f.kinds[dimension])
	s.Beside = w.n.phrases(s.Sheets)
	return nil
}

// representation is one of a shape, aside where it is of construction geometry.
type representation struct {
	i     uint32
	aside bool
}

// representations are those of the parts, in the order of the text, and after
// them those of construction geometry, by their type or by the name that the
// recommended practices give them.
func (w *shapes) representations() []representation {
	var parts, asides []representation
	for _, i := range w.f.kinds[shapeRepresentation] {
		if strings.EqualFold(w.f.firstText(int(i), "REPRESENTATION"), "supplemental geometry") {
			asides = append(asides, representation{i, true})
		} else {
			parts = append(parts, representation{i, false})
		}
	}
	for _, i := range w.f.kinds[construction] {
		asides = append(asides, representation{i, true})
	}
	return append(parts, asides...)
}

// bits are one for each instance.
type bits []uint64

func newBits(n int) bits { return make(bits, (n+63)/64) }

func (b bits) has(i int) bool { return b[i>>6]>>(i&63)&1 == 1 }

// mark sets a bit; false where it was set.
func (b bits) mark(i int) bool {
	if b.has(i) {
		return false
	}
	b[i>>6] |= 1 << (i & 63)
	return true
}

// solids counts the solids and the units of all representations with items.
func (w *shapes) solids() error {
	u := &units{f: w.f, known: map[int]Unit{}, ctx: map[int]Unit{}}
	var t tally
	for _, r := range w.all {
		items, unit := 0, Unit{}
		for to, id := range w.f.refs(int(r.i)) {
			if to < 0 {
				return w.f.dangling(int(r.i), id)
			}
			if w.f.inst[to].kind == context {
				unit = u.context(to)
				continue
			}
			items++
			if err := w.solid(to, r.aside); err != nil {
				return err
			}
		}
		if unit.MM > 0 && items > 0 {
			t.add(unit, items)
		}
	}
	w.s.Units = t.ranked()
	return nil
}

// solid counts an item if it is a solid, or those that it stands for.
func (w *shapes) solid(item int, aside bool) error {
	stack := []int{item}
	for len(stack) > 0 {
		i := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		switch w.f.inst[i].kind {
		case group:
			if w.counted.mark(i) {
				for to := range w.f.refs(i) {
					if to >= 0 {
						stack = append(stack, to)
					}
				}
			}
		case solid:
			if !w.counted.mark(i) {
				continue
			}
			if aside {
				w.n.solids++
			} else {
				w.s.Solids++
			}
			if err := w.walk(i, !aside); err != nil {
				return err
			}
		}
	}
	return nil
}

// walk goes over everything that an instance is made of, refuses what is not
// there, and counts the faces where they are those of a solid.
func (w *shapes) walk(from int, faces bool) error {
	w.walked.mark(from)
	w.todo = append(w.todo[:0], uint32(from))
	for len(w.todo) > 0 {
		i := int(w.todo[len(w.todo)-1])
		w.todo = w.todo[:len(w.todo)-1]
		of := -1
		for to, id := range w.f.refs(i) {
			if to < 0 {
				return w.f.dangling(i, id)
			}
			if w.f.inst[to].kind == surface {
				of = to
			}
			if w.walked.mark(to) && !(w.f.inst[to].kind == direction || w.f.inst[to].kind == cartesianPoint) {
				w.todo = append(w.todo, uint32(to))
			}
		}
		if faces && of >= 0 && w.f.inst[i].kind == face {
			w.s.Faces[w.surfaceName(of)]++
		}
	}
	return nil
}

// dangling is the fault of a number that is not in the file.
func (f *file) dangling(i int, id uint64) error {
	return f.fault(int(f.inst[i].at), "instance #%d refers to #%d, which is not in the file", f.inst[i].id, id)
}

// surfaceName is the type of a surface. A complex one is by its most telling
// type, which for a rational B-spline is B_SPLINE_SURFACE.
func (w *shapes) surfaceName(i int) string {
	d := w.f.record(i)
	if !w.f.inst[i].complex {
		return strings.ToUpper(string(d[:keyword(d, 0)]))
	}
	if found, ok := w.names[i]; ok {
		return found
	}
	found := "SURFACE"
	for name := range partials(brackets(d, 0)) {
		n := strings.ToUpper(string(name))
		if kindOf(name) != surface || slices.Contains([]string{"SURFACE", "BOUNDED_SURFACE", "ELEMENTARY_SURFACE", "SWEPT_SURFACE"}, n) {
			continue
		}
		if found = n; n == "B_SPLINE_SURFACE" {
			break
		}
	}
	w.names[i] = found
	return found
}

// items counts the items of a representation that are no solids.
func (w *shapes) items(r int, aside bool) error {
	for i := range w.f.refs(r) {
		k := w.f.inst[i].kind
		var err error
		switch {
		case k == surfaceModel && w.counted.mark(i):
			err = w.surfaceModel(i, aside)
		case k == shell || k == face:
			err = w.sheet(i, aside)
		case k == geometricSet && w.counted.mark(i):
			err = w.set(i, aside)
		case k == wireframe && w.counted.mark(i):
			w.n.wireframes++
		case k == tessellated && w.counted.mark(i):
			w.n.tessellated++
		case k == csg && w.counted.mark(i):
			w.n.primitives++
		case aside && k == surface:
			err = w.sheet(i, true)
		case aside && k == curve && w.counted.mark(i):
			w.n.curves++
		case aside && k.located() && w.counted.mark(i):
			w.n.points++
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// surfaceModel counts the shells of a model of shells, the faces of one of faces.
func (w *shapes) surfaceModel(i int, aside bool) error {
	shells := w.f.hasType(i, "SHELL_BASED_SURFACE_MODEL")
	for to := range w.f.refs(i) {
		if to < 0 || w.f.inst[to].kind != shell {
			continue
		}
		if shells {
			if err := w.sheet(to, aside); err != nil {
				return err
			}
			continue
		}
		if !w.counted.mark(to) {
			continue // its faces are counted
		}
		for fc := range w.f.refs(to) {
			if fc < 0 || w.f.inst[fc].kind != face {
				continue
			}
			if err := w.sheet(fc, aside); err != nil {
				return err
			}
		}
	}
	return nil
}

// sheet counts a surface that encloses nothing, once. What a solid is made of is
// not loose, whatever else refers to it.
func (w *shapes) sheet(i int, aside bool) error {
	if !w.counted.mark(i) || !aside && w.walked.has(i) {
		return nil
	}
	if aside {
		w.n.surfaces++
	} else {
		w.s.Sheets++
	}
	return w.walk(i, false)
}

// set counts what a geometric set holds: surfaces and points each by itself, its
// curves as one wireframe.
func (w *shapes) set(i int, aside bool) error {
	curves := 0
	for to := range w.f.refs(i) {
		if to < 0 || !aside && w.walked.has(to) {
			continue
		}
		switch k := w.f.inst[to].kind; {
		case k == surface:
			if err := w.sheet(to, aside); err != nil {
				return err
			}
		case k == curve && w.counted.mark(to):
			curves++
		case k.located() && w.counted.mark(to):
			w.n.points++
		}
	}
	switch {
	case aside:
		w.n.curves += curves
	case curves > 0:
		w.n.wireframes++
	}
	return nil
}

// hasType reports whether an instance is of a type by name.
func (f *file) hasType(i int, name string) bool {
	d := f.record(i)
	if !f.inst[i].complex {
		return strings.EqualFold(string(d[:keyword(d, 0)]), name)
	}
	for n := range partials(brackets(d, 0)) {
		if strings.EqualFold(string(n), name) {
			return true
		}
	}
	return false
}

// phrases says what is beside the solids, in this order.
func (b *besides) phrases(sheets int) []string {
	var out []string
	for _, p := range []struct {
		n         int
		one, many string
	}{
		{sheets, "open surface", "open surfaces"},
		{b.annotationCurves, "annotation curve", "annotation curves"},
		{b.annotations, "annotation text or symbol", "annotation texts and symbols"},
		{b.datums, "datum", "datums"},
		{b.toleds, "dimension or tolerance", "dimensions and tolerances"},
		{b.wireframes, "wireframe", "wireframes"},
		{b.points, "axis or point of construction", "axes and points of construction"},
		{b.curves, "curve of construction", "curves of construction"},
		{b.surfaces, "surface of construction", "surfaces of construction"},
		{b.solids, "solid of construction", "solids of construction"},
		{b.tessellated, "tessellated body", "tessellated bodies"},
		{b.primitives, "solid built from primitives", "solids built from primitives"},
	} {
		switch {
		case p.n == 1:
			out = append(out, "1 "+p.one)
		case p.n > 1:
			out = append(out, fmt.Sprintf("%d %s", p.n, p.many))
		}
	}
	return out
}
