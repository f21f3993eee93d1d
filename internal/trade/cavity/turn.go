package cavity

import (
	"context"
	"fmt"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// sideways is the share of its open sides that must look one way, across its
// axis, for a slot to be told from there.
const sideways = 0.5

// turn looks at the survey's slots that go through. A groove whose walls meet in
// its bottom has no floor to tell what is down, and so the survey takes it to run
// from one of its ends to the other; the void shows that it is open all along one
// side. It is told from there.
func (f *finder) turn(ctx context.Context) error {
	var parts map[int32]*part
	for i := range f.list {
		o := &f.list[i]
		if o.Kind != fettle.Slot || !o.Through || o.Form != "" || f.tooNarrow(o.WidthMM) {
			continue
		}
		if parts == nil {
			parts = map[int32]*part{}
			for at, n := range f.of {
				if n < 0 {
					continue
				}
				if parts[n] == nil {
					parts[n] = &part{tris: f.places[n].tris}
				}
				parts[n].cells = append(parts[n].cells, int32(at))
			}
		}
		p := parts[int32(i)]
		if p == nil {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		in := p.set()
		var m [3][3]float64
		for _, t := range p.tris {
			n, area := f.Mesh.Normal(int(t))
			addSquare(&m, r3.Scale(area, n))
		}
		_, vec := geom.Eigen(m)
		sum, open := f.openSides(p, in, vec[2])
		if r3.Norm(sum) < sideways*open || r3.Norm(r3.Cross(r3.Unit(sum), f.places[i].axis)) < 0.9 {
			continue
		}
		pl := &place{axis: f.square(p, r3.Unit(sum)), tris: p.tris, loose: true}
		f.ways(pl)
		f.settle(p, pl)
		f.ends(p, pl, in)
		f.say("%s is open all along one side: its depth is told from there, %.3g mm, and not from end to end, %.3g mm.", o.ID, pl.depth, o.DepthMM)
		pl.tell(o)
		o.Why = fmt.Sprintf("%s; its way out was found in the void", o.Why)
		f.places[i] = pl
	}
	return nil
}
