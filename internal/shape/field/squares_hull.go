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
	row   []int32 // for what is given back
	room  []bool  // for a row of cells
}

// arc is a parabola of the lower envelope.
type arc struct {
	v, w int // where it stands and how high
	h    int // w + v²
	from int // the first cell where it is lowest
}

// newHull has room for columns and rows of so many cells.
func newHull(longest int, magic []uint64) *hull {
	return &hull{
		magic: magic, f: make([]int32, hullTile*(longest+16)), arcs: make([]arc, longest+1),
		row: make([]int32, hullTile), room: make([]bool, longest),
	}
}

func (e *hull) use(n int, limit int32) { e.n, e.pitch, e.limit = n, n+16, int(limit) }

// columns takes columns that begin side by side at an index, hullTile at most,
// leaving out the cells of which all are Far without looking, and gives their
// envelopes by rows.
func (e *hull) columns(a []int32, at, stride, columns int, far []bool, put func(at int, row []int32)) {
	n, p := e.n, e.pitch
	for r := range n {
		if far != nil && far[r] {
			for c := range columns {
				e.f[c*p+r] = Far
			}
			continue
		}
		row := a[at+r*stride : at+r*stride+columns]
		for c, v := range row {
			e.f[c*p+r] = v
		}
	}
	for c := range columns {
		e.column(e.f[c*p : c*p+n])
	}
	row := e.row[:columns]
	for r := range n {
		for c := range row {
			row[c] = e.f[c*p+r]
		}
		put(at+r*stride, row)
	}
}

// column replaces heights by the lower envelope of the parabolas that stand on
// them.
func (e *hull) column(f []int32) {
	n := len(f)
	arcs := e.arcs
	m := 0
	for r, w := range f {
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
