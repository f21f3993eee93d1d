package letter

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// side is a side of a loop, from one point to the next.
type side struct {
	a, b r2.Vec
	cuts []cut // where other sides cross it
}

// cut is a crossing: how far along the side, and its number.
type cut struct {
	t    float64
	node int
}

// union is the outline of what the loops surround a positive number of times.
// Letters put together from parts may overlap: a cedilla runs into its c. Where no
// two sides cross, the loops come back as they are. Crossings must be clean: no
// corner of one loop on another, as drawn letters have them; ok is false where they are not.
func union(loops [][]r2.Vec) (joined [][]r2.Vec, ok bool) {
	var sides []side
	for _, loop := range loops {
		for i, p := range loop {
			sides = append(sides, side{a: p, b: loop[(i+1)%len(loop)]})
		}
	}
	var nodes []r2.Vec
	for i := range sides {
		for j := range i {
			t, u, ok := meet(&sides[i], &sides[j])
			if !ok {
				continue
			}
			sides[i].cuts = append(sides[i].cuts, cut{t, len(nodes)})
			sides[j].cuts = append(sides[j].cuts, cut{u, len(nodes)})
			nodes = append(nodes, r2.Add(sides[i].a, r2.Scale(t, r2.Sub(sides[i].b, sides[i].a))))
		}
	}
	if len(nodes) == 0 {
		return loops, true
	}
	// Every loop falls into pieces from crossing to crossing. Those on the rim of
	// the union are kept: nothing on their right, something on their left. At a
	// crossing just one of these goes out.
	var kept []piece
	from := map[int]int{} // the kept piece that begins at a node
	var out [][]r2.Vec
	first := 0
	for _, loop := range loops {
		own := sides[first : first+len(loop)]
		first += len(loop)
		pieces, whole := pieces(own, nodes)
		if whole {
			if onRim(sides, own[0].a, own[0].b) {
				out = append(out, loop)
			}
			continue
		}
		for _, p := range pieces {
			if onRim(sides, p.pts[0], p.pts[1]) {
				from[p.from] = len(kept)
				kept = append(kept, p)
			}
		}
	}
	used := make([]bool, len(kept))
	for i := range kept {
		var loop []r2.Vec
		for k := i; !used[k]; {
			used[k] = true
			loop = append(loop, kept[k].pts[:len(kept[k].pts)-1]...)
			next, ok := from[kept[k].to]
			if !ok {
				return nil, false
			}
			k = next
		}
		if loop != nil {
			out = append(out, loop)
		}
	}
	return out, true
}

// piece is a stretch of a loop between two crossings, both points included.
type piece struct {
	from, to int
	pts      []r2.Vec
}

// pieces are those of one loop; whole is set where nothing crosses it.
func pieces(loop []side, nodes []r2.Vec) (list []piece, whole bool) {
	var head []r2.Vec // before the first crossing: it belongs to the last piece
	open := -1
	for i := range loop {
		s := &loop[i]
		add := func(p r2.Vec) {
			if open < 0 {
				head = append(head, p)
			} else {
				list[open].pts = append(list[open].pts, p)
			}
		}
		add(s.a)
		slices.SortFunc(s.cuts, func(a, b cut) int { return cmp.Compare(a.t, b.t) })
		for _, c := range s.cuts {
			add(nodes[c.node])
			if open >= 0 {
				list[open].to = c.node
			}
			list = append(list, piece{from: c.node, pts: []r2.Vec{nodes[c.node]}})
			open = len(list) - 1
		}
	}
	if open < 0 {
		return nil, true
	}
	list[open].pts = append(list[open].pts, head...)
	list[open].to = list[0].from
	return list, false
}

// meet is where two sides cross, as shares of their lengths.
func meet(p, q *side) (t, u float64, ok bool) {
	if max(p.a.X, p.b.X) < min(q.a.X, q.b.X) || max(q.a.X, q.b.X) < min(p.a.X, p.b.X) ||
		max(p.a.Y, p.b.Y) < min(q.a.Y, q.b.Y) || max(q.a.Y, q.b.Y) < min(p.a.Y, p.b.Y) {
		return 0, 0, false
	}
	d, e := r2.Sub(p.b, p.a), r2.Sub(q.b, q.a)
	w := r2.Sub(q.a, p.a)
	det := r2.Cross(d, e)
	if det == 0 {
		return 0, 0, false
	}
	t, u = r2.Cross(w, e)/det, r2.Cross(w, d)/det
	return t, u, t > 0 && t < 1 && u > 0 && u < 1
}

// onRim reports whether the right of the line from a to b, beside its middle, is
// outside everything and the left is not.
func onRim(sides []side, a, b r2.Vec) bool {
	const beside = 1e-4 // font units: nothing is as fine as that
	d := r2.Unit(r2.Sub(b, a))
	mid := r2.Scale(0.5, r2.Add(a, b))
	off := r2.Scale(beside, r2.Vec{X: -d.Y, Y: d.X})
	return winding(sides, r2.Add(mid, off)) > 0 && winding(sides, r2.Sub(mid, off)) <= 0
}

// winding is how often the sides run round p, anticlockwise (Sunday, "Inclusion of
// a Point in a Polygon", 2001).
func winding(sides []side, p r2.Vec) int {
	n := 0
	for i := range sides {
		a, b := sides[i].a, sides[i].b
		left := r2.Cross(r2.Sub(b, a), r2.Sub(p, a))
		switch {
		case a.Y <= p.Y && b.Y > p.Y && left > 0:
			n++
		case a.Y > p.Y && b.Y <= p.Y && left < 0:
			n--
		}
	}
	return n
}

// touches reports whether two sides have a point in common.
func touches(p, q *side) bool {
	if max(p.a.X, p.b.X) < min(q.a.X, q.b.X) || max(q.a.X, q.b.X) < min(p.a.X, p.b.X) ||
		max(p.a.Y, p.b.Y) < min(q.a.Y, q.b.Y) || max(q.a.Y, q.b.Y) < min(p.a.Y, p.b.Y) {
		return false
	}
	turn := func(a, b, c r2.Vec) float64 { return r2.Cross(r2.Sub(b, a), r2.Sub(c, a)) }
	return turn(p.a, p.b, q.a)*turn(p.a, p.b, q.b) <= 0 && turn(q.a, q.b, p.a)*turn(q.a, q.b, p.b) <= 0
}

// touching reports whether a side of one figure touches one of the other.
func touching(one, other [][]r2.Vec) bool {
	reach := math.Inf(-1)
	for _, loop := range one {
		for _, p := range loop {
			reach = max(reach, p.X)
		}
	}
	for _, b := range other {
		for j, p := range b {
			q := side{a: p, b: b[(j+1)%len(b)]}
			if min(q.a.X, q.b.X) > reach {
				continue
			}
			for _, a := range one {
				for i := range a {
					if touches(&side{a: a[i], b: a[(i+1)%len(a)]}, &q) {
						return true
					}
				}
			}
		}
	}
	return false
}

// clean reports whether no two sides touch but neighbours in a loop.
func clean(loops [][]r2.Vec) bool {
	for l, loop := range loops {
		for i := range loop {
			p := side{a: loop[i], b: loop[(i+1)%len(loop)]}
			for j := i + 2; j < len(loop) && (i > 0 || j < len(loop)-1); j++ {
				if touches(&p, &side{a: loop[j], b: loop[(j+1)%len(loop)]}) {
					return false
				}
			}
		}
		if touching(loops[:l], loops[l:l+1]) {
			return false
		}
	}
	return true
}
