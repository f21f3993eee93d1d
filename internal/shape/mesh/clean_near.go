package mesh

import (
	"cmp"
	"math"
	"slices"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxInCell is how many open vertices may lie in one cube of a few tolerances
// and still be taken for rounding noise. More are a real feature, finer
// than the tolerance, and stay as they are.
const maxInCell = 64

// cellKey is a cube of the grid that nearby vertices are looked up in.
type cellKey struct{ x, y, z int64 }

// compare orders cubes.
func (a cellKey) compare(b cellKey) int {
	return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y), cmp.Compare(a.z, b.z))
}

// weldNear joins vertices on open edges that lie within eps of each other and
// returns how many vanished. Vertices that are surrounded by facets are never
// touched, so that two bodies close together stay two. Clusters are the
// connected groups of the within-eps relation, which does not depend on the
// order of the file; a cluster wider than 2 eps is a feature and is left alone.
// The place kept is the smallest in x, then y, then z.
func (c *cleaner) weldNear(eps float64) int {
	box := geom.EmptyBox()
	open := c.openVertices()
	for _, v := range open {
		box = box.Add(c.pos[v])
	}
	if len(open) < 2 || !(eps > 0) || box.Diagonal()/eps > 1e15 {
		return 0
	}
	groups := nearGroups(c.pos, open, box.Min, eps)
	to := make(map[uint32]uint32)
	for _, g := range groups {
		around := geom.EmptyBox()
		for _, v := range g {
			around = around.Add(c.pos[v])
		}
		if around.Diagonal() > 2*eps {
			continue
		}
		keep := slices.MinFunc(g, func(a, b uint32) int { return compareVec(c.pos[a], c.pos[b]) })
		for _, v := range g {
			if v != keep {
				to[v] = keep
			}
		}
	}
	if len(to) == 0 {
		return 0
	}
	for t := range c.tri {
		for k, v := range c.tri[t] {
			if w, ok := to[v]; ok {
				c.tri[t][k] = w
			}
		}
	}
	return len(to)
}

// openVertices lists, in rising order, the vertices of edges that do not have
// exactly two facets.
func (c *cleaner) openVertices() []uint32 {
	if c.tp.Borders+c.tp.Tangles == 0 {
		return nil
	}
	var open []uint32
	for t, across := range c.tp.Across {
		for k, u := range across {
			if u == NoTri {
				open = append(open, c.tri[t][k], c.tri[t][(k+1)%3])
			}
		}
	}
	slices.Sort(open)
	return slices.Compact(open)
}

// nearGroups are the connected groups of two or more vertices under "within
// eps", without those that touch a crowded cube. Vertices are dealt into cubes
// of side 4 eps, and a vertex is compared with those in the cubes within eps of
// it: mostly its own alone.
func nearGroups(pos []r3.Vec, open []uint32, origin r3.Vec, eps float64) [][]uint32 {
	type entry struct {
		key cellKey
		i   int32 // into open
	}
	side := 4 * eps
	cells := make([]entry, len(open))
	for i, v := range open {
		d := r3.Sub(pos[v], origin)
		cells[i] = entry{cellKey{cellOf(d.X, side), cellOf(d.Y, side), cellOf(d.Z, side)}, int32(i)}
	}
	slices.SortFunc(cells, func(a, b entry) int { return cmp.Or(a.key.compare(b.key), cmp.Compare(a.i, b.i)) })
	f := NewSets(len(open))
	run := make(map[cellKey][]entry)
	var crowded []int32
	for i := 0; i < len(cells); {
		j := i + 1
		for j < len(cells) && cells[j].key == cells[i].key {
			j++
		}
		run[cells[i].key] = cells[i:j]
		if j-i > maxInCell {
			crowded = append(crowded, cells[i].i)
			for _, b := range cells[i+1 : j] {
				f.Join(cells[i].i, b.i)
			}
		}
		i = j
	}
	for _, a := range cells {
		if len(run[a.key]) > maxInCell {
			continue
		}
		p := r3.Sub(pos[open[a.i]], origin)
		for x := cellOf(p.X-eps, side); x <= cellOf(p.X+eps, side); x++ {
			for y := cellOf(p.Y-eps, side); y <= cellOf(p.Y+eps, side); y++ {
				for z := cellOf(p.Z-eps, side); z <= cellOf(p.Z+eps, side); z++ {
					near := run[cellKey{x, y, z}]
					if len(near) > maxInCell {
						f.Join(a.i, near[0].i)
						continue
					}
					for _, b := range near {
						if b.i > a.i && r3.Norm2(r3.Sub(pos[open[a.i]], pos[open[b.i]])) <= eps*eps {
							f.Join(a.i, b.i)
						}
					}
				}
			}
		}
	}
	leave := make(map[int32]bool)
	for _, i := range crowded {
		leave[f.Find(i)] = true
	}
	return f.groups(open, leave)
}

// cellOf is the row of cubes that a coordinate is in.
func cellOf(x, side float64) int64 { return int64(math.Floor(x / side)) }

// compareVec orders places by x, then y, then z.
func compareVec(a, b r3.Vec) int {
	return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Z, b.Z))
}

// groups lists the sets of two or more, as names[i] of their members, in order
// of their smallest, but for those whose root is in leave.
func (f Sets) groups(names []uint32, leave map[int32]bool) [][]uint32 {
	size := make([]int32, len(f))
	for i := range f {
		size[f.Find(int32(i))]++
	}
	at := make(map[int32]int)
	var out [][]uint32
	for i := range f {
		r := f.Find(int32(i))
		if size[r] < 2 || leave[r] {
			continue
		}
		k, ok := at[r]
		if !ok {
			k = len(out)
			at[r] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], names[i])
	}
	return out
}
