package form

import "fmt"

// force makes a-b an edge and fixes it: every edge that crosses it is flipped
// until none does, then the flipped ones are made Delaunay again.
func (d *division) force(a, b int32) error {
	defer func() { d.fixed[edge(a, b)] = true }()
	if t, _ := d.find(a, b); t >= 0 {
		return nil
	}
	crossing, err := d.crossing(a, b)
	if err != nil {
		return err
	}
	var fresh [][2]int32
	for tries := 0; len(crossing) > 0; tries++ {
		if tries > 1_000_000 {
			return fmt.Errorf("the edge from point %d to %d cannot be made", a, b)
		}
		e := crossing[0]
		crossing = crossing[1:]
		if d.fixed[edge(e[0], e[1])] {
			return fmt.Errorf("the edge from point %d to %d crosses another loop's edge", a, b)
		}
		t, k := d.findEither(e[0], e[1])
		if !d.flip(t, k) {
			crossing = append(crossing, e)
			continue
		}
		// flip left the new diagonal as edge 2 of cell t.
		x, y := d.c[t].v[2], d.c[t].v[0]
		if d.crosses(a, b, x, y) {
			crossing = append(crossing, [2]int32{x, y})
		} else if edge(x, y) != edge(a, b) {
			fresh = append(fresh, [2]int32{x, y})
		}
	}
	d.fixed[edge(a, b)] = true
	d.settle(fresh)
	return nil
}

// findEither is find for an edge of which one end may be a corner of the large
// triangle.
func (d *division) findEither(a, b int32) (int32, int) {
	if a >= int32(len(d.p)-3) {
		a, b = b, a
	}
	t, k := d.find(a, b)
	if t < 0 {
		panic("form: an edge was lost")
	}
	return t, k
}

// crosses reports whether the open segments a-b and x-y cross.
func (d *division) crosses(a, b, x, y int32) bool {
	if a == x || a == y || b == x || b == y {
		return false
	}
	return turn(d.p[a], d.p[b], d.p[x])*turn(d.p[a], d.p[b], d.p[y]) < 0 &&
		turn(d.p[x], d.p[y], d.p[a])*turn(d.p[x], d.p[y], d.p[b]) < 0
}

// crossing lists the edges that the segment a-b crosses, in order from a.
func (d *division) crossing(a, b int32) ([][2]int32, error) {
	pa, pb := d.p[a], d.p[b]
	touch := func(v int32) error {
		return fmt.Errorf("the edge from point %d to %d runs through point %d", a, b, v)
	}
	// The cell at a through whose far edge the segment leaves.
	t, out := d.at[a], -1
	for first := t; ; {
		c := d.c[t]
		k := 0
		for c.v[k] != a {
			k++
		}
		r, l := c.v[(k+1)%3], c.v[(k+2)%3]
		tr, tl := turn(pa, pb, d.p[r]), turn(pa, pb, d.p[l])
		if tr < 0 && tl > 0 {
			out = (k + 1) % 3
			break
		}
		if tr == 0 && (d.p[r].X-pa.X)*(pb.X-pa.X)+(d.p[r].Y-pa.Y)*(pb.Y-pa.Y) > 0 {
			return nil, touch(r)
		}
		if t = c.n[(k+2)%3]; t < 0 || t == first {
			return nil, fmt.Errorf("the edge from point %d to %d has no beginning", a, b)
		}
	}
	var list [][2]int32
	for {
		c := d.c[t]
		list = append(list, [2]int32{c.v[out], c.v[(out+1)%3]})
		u := c.n[out]
		m := d.side(u, t)
		y := d.c[u].v[(m+2)%3]
		if y == b {
			return list, nil
		}
		switch s := turn(pa, pb, d.p[y]); {
		case s == 0:
			return nil, touch(y)
		case s > 0: // y lies left: leave between the right-hand end and y
			out = (m + 1) % 3
		default:
			out = (m + 2) % 3
		}
		t = u
	}
}

// inside lists the cells that an odd number of loops surrounds.
func (d *division) inside() [][3]int {
	large := int32(len(d.p) - 3)
	const unseen = -1
	odd := make([]int8, len(d.c))
	for i := range odd {
		odd[i] = unseen
	}
	var start int32
	for i, c := range d.c {
		if c.v[0] >= large || c.v[1] >= large || c.v[2] >= large {
			start = int32(i)
			break
		}
	}
	odd[start] = 0
	queue := []int32{start}
	for len(queue) > 0 {
		t := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		c := d.c[t]
		for k, n := range c.n {
			if n < 0 || odd[n] != unseen {
				continue
			}
			odd[n] = odd[t]
			if d.fixed[edge(c.v[k], c.v[(k+1)%3])] {
				odd[n] ^= 1
			}
			queue = append(queue, n)
		}
	}
	var list [][3]int
	for i, c := range d.c {
		if odd[i] == 1 {
			list = append(list, [3]int{int(c.v[0]), int(c.v[1]), int(c.v[2])})
		}
	}
	return list
}
