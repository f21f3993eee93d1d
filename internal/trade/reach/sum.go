package reach

import (
	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/wear"
)

// values are what one kind of media does on each facet of the skin.
type values struct {
	new, worn         []bool
	exposure, removal []float32
}

// enough lets a sphere into a gap that is as wide as itself but for rounding.
const enough = 1 - 1e-3

// values works out those of the media of that index.
func (r *reacher) values(media int) values {
	n := len(r.skin.tri)
	v := values{make([]bool, n), make([]bool, n), make([]float32, n), make([]float32, n)}
	p := &r.pieces[media]
	for f := range n {
		v.new[f] = r.reached(media, 0, int32(f))
		v.worn[f] = r.reached(media, 1, int32(f))
		if v.new[f] {
			e := r.sites.exposed(f, p[0].equal)
			v.exposure[f] = float32(e)
			v.removal[f] = float32(e) * r.bend[r.skin.from[f]]
		}
	}
	return v
}

// reached reports whether media touch a facet when new (state 0) or worn (1).
func (r *reacher) reached(media, state int, f int32) bool {
	p := &r.pieces[media][state]
	radius := float64(r.radius[f])
	switch {
	case radius >= p.out*enough:
		return true
	case p.core == nil || float64(r.skin.touch[f]) < p.tip*enough:
		return false
	}
	if r.poses[media].of == nil {
		return radius >= p.equal*enough
	}
	return r.poses[media].fits(state, f)
}

// bends works out, for each triangle of the part, how its curvature changes what
// comes off it.
func (r *reacher) bends() {
	p, c := r.in.Detail.Patches, r.in.Detail.Curvature
	edge := make([]bool, len(p.Mesh.Pos)) // vertices on the border of a face
	for t, v := range p.Mesh.Tri {
		for k, u := range p.Topology.Across[t] {
			if u < 0 || p.Sharp[t][k] || p.Face[u] != p.Face[t] {
				edge[v[k]], edge[v[(k+1)%3]] = true, true
			}
		}
	}
	r.bend = make([]float32, len(p.Mesh.Tri))
	for t, v := range p.Mesh.Tri {
		hi, lo := float64(c.Facet[t][0]), float64(c.Facet[t][1])
		if p.Faces[p.Face[t]].Kind == geom.Free {
			// The mean of the corners within the face is steadier than the facet's own.
			sum, low, n := 0.0, 0.0, 0.0
			for _, q := range v {
				if !edge[q] {
					sum, low, n = sum+float64(c.Vertex[q].Max), low+float64(c.Vertex[q].Min), n+1
				}
			}
			if n > 0 {
				hi, lo = sum/n, low/n
			}
		}
		r.bend[t] = float32(bend(hi, lo))
	}
}

// bend is what a surface of those principal curvatures in 1/mm, the larger
// first, loses against a flat one by the law that edges go by, within bounds:
// beyond them the law is asked for more than it knows. In the hollows the two
// factors that it is made of end at 0, as the law has it, lest two of them below
// 0 made a hollow lose much.
func bend(k1, k2 float64) float64 {
	law := wear.Default
	v := max(0, 1+law.B*k2) + max(0, law.B+law.C*k2)*k1
	return min(max(v, 0), mostBend)
}

// mostBend bounds what a bulge loses against a flat face.
const mostBend = 3

// media sums up what media do.
func (r *reacher) media(i int) fettle.MediaReach {
	m := r.in.Media[i]
	v := r.values(i)
	out := fettle.MediaReach{Name: m.Name, Title: m.Title}
	type sum struct{ area, new, worn, exposure, removal float64 }
	var all sum
	zones := make([]sum, len(r.in.Survey.Zones))
	for f, a := range r.skin.area {
		z := &zones[r.in.Detail.Zone[r.skin.from[f]]]
		for _, s := range [2]*sum{&all, z} {
			s.area += a
			s.new += a * float64(bit(v.new[f]))
			s.worn += a * float64(bit(v.worn[f]))
			s.exposure += a * float64(v.exposure[f])
			s.removal += a * float64(v.removal[f])
		}
	}
	if all.area > 0 {
		out.ReachedShare, out.WornShare = all.new/all.area, all.worn/all.area
	}
	for k, s := range zones {
		a := max(s.area, 1e-300) // a zone without area has nothing reached
		out.Zones = append(out.Zones, fettle.ZoneReach{
			Zone: r.in.Survey.Zones[k].ID, ReachedShare: s.new / a, WornShare: s.worn / a,
			Exposure: s.exposure / a, Removal: s.removal / a,
		})
	}
	out.Leaves = r.leaves(v, all.area)
	return out
}
