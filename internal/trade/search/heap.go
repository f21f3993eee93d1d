package search

// entry is an open node in the heap.
type entry struct {
	bound float64
	depth int32
	node  int32
}

// before orders open nodes: by bound, then the one further on, which is nearer
// to a whole way, then the one met first.
func (a entry) before(b entry) bool {
	switch {
	case a.bound != b.bound:
		return a.bound < b.bound
	case a.depth != b.depth:
		return a.depth > b.depth
	}
	return a.node < b.node
}

// heap is a binary heap of open nodes. It is written out because it is where
// the search's own time goes, and one over interfaces takes twice as long.
type heap []entry

func (h *heap) push(e entry) {
	a := append(*h, e)
	i := len(a) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !e.before(a[up]) {
			break
		}
		a[i] = a[up]
		i = up
	}
	a[i] = e
	*h = a
}

func (h *heap) pop() entry {
	a := *h
	top, last := a[0], a[len(a)-1]
	a = a[:len(a)-1]
	*h = a
	if len(a) == 0 {
		return top
	}
	i := 0
	for {
		down := 2*i + 1
		if down >= len(a) {
			break
		}
		if down+1 < len(a) && a[down+1].before(a[down]) {
			down++
		}
		if !a[down].before(last) {
			break
		}
		a[i] = a[down]
		i = down
	}
	a[i] = last
	return top
}
