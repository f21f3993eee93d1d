package mesh

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// flatRatio is twice a facet's area over its longest edge squared at which it
// counts as having no area. Facets from single-precision files that are merely
// thin lie far above it.
const flatRatio = 1e-12

// flat reports whether the triangle of three places has no area to speak of.
// Products are rounded one by one so that the answer is the same for every
// order of the corners on every machine.
func flat(a, b, c r3.Vec) bool {
	u, v := r3.Sub(b, a), r3.Sub(c, a)
	x := float64(u.Y*v.Z) - float64(u.Z*v.Y)
	y := float64(u.Z*v.X) - float64(u.X*v.Z)
	z := float64(u.X*v.Y) - float64(u.Y*v.X)
	n2 := float64(x*x) + float64(y*y) + float64(z*z)
	l2 := max(r3.Norm2(u), r3.Norm2(v), r3.Norm2(r3.Sub(c, b)))
	// n2 > 0 also throws out what underflows: nothing could take its normal.
	return !(n2 > flatRatio*flatRatio*l2*l2 && n2 > 0)
}

// flatTri reports whether triangle t has no area.
func (c *cleaner) flatTri(t int32) bool {
	v := c.tri[t]
	return flat(c.pos[v[0]], c.pos[v[1]], c.pos[v[2]])
}

// keep drops every triangle that drop marks and returns how many went.
func (c *cleaner) keep(drop func(t int) bool) int {
	n := 0
	for t := range c.tri {
		if drop(t) {
			continue
		}
		if n != t {
			c.tri[n] = c.tri[t]
			if c.face != nil {
				c.face[n] = c.face[t]
			}
		}
		n++
	}
	gone := len(c.tri) - n
	c.tri = c.tri[:n]
	if c.face != nil {
		c.face = c.face[:n]
	}
	if gone > 0 {
		c.tp = nil
	}
	return gone
}

// dropCollapsed removes facets that name a vertex twice.
func (c *cleaner) dropCollapsed() int {
	return c.keep(func(t int) bool {
		v := c.tri[t]
		return v[0] == v[1] || v[1] == v[2] || v[2] == v[0]
	})
}

// dropFlat removes facets without area. A facet whose three corners lie on a
// line cannot simply go, or its longest edge would come apart from the two
// short ones: where there is a neighbour across the longest edge, that edge is
// swapped for the one to the neighbour's far corner, which takes the line's
// middle point into the neighbour. It returns how many facets were swapped and
// how many dropped.
func (c *cleaner) dropFlat() (swapped, dropped int) {
	var queue []int32
	for t := range c.tri {
		if c.flatTri(int32(t)) {
			queue = append(queue, int32(t))
		}
	}
	if len(queue) == 0 {
		return 0, 0
	}
	c.topology()
	for budget := 4*len(queue) + 16; len(queue) > 0 && budget > 0; budget-- {
		t := queue[0]
		queue = queue[1:]
		if !c.flatTri(t) {
			continue
		}
		u, ok := c.swapLongest(t)
		if !ok {
			continue
		}
		swapped++
		for _, s := range [2]int32{t, u} {
			if c.flatTri(s) {
				queue = append(queue, s)
			}
		}
	}
	c.tp.Start, c.tp.Around = nil, nil // swapped edges made them stale
	dropped = c.keep(func(t int) bool { return c.flatTri(int32(t)) })
	c.tp = nil
	return swapped, dropped
}

// swapLongest swaps the longest edge of the flat facet t for the edge between
// the corners opposite to it, keeping Across right, and returns the other facet.
func (c *cleaner) swapLongest(t int32) (u int32, ok bool) {
	across := c.tp.Across
	k := c.longestEdge(t)
	u = across[t][k]
	if u < 0 || u == t {
		return u, false
	}
	v := c.tri[t]
	j := edgeIn(c.tri[u], v[k], v[(k+1)%3])
	d := c.tri[u][(j+2)%3]
	if d == v[(k+2)%3] || across[u][j] != t {
		return u, false
	}
	if c.tri[u][j] == v[k] { // they run the same way: turn the flat one
		c.turn(t)
		v = c.tri[t]
		k = edgeIn(v, c.tri[u][j], c.tri[u][(j+1)%3])
	}
	// t = a b m with the edge a b, u = b a d; they become m a d and d b m.
	a, b, m := v[k], v[(k+1)%3], v[(k+2)%3]
	if c.joined(t, m, d) {
		return u, false
	}
	bm, ma := across[t][(k+1)%3], across[t][(k+2)%3]
	ad, db := across[u][(j+1)%3], across[u][(j+2)%3]
	c.tri[t], across[t] = [3]uint32{m, a, d}, [3]int32{ma, ad, u}
	c.tri[u], across[u] = [3]uint32{d, b, m}, [3]int32{db, bm, t}
	c.point(ad, a, d, u, t)
	c.point(bm, b, m, t, u)
	if c.face != nil {
		c.face[t] = c.face[u]
	}
	return u, true
}

// point makes neighbour n of the edge a b name triangle to where it named from.
func (c *cleaner) point(n int32, a, b uint32, from, to int32) {
	if n < 0 {
		return
	}
	for k := range 3 {
		p, q := c.tri[n][k], c.tri[n][(k+1)%3]
		if c.tp.Across[n][k] == from && (p == a && q == b || p == b && q == a) {
			c.tp.Across[n][k] = to
			return
		}
	}
}

// joined reports whether an edge from m to d is met on the walk round m that
// starts at triangle t. The walk is cut short at a vertex of very many facets.
func (c *cleaner) joined(t int32, m, d uint32) bool {
	for _, side := range [2]int{0, 2} {
		at := t
		for range 64 {
			v := c.tri[at]
			k := slices.Index(v[:], m)
			if k < 0 {
				break
			}
			if v[(k+1)%3] == d || v[(k+2)%3] == d {
				return true
			}
			at = c.tp.Across[at][(k+side)%3]
			if at < 0 || at == t {
				break
			}
		}
	}
	return false
}

// longestEdge is the number of the longest edge of t.
func (c *cleaner) longestEdge(t int32) int {
	v := c.tri[t]
	best, at := -1.0, 0
	for k := range 3 {
		if l := r3.Norm2(r3.Sub(c.pos[v[k]], c.pos[v[(k+1)%3]])); l > best {
			best, at = l, k
		}
	}
	return at
}

// turn reverses the facet t and its neighbours with it.
func (c *cleaner) turn(t int32) {
	c.tri[t][1], c.tri[t][2] = c.tri[t][2], c.tri[t][1]
	if c.tp != nil {
		a := &c.tp.Across[t]
		a[0], a[2] = a[2], a[0]
	}
}

// edgeIn is the number of the edge between a and b, either way, in triangle v.
func edgeIn(v [3]uint32, a, b uint32) int {
	for k := range 3 {
		p, q := v[k], v[(k+1)%3]
		if p == a && q == b || p == b && q == a {
			return k
		}
	}
	return 0
}

// facetKey names a facet by its corners in rising order.
type facetKey struct {
	v   [3]uint32
	odd bool // the facet runs against the rising order
	t   int32
}

// dropDuplicates removes facets over the same three corners: of those that run
// the same way one stays. Facets back to back are an inner wall between two
// bodies, where both go, or a skin given with both its sides, where one stays:
// see [cleaner.innerWalls]. It returns how many repeats went and how many of
// inner walls.
func (c *cleaner) dropDuplicates() (repeats, walls int) {
	c.topology()
	var keys []facetKey
	for t, a := range c.tp.Across {
		// A facet shares all its edges with its double, so that each either has
		// more than two facets or leads to the double.
		u := max(a[0], a[1], a[2])
		if a[0] != u && a[0] != NoTri || a[1] != u && a[1] != NoTri || a[2] != u && a[2] != NoTri {
			continue
		}
		v := c.tri[t]
		odd := false
		for _, s := range [3]int{0, 1, 0} {
			if v[s] > v[s+1] {
				v[s], v[s+1] = v[s+1], v[s]
				odd = !odd
			}
		}
		keys = append(keys, facetKey{v, odd, int32(t)})
	}
	slices.SortFunc(keys, func(a, b facetKey) int {
		return cmp.Or(slices.Compare(a.v[:], b.v[:]), cmp.Compare(a.t, b.t))
	})
	drop := map[int32]bool{}
	var mixed []facetKey // one facet for each place with facets back to back
	for i := 0; i < len(keys); {
		j, both := i+1, false
		for j < len(keys) && keys[j].v == keys[i].v {
			drop[keys[j].t] = true
			both = both || keys[j].odd != keys[i].odd
			j++
		}
		if both {
			mixed = append(mixed, keys[i])
		}
		i = j
	}
	repeats = len(drop)
	if len(mixed) > 0 {
		for _, t := range c.innerWalls(mixed) {
			drop[t] = true
			walls += 2
			repeats--
		}
	}
	if len(drop) > 0 {
		c.keep(func(t int) bool { return drop[int32(t)] })
	}
	return repeats, walls
}

// innerWalls says which of the facets that have a double back to back must go
// as well. Such facets are gathered into patches over edges that no other facet
// touches. A patch is an inner wall if at its rim exactly two other facets go
// on, as where two bodies meet; it is a double skin if one or none does.
func (c *cleaner) innerWalls(mixed []facetKey) []int32 {
	index := make(map[[3]uint32]int32, len(mixed))
	type rim struct {
		others int
		of     []int32
	}
	rims := make(map[[2]uint32]*rim)
	for i, f := range mixed {
		index[f.v] = int32(i)
		for k := range 3 {
			e := edgeKey(f.v[k], f.v[(k+1)%3])
			if rims[e] == nil {
				rims[e] = &rim{}
			}
			rims[e].of = append(rims[e].of, int32(i))
		}
	}
	for t, v := range c.tri {
		if a := c.tp.Across[t]; a[0] != NoTri && a[1] != NoTri && a[2] != NoTri {
			continue // only edges with more than two facets can be at a rim
		}
		s := v
		slices.Sort(s[:])
		if _, ok := index[s]; ok {
			continue
		}
		for k := range 3 {
			if r := rims[edgeKey(v[k], v[(k+1)%3])]; r != nil {
				r.others++
			}
		}
	}
	f := NewSets(len(mixed))
	for _, r := range rims {
		if r.others == 0 {
			for _, i := range r.of[1:] {
				f.Join(r.of[0], i)
			}
		}
	}
	wall, skin := make([]bool, len(mixed)), make([]bool, len(mixed))
	for _, r := range rims {
		for _, i := range r.of {
			switch root := f.Find(i); {
			case r.others == 2:
				wall[root] = true
			case r.others > 0 || len(r.of) == 1:
				skin[root] = true
			}
		}
	}
	var gone []int32
	for i, m := range mixed {
		if r := f.Find(int32(i)); wall[r] && !skin[r] {
			gone = append(gone, m.t)
		}
	}
	return gone
}

// edgeKey names an edge by its ends in rising order.
func edgeKey(a, b uint32) [2]uint32 { return [2]uint32{min(a, b), max(a, b)} }
