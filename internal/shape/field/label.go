package field

import (
	"context"

	"fettle/internal/shape/cores"
)

// Label tells the parts of a mask that hang together by faces, or with corners
// by faces, edges and corners: for each cell the number of its part, 0 off the
// mask, and how many parts there are. Parts are numbered from 1 by their first
// cell. It takes the answer's 4 bytes a cell and 16 for each unbroken run of
// cells along a row, of which there are at most half as many as cells.
//
// Runs of neighbouring rows are united in a forest (R. E. Tarjan, "Efficiency of
// a Good But Not Linear Set Union Algorithm", Journal of the ACM 22 (1975) 215),
// slab by slab, then across the seams.
func Label(mask []bool, g Grid, corners bool) (label []int32, n int) {
	label = make([]int32, g.Len())
	if g.Len() == 0 {
		return label, 0
	}
	const thick = 8 // planes to a slab
	ctx := context.Background()
	ny, nz := g.N[1], g.N[2]
	slabs := (nz + thick - 1) / thick
	l := labels{g: g, corners: corners, start: make([]int32, ny*nz+1)}
	parts := make([][]run, slabs)
	cores.Each(ctx, slabs, func(s int) {
		var list []run
		for row := s * thick * ny; row < min((s+1)*thick, nz)*ny; row++ {
			list = runsOf(mask[row*g.N[0]:(row+1)*g.N[0]], list)
			l.start[row+1] = int32(len(list))
		}
		parts[s] = list
	})
	total := 0
	for s, list := range parts {
		for row := s * thick * ny; row < min((s+1)*thick, nz)*ny; row++ {
			l.start[row+1] += int32(total)
		}
		total += len(list)
	}
	l.runs, l.parent = make([]run, total), make([]int32, total)
	cores.Each(ctx, slabs, func(s int) {
		first := l.start[s*thick*ny]
		copy(l.runs[first:], parts[s])
		parts[s] = nil
		for r := first; r < l.start[min((s+1)*thick, nz)*ny]; r++ {
			l.parent[r] = r
		}
		for k := s * thick; k < min((s+1)*thick, nz); k++ {
			for j := range ny {
				if j > 0 {
					l.join(k*ny+j, k*ny+j-1)
				}
				if k > s*thick {
					l.joinBelow(j, k)
				}
			}
		}
	})
	for k := thick; k < nz; k += thick {
		for j := range ny {
			l.joinBelow(j, k)
		}
	}
	// A root comes before all that hang on it, so numbers come in order.
	number := make([]int32, total)
	for r, p := range l.parent {
		if int(p) == r {
			n++
			number[r] = int32(n)
		} else {
			number[r] = number[p]
		}
	}
	cores.Each(ctx, nz, func(k int) {
		for row := k * ny; row < (k+1)*ny; row++ {
			cells := label[row*g.N[0] : (row+1)*g.N[0]]
			for r := l.start[row]; r < l.start[row+1]; r++ {
				part := cells[l.runs[r].from:l.runs[r].to]
				for i := range part {
					part[i] = number[r]
				}
			}
		}
	})
	return label, n
}

// run is an unbroken run of true cells of a row, to not included.
type run struct{ from, to int32 }

func runsOf(row []bool, list []run) []run {
	in := false
	for i, m := range row {
		if m == in {
			continue
		}
		if in = m; m {
			list = append(list, run{int32(i), int32(len(row))})
		} else {
			list[len(list)-1].to = int32(i)
		}
	}
	return list
}

type labels struct {
	g       Grid
	corners bool
	start   []int32 // the first run of each row
	runs    []run
	parent  []int32 // of each run; itself at a root, else one before it
}

// joinBelow unites the runs of row j of plane k with those they touch in the
// plane before.
func (l *labels) joinBelow(j, k int) {
	ny := l.g.N[1]
	l.join(k*ny+j, (k-1)*ny+j)
	if !l.corners {
		return
	}
	if j > 0 {
		l.join(k*ny+j, (k-1)*ny+j-1)
	}
	if j+1 < ny {
		l.join(k*ny+j, (k-1)*ny+j+1)
	}
}

// join unites the runs of two rows that touch.
func (l *labels) join(row, other int) {
	wide := int32(0)
	if l.corners {
		wide = 1
	}
	a, b := l.start[row], l.start[other]
	for a < l.start[row+1] && b < l.start[other+1] {
		ra, rb := l.runs[a], l.runs[b]
		if ra.from < rb.to+wide && rb.from < ra.to+wide {
			l.unite(a, b)
		}
		if ra.to < rb.to {
			a++
		} else {
			b++
		}
	}
}

func (l *labels) root(r int32) int32 {
	for l.parent[r] != r {
		l.parent[r] = l.parent[l.parent[r]]
		r = l.parent[r]
	}
	return r
}

func (l *labels) unite(a, b int32) {
	a, b = l.root(a), l.root(b)
	switch {
	case a < b:
		l.parent[b] = a
	case b < a:
		l.parent[a] = b
	}
}
