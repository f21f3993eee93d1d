package field

// A cell of eight points has its corners numbered x + 2y + 4z, and its twelve
// edges 4a + u + 2v along axis a, u and v being its place along the next two
// axes round (for X: y and z; for Y: z and x; for Z: x and y).

// cellEdge is one edge: its ends, the low one first, and its axis.
type cellEdge struct{ from, to, axis uint8 }

// sheet is one connected piece of surface in a cell.
type sheet struct {
	edges []cellEdge // that it crosses
	// base is what the crossed edges add up to in the coordinates that they do not
	// run along, in cells; scale is one over their number.
	base  [3]float64
	scale float64
}

// variant is one way for the surface to pass through a cell.
type variant struct {
	sheets []sheet
	of     [12]uint8 // which sheet crosses an edge
}

// netTable holds the 256 patterns of corners in the material, and after them
// the second readings of those that have one.
//
// Where a face of the cell has its two material corners across, the surface
// could join them or part them: it parts them. In some patterns all four
// crossings of such a face then lie on one sheet; with two of those at one face,
// both vertices would share an edge with four facets. There both cells take the
// second reading, which joins the corners (G. M. Nielson, "Dual marching cubes",
// IEEE Visualization 2004).
type netTable struct {
	edge    [12]cellEdge
	variant []variant
	// meet is the face (2·axis, plus 1 for the upper side) at which a pattern has
	// all four crossings on one sheet, −1 for none; second its other reading.
	meet   [256]int8
	second [256]uint16
	// few and how are, for a pattern, the number of sheets and bits for whether the
	// edges from corner 0 along X, Y and Z are crossed, with cornerIn.
	few, how [256]uint8
}

var nets = makeNets()

func makeNets() *netTable {
	t := &netTable{variant: make([]variant, 256)}
	for e := range t.edge {
		a, u, v := e/4, e%4&1, e%4>>1
		from := uint8(u<<((a+1)%3) | v<<((a+2)%3))
		t.edge[e] = cellEdge{from, from | 1<<a, uint8(a)}
	}
	for c := range 256 {
		t.variant[c] = t.read(uint8(c), -1)
		t.meet[c] = -1
		for f := range 6 {
			if around := t.crossed(uint8(c), f); len(around) == 4 {
				v := &t.variant[c]
				if s := v.of[around[0]]; s == v.of[around[1]] && s == v.of[around[2]] && s == v.of[around[3]] {
					t.meet[c] = int8(f)
				}
			}
		}
		t.few[c] = uint8(len(t.variant[c].sheets))
		t.how[c] = uint8(c&1 ^ c>>1&1 | (c&1^c>>2&1)<<1 | (c&1^c>>4&1)<<2 | (c&1)*cornerIn)
	}
	for c := range 256 {
		if t.meet[c] >= 0 {
			t.second[c] = uint16(len(t.variant))
			t.variant = append(t.variant, t.read(uint8(c), int(t.meet[c])))
		}
	}
	return t
}

// crossed lists the edges of a face that the surface crosses.
func (t *netTable) crossed(c uint8, face int) []int {
	var out []int
	for e, ends := range t.edge {
		on := uint8(face & 1)
		a := face / 2
		if ends.from>>a&1 == on && ends.to>>a&1 == on && c>>ends.from&1 != c>>ends.to&1 {
			out = append(out, e)
		}
	}
	return out
}

// read follows the surface from face to face; at the face flip it joins the
// corners in the material.
func (t *netTable) read(c uint8, flip int) variant {
	var set [12]int
	for e := range set {
		set[e] = e
	}
	join := func(a, b int) {
		from, to := set[a], set[b]
		for e := range set {
			if set[e] == from {
				set[e] = to
			}
		}
	}
	for f := range 6 {
		around := t.crossed(c, f)
		if len(around) == 2 {
			join(around[0], around[1])
			continue
		}
		// Round each corner on the side that is parted go two of the edges.
		apart := uint8(1)
		if f == flip {
			apart = 0
		}
		for i, a := range around {
			for _, b := range around[:i] {
				p, q := t.edge[a], t.edge[b]
				for _, corner := range [2]uint8{p.from, p.to} {
					if c>>corner&1 == apart && (corner == q.from || corner == q.to) {
						join(a, b)
					}
				}
			}
		}
	}
	var v variant
	named := map[int]uint8{}
	for e, ends := range t.edge {
		if c>>ends.from&1 == c>>ends.to&1 {
			continue
		}
		k, ok := named[set[e]]
		if !ok {
			k = uint8(len(v.sheets))
			named[set[e]] = k
			v.sheets = append(v.sheets, sheet{})
		}
		v.of[e] = k
		s := &v.sheets[k]
		s.edges = append(s.edges, ends)
		for a := range 3 {
			if a != int(ends.axis) {
				s.base[a] += float64(ends.from >> a & 1)
			}
		}
		s.scale = 1 / float64(len(s.edges))
	}
	return v
}

// crossings are the edges from corner 0 that make facets, as bits with cornerIn:
// of those crossed, the ones that have four cells round them.
func (t *netTable) crossings(c uint8, i, j, k int) uint8 {
	how := t.how[c]
	if j == 0 || k == 0 {
		how &^= 1
	}
	if i == 0 || k == 0 {
		how &^= 2
	}
	if i == 0 || j == 0 {
		how &^= 4
	}
	return how
}
