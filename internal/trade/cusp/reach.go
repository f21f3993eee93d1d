package cusp

import (
	"context"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"
)

// Reached is how much of a zone the end of a cutter gets to, from the zone's
// side, with the rest of the part in its way.
type Reached struct {
	Zone   string  `json:"zone"`
	Cutter string  `json:"cutter"`
	Share  float64 `json:"share"`   // of the area that is seen from that side
	LeftUM float64 `json:"left_um"` // left standing on the rest, 95 % of it
}

const (
	finestReach = 0.05 // mm
	// reachWork bounds the cells looked at for one cutter.
	reachWork = 4e7
	// reachedUM is what may be left standing on a place that counts as reached,
	// beside what the cells themselves cannot tell.
	reachedUM = 20.0
	// A cutter that gets to less of a zone does not fit it.
	everywhere = 0.995
)

// Reach lowers every cutter onto the part at every place over each zone, and
// looks at what all of those places together leave standing: the closing of the
// part by the cutter. Zones that are walls are left out, as the side of a cutter
// makes them, and so are those without a hollow or an inside corner, where nothing
// is in the way. Cutters of the same end are worked out once. It fails when ctx is
// done.
func Reach(ctx context.Context, m *mesh.Mesh, zones []fettle.Zone, cutters []fettle.Cutter) ([]Reached, error) {
	var out []Reached
	for _, z := range zones {
		if z.SlopeDeg.P50 >= wallDeg || len(z.Facets) == 0 || z.ConcaveMM == 0 && z.InsideCornerMM == 0 && !z.SharpInside {
			continue
		}
		s := newScene(m, z)
		known := map[relief.Tool]Reached{}
		for _, c := range cutters {
			t := ToolOf(c)
			if !(t.Radius > 0) || t.Corner == 0 && z.SlopeDeg.P95 > levelDeg {
				continue // the setup says so: no size, or stairs
			}
			r, ok := known[t]
			if !ok {
				var err error
				if r, err = s.reached(ctx, t); err != nil {
					return nil, err
				}
				known[t] = r
			}
			r.Zone, r.Cutter = z.ID, c.Name
			out = append(out, r)
		}
	}
	return out, nil
}

// reachCell is the finest cell at which closing the zone by a tool stays within
// reachWork: cells of the wide zone times cells under the tool, twice.
func (s *scene) reachCell(t relief.Tool) float64 {
	w, h := s.x1-s.x0+2*t.Radius, s.y1-s.y0+2*t.Radius
	return math.Max(finestReach, math.Sqrt(math.Sqrt(2*w*h*math.Pi*t.Radius*t.Radius/reachWork)))
}

func (s *scene) reached(ctx context.Context, t relief.Tool) (Reached, error) {
	cell := s.reachCell(t)
	v, err := s.view(ctx, cell, t.Radius)
	if err != nil {
		return Reached{}, err
	}
	left, err := relief.Close(ctx, v.all, t)
	if err != nil {
		return Reached{}, err
	}
	g := v.grid
	// Between cells a round end stands up by what they cannot tell.
	nose := t.Corner
	if nose == 0 {
		nose = t.Radius
	}
	area, got := 0.0, 0.0
	var rest []float64
	for n, slope := range v.slope {
		if math.IsNaN(float64(slope)) {
			continue
		}
		k := math.Sqrt(1 + float64(slope)*float64(slope)) // area over plan
		area += k
		stands := float64(left.Z[n]-v.all.Z[n]) / k
		on := g.DX * k
		if stands <= reachedUM/1000+on*on/(4*nose) {
			got += k
		} else if !math.IsNaN(stands) {
			rest = append(rest, stands*1000)
		}
	}
	r := Reached{}
	if area > 0 {
		r.Share = got / area
	}
	if len(rest) > 0 {
		slices.Sort(rest)
		r.LeftUM = rest[len(rest)*95/100]
	}
	return r, nil
}
