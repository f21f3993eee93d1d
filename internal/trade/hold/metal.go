package hold

import (
	"cmp"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Metal is what there is of a mounted jaw: the blank less its mounting holes and
// everything that was cut in it. It answers in the vise's frame, and is safe for
// use from many goroutines.
type Metal struct {
	Stand
	jaws  fettle.Jaws
	cuts  []oldCut
	bores []bore
}

// oldCut is an earlier pocket in the vise's frame.
type oldCut struct {
	*wornCut
	layers []region.Layer
	rows   []rows // of each layer
}

// wornCut is an earlier pocket in the jaw's own frame: as it was written down, and
// what of it lies in the blank, piece by piece: layers that hang together.
type wornCut struct {
	name   string
	whole  []region.Layer
	pieces [][]region.Layer
}

// worn is what was cut in one jaw of a pair.
func worn(j fettle.Jaws, jaw int) []*wornCut {
	blank := region.Rect(r2.Vec{X: -j.WidthMM / 2}, r2.Vec{X: j.WidthMM / 2, Y: j.ThickMM})
	var out []*wornCut
	for _, c := range j.Cuts {
		if c.Jaw != jaw {
			continue
		}
		w := &wornCut{name: c.Name}
		var in []region.Layer
		var plan region.Region
		for _, b := range c.Slabs {
			loops := make([][]r2.Vec, len(b.Loops))
			for k, l := range b.Loops {
				for _, p := range l {
					loops[k] = append(loops[k], r2.Vec{X: p[0], Y: p[1]})
				}
			}
			l := region.Layer{Low: b.LowMM, High: b.HighMM, Region: region.Of(loops...)}
			w.whole = append(w.whole, l)
			if l.Region = l.Region.And(blank); !l.Region.Empty() {
				in = append(in, l)
				plan = plan.Union(l.Region)
			}
		}
		parts := plan.Parts()
		for _, part := range parts {
			var piece []region.Layer
			for _, l := range in {
				if len(parts) > 1 {
					l.Region = l.Region.And(part)
				}
				if !l.Region.Empty() {
					piece = append(piece, l)
				}
			}
			w.pieces = append(w.pieces, piece)
		}
		out = append(out, w)
	}
	return out
}

// bore is a mounting hole or the recess for its head, a cylinder along Y in the
// vise's frame.
type bore struct {
	hole   int // from 0
	x, z   float64
	radius float64
	y0, y1 float64
}

// Mount is a pair's two jaws as a pose has them.
func Mount(j fettle.Jaws, pose fettle.PocketPose) (fixed, moving *Metal) {
	s := Stands(pose)
	return newMetal(j, s[0], worn(j, s[0].Jaw)), newMetal(j, s[1], worn(j, s[1].Jaw))
}

func newMetal(j fettle.Jaws, s Stand, cuts []*wornCut) *Metal {
	m := &Metal{Stand: s, jaws: j}
	for _, c := range cuts {
		old := oldCut{wornCut: c, layers: s.carried(j, c.whole)}
		for _, l := range old.layers {
			old.rows = append(old.rows, newRows(l.Region))
		}
		m.cuts = append(m.cuts, old)
	}
	add := func(i int, h fettle.JawHole, radius, from, to float64) {
		a, b := s.Vise(j, r3.Vec{X: h.XMM, Y: from, Z: h.ZMM}), s.Vise(j, r3.Vec{X: h.XMM, Y: to, Z: h.ZMM})
		m.bores = append(m.bores, bore{i, a.X, a.Z, radius, min(a.Y, b.Y), max(a.Y, b.Y)})
	}
	for i, h := range j.Holes {
		add(i, h, h.DiameterMM/2, 0, j.ThickMM)
		if h.HeadMM > h.DiameterMM && h.HeadDeepMM > 0 {
			deep := min(h.HeadDeepMM, j.ThickMM)
			add(i, h, h.HeadMM/2, 0, deep)
			if h.BothFaces {
				add(i, h, h.HeadMM/2, j.ThickMM-deep, j.ThickMM)
			}
		}
	}
	return m
}

// Slabs are what was cut in the jaw before, in the vise's frame, pocket by pocket.
func (m *Metal) Slabs() []region.Layer {
	var out []region.Layer
	for _, c := range m.cuts {
		out = append(out, c.layers...)
	}
	return out
}

// Holds reports whether there is metal at a point of the vise's frame.
func (m *Metal) Holds(p r3.Vec) bool {
	for _, s := range m.along(p.Y, p.Z, nil) {
		if s.from <= p.X && p.X < s.to {
			return true
		}
	}
	return false
}

// span is a stretch along X.
type span struct{ from, to float64 }

// along appends to dst the metal on the line along the jaw at y and z, in order:
// where the line runs through metal is the same question for every place along the
// jaws that a part can lie in.
func (m *Metal) along(y, z float64, dst []span) []span {
	deep := y
	if m.Side == MovingSide {
		deep = -y
	}
	if deep -= m.GapMM / 2; deep < 0 || deep > m.jaws.ThickMM || z > 0 || z < -m.jaws.HeightMM {
		return dst
	}
	half := m.jaws.WidthMM / 2
	start := len(dst)
	dst = append(dst, span{-half, half})
	for _, b := range m.bores {
		if c := b.radius*b.radius - (z-b.z)*(z-b.z); y >= b.y0 && y <= b.y1 && c > 0 {
			c = math.Sqrt(c)
			dst = less(dst, start, span{b.x - c, b.x + c})
		}
	}
	for _, c := range m.cuts {
		for i, l := range c.layers {
			if z >= l.Low && z < l.High {
				c.rows[i].at(y, func(s span) { dst = less(dst, start, s) })
			}
		}
	}
	return dst
}

// less takes a stretch out of those from start on.
func less(list []span, start int, cut span) []span {
	n := len(list)
	for i := start; i < n; i++ {
		s := list[i]
		if cut.to <= s.from || cut.from >= s.to {
			continue
		}
		switch {
		case cut.from <= s.from:
			list[i].from = min(cut.to, s.to)
		case cut.to >= s.to:
			list[i].to = cut.from
		default:
			list[i].to = cut.from
			list = slices.Insert(list, i+1, span{cut.to, s.to})
			i, n = i+1, n+1
		}
	}
	out := list[:start]
	for _, s := range list[start:] {
		if s.to > s.from {
			out = append(out, s)
		}
	}
	return out
}

// rows finds what of a region lies on a line along X, exactly: the sides of its
// loops in bins by Y.
type rows struct {
	low, step float64
	bins      [][]flank
}

// flank is a loop's side from its lower to its upper end; up is +1 where the loop
// runs upwards along it.
type flank struct {
	x0, y0, x1, y1 float64
	up             int
}

func newRows(r region.Region) rows {
	var all []flank
	low, high := math.Inf(1), math.Inf(-1)
	for _, l := range r.Loops {
		for i, a := range l {
			b := l[(i+1)%len(l)]
			switch {
			case a.Y < b.Y:
				all = append(all, flank{a.X, a.Y, b.X, b.Y, 1})
			case a.Y > b.Y:
				all = append(all, flank{b.X, b.Y, a.X, a.Y, -1})
			}
			low, high = min(low, a.Y), max(high, a.Y)
		}
	}
	if len(all) == 0 {
		return rows{}
	}
	n := min(len(all)/2+1, 512)
	out := rows{low: low, step: (high - low) / float64(n), bins: make([][]flank, n)}
	for _, s := range all {
		for i, to := out.bin(s.y0), out.bin(s.y1); i <= to; i++ {
			out.bins[i] = append(out.bins[i], s)
		}
	}
	return out
}

func (r rows) bin(y float64) int {
	return min(len(r.bins)-1, max(0, int((y-r.low)/r.step)))
}

// at calls f for every stretch of the line at y inside the region. A side holds its
// lower end and not its upper, so that a line through a corner is counted once.
func (r rows) at(y float64, f func(span)) {
	if len(r.bins) == 0 {
		return
	}
	type crossing struct {
		x  float64
		up int
	}
	var room [16]crossing
	found := room[:0]
	for _, s := range r.bins[r.bin(y)] {
		if y >= s.y0 && y < s.y1 {
			found = append(found, crossing{s.x0 + (s.x1-s.x0)*(y-s.y0)/(s.y1-s.y0), s.up})
		}
	}
	slices.SortFunc(found, func(a, b crossing) int { return cmp.Compare(a.x, b.x) })
	// Loops run anticlockwise round what they hold: it is on the right of where one
	// goes down.
	wound, from := 0, 0.0
	for _, c := range found {
		was := wound
		if wound -= c.up; was == 0 && wound == 1 {
			from = c.x
		} else if was == 1 && wound == 0 && c.x > from {
			f(span{from, c.x})
		}
	}
}

// holds reports whether a point is inside the region.
func (r rows) holds(p r2.Vec) (in bool) {
	r.at(p.Y, func(s span) { in = in || s.from <= p.X && p.X < s.to })
	return in
}
