package field

// hullTile is how many neighbouring columns are worked on together, so that
// each page and each line of the cache that comes is used.
const hullTile = 128

// hull works on columns of cells.
type hull struct {
	n     int // cells in each
	pitch int // from column to column in f; neighbours fall into different places of the cache
	limit int
	magic []uint64
	f     []int32 // hullTile columns
	arcs  []arc
	row   [4][]int32 // for what is given back
	room  []bool     // for a row of cells
}

// arc is a parabola of the lower envelope.
type arc struct {
	v, w int // where it stands and how high
	h    int // w + v²
	from int // the first cell where it is lowest
}

// newHull has room for a grid's columns and rows.
func newHull(g Grid, magic []uint64) *hull {
	n := max(g.N[1], g.N[2])
	h := &hull{magic: magic, f: make([]int32, min(hullTile, g.N[0])*(n+16)), arcs: make([]arc, n+1), room: make([]bool, g.N[0])}
	for i := range h.row {
		h.row[i] = make([]int32, hullTile)
	}
	return h
}

// columns takes columns that begin side by side at an index, hullTile at most,
// and gives their envelopes by rows. Only cells from first to before last of
// each are looked at, the others being Far.
func (e *hull) columns(a []int32, at, stride, columns, first, last int, put func(at int, row []int32)) {
	n, p := e.n, e.pitch
	// Four rows at a time, so that what lies together is written together.
	r := first
	for ; r+4 <= last; r += 4 {
		r0 := a[at+r*stride:][:columns]
		r1 := a[at+(r+1)*stride:][:columns]
		r2 := a[at+(r+2)*stride:][:columns]
		r3 := a[at+(r+3)*stride:][:columns]
		o := r
		for c, v := range r0 {
			to := e.f[o : o+4 : o+4]
			to[0], to[1], to[2], to[3] = v, r1[c], r2[c], r3[c]
			o += p
		}
	}
	for ; r < last; r++ {
		for c, v := range a[at+r*stride:][:columns] {
			e.f[c*p+r] = v
		}
	}
	for c := range columns {
		e.column(e.f[c*p:c*p+n], first, last)
	}
	r = 0
	for ; r+4 <= n; r += 4 {
		r0, r1, r2, r3 := e.row[0][:columns], e.row[1][:columns], e.row[2][:columns], e.row[3][:columns]
		o := r
		for c := range r0 {
			from := e.f[o : o+4 : o+4]
			r0[c], r1[c], r2[c], r3[c] = from[0], from[1], from[2], from[3]
			o += p
		}
		for i := range 4 {
			put(at+(r+i)*stride, e.row[i][:columns])
		}
	}
	for ; r < n; r++ {
		row := e.row[0][:columns]
		for c := range row {
			row[c] = e.f[c*p+r]
		}
		put(at+r*stride, row)
	}
}

// column replaces heights by the lower envelope of the parabolas that stand on
// them. Only those from first to before last are known; the others are Far.
func (e *hull) column(f []int32, first, last int) {
	n := len(f)
	arcs := e.arcs
	m := 0
	for r := first; r < last; r++ {
		w := f[r]
		if w == Far {
			continue
		}
		h := int(w) + r*r
		from := 0
		for m > 0 {
			// From x on, where 2x(r−v) ≥ the difference, this arc is the lower one.
			top := &arcs[m-1]
			diff, e2 := h-top.h, 2*(r-top.v)
			if diff <= top.from*e2 {
				m--
				continue
			}
			from = n
			if diff <= (n-1)*e2 {
				from = int(uint64(diff+e2-1) * e.magic[r-top.v] >> 48)
			}
			break
		}
		if from < n {
			arcs[m] = arc{r, int(w), h, from}
			m++
		}
	}
	if m == 0 {
		for i := range f {
			f[i] = Far
		}
		return
	}
	arcs[m].from = n
	for k := range m {
		a := &arcs[k]
		part := f[a.from:arcs[k+1].from]
		d := a.from - a.v
		for i := range part {
			s := d*d + a.w
			if s > e.limit {
				s = Far
			}
			part[i] = int32(s)
			d++
		}
	}
}

// reciprocals hold 2⁴⁸/(2e), rounded up, for 0 < e < n. With them a division of
// a < 4n² by 2e is a product: a·2e < 2⁴⁸ keeps the rest too small to matter.
func reciprocals(n int) []uint64 {
	m := make([]uint64, max(n, 1))
	for e := 1; e < n; e++ {
		d := uint64(2 * e)
		m[e] = (1<<48 + d - 1) / d
	}
	return m
}
