package proof

import (
	"context"
	"fmt"
	"math"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	fineCell  = 0.01       // mm, where it makes no more cells than
	mostCells = 30_000_000 // this
	hardCells = 120_000_000
	margin    = 1.0 // mm around the judged zones
	steepest  = 85  // degrees; steeper facets are walls, which a map from above does not show
)

// surface simulates what the program leaves on the judged zones and measures
// it.
func (j *job) surface() (*Detail, error) {
	d := &Detail{}
	finisher := j.finisher()
	defer func() {
		if finisher != nil {
			j.sayFacets(finisher)
		}
	}()
	if j.Part == nil {
		j.note(0, "part", "give --part", "no part is given, so the surface is not worked out")
		return d, nil
	}
	if !j.trust {
		j.note(0, "surface", "mend what is wrong above first", "size or place cannot be believed, so the surface is not worked out")
		return d, nil
	}
	facets, ids := j.judged()
	if len(facets) == 0 {
		j.check(0, "zone", "check up in the set-up, or which face shows", "no show face looks at the spindle in this set-up, so the surface is not judged")
		return d, nil
	}
	list, tools := j.moves()
	if len(list) == 0 {
		return d, nil
	}
	g, err := j.grid(facets)
	if err != nil {
		return nil, err
	}
	j.out.Zones, j.out.CellUM = ids, g.DX*1000
	m := &measured{job: j, g: g, list: list, tools: tools}

	j.say("drawing the part", 0, 3)
	if d.Part, err = relief.Raster(j.ctx, j.Part.Mesh, j.place.frame, g, nil); err != nil {
		return nil, err
	}
	zone, err := relief.Raster(j.ctx, j.Part.Mesh, j.place.frame, g, facets)
	if err != nil {
		return nil, err
	}
	m.part = d.Part
	m.markZone(zone)

	j.say("cutting the surface", 1, 3)
	opt := relief.Options{NoStock: true, Owner: true}
	if j.place.stock.any {
		opt.Stock, opt.NoStock = j.place.stock.hi[2], false
	}
	tenths := 0 // told in tenths: blocks are many
	opt.Progress = func(done, total int) {
		if t := 10 * done / max(total, 1); t > tenths && done < total {
			tenths = t
			j.say("cutting the surface", t, 10)
		}
	}
	if d.Swept, d.Owner, err = relief.Sweep(j.ctx, g, tools, list, opt); err != nil {
		return nil, plain(j.ctx, err)
	}
	m.swept, m.owner = d.Swept, d.Owner

	j.say("measuring the surface", 2, 3)
	m.countOwners()
	d.Above = zone // its memory serves again
	m.above = zone
	if err := m.measure(); err != nil {
		return nil, err
	}
	if t := m.report(); t != nil {
		finisher = t
	}
	for i, o := range d.Owner { // from straight pieces to the program's moves
		if o >= 0 {
			d.Owner[i] = list[o].Tag
		}
	}
	return d, nil
}

// plain keeps a stopped context as it is.
func plain(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return fmt.Errorf("the sweep: %w", err)
}

// finisher is the last tool that cuts: a guess that the map improves.
func (j *job) finisher() *tool {
	if n := len(j.order); n > 0 {
		return j.order[n-1]
	}
	return nil
}

// judged are the facets of the show zones that look at the spindle, and those
// zones' names; where no zone shows, all that look at it.
func (j *job) judged() (facets []int32, ids []string) {
	up := j.place.frame.Z
	least := math.Cos(steepest * math.Pi / 180)
	take := func(class fettle.Class) {
		for _, z := range j.Part.Survey.Zones {
			if class != "" && z.Class != class {
				continue
			}
			n := len(facets)
			for _, f := range z.Facets {
				if normal, area := j.Part.Mesh.Normal(int(f)); area > 0 && r3.Dot(normal, up) > least {
					facets = append(facets, f)
				}
			}
			if len(facets) > n {
				ids = append(ids, z.ID)
			}
		}
	}
	take(fettle.Show)
	if len(facets) == 0 {
		any := false
		for _, z := range j.Part.Survey.Zones {
			any = any || z.Class == fettle.Show
		}
		if !any {
			take("")
		}
	}
	return facets, ids
}

// grid covers the judged zones and a margin, within the part's plan.
func (j *job) grid(facets []int32) (relief.Grid, error) {
	var b box
	for _, f := range facets {
		for _, v := range j.Part.Mesh.Tri[f] {
			b.add(geom.Array(j.place.frame.Into(j.Part.Mesh.Pos[v])))
		}
	}
	b = b.grown(margin)
	for k := range 2 {
		b.lo[k] = math.Max(b.lo[k], j.place.part.lo[k])
		b.hi[k] = math.Min(b.hi[k], j.place.part.hi[k])
	}
	cell := j.CellMM
	if cell == 0 {
		cell = fineCell
		if need := math.Sqrt(b.size(0) * b.size(1) / mostCells); need > cell {
			cell = math.Ceil(need*1000) / 1000
			j.note(0, "cell", "give --cell to choose another", "the surface is worked out on cells of %s: %s of them would be too many at 10 µm", j.sys.Fine(cell*1000), "more than 30 million")
		}
	}
	if n := b.size(0) * b.size(1) / (cell * cell); n > hardCells {
		return relief.Grid{}, fettle.Errorf(fettle.Invalid, "cells of %g µm make %.0f million of them on this face, and %d million is the most; give --cell %.0f or more",
			cell*1000, n/1e6, hardCells/1_000_000, math.Ceil(1000*math.Sqrt(b.size(0)*b.size(1)/hardCells)))
	}
	// Half a cell inside, so that every cell's middle lies over the part's box.
	return relief.Cover(b.lo[0]+cell/2, b.lo[1]+cell/2, b.hi[0]-cell/2, b.hi[1]-cell/2, cell), nil
}

// moves are the straight pieces of all moves of known tools; Tag is the move in
// the program. Rapids above everything are left out.
func (j *job) moves() (list []relief.Move, tools []relief.Tool) {
	index := map[*tool]int32{}
	high := j.place.part.hi[2]
	if j.place.stock.any {
		high = math.Max(high, j.place.stock.hi[2])
	}
	list = make([]relief.Move, 0, len(j.Program.Moves))
	for i := range j.Program.Moves {
		m := &j.Program.Moves[i]
		if !j.placed(m) {
			continue
		}
		t := j.toolOf[m.Mode]
		if !t.known || m.Kind == nc.Rapid && min(m.From[2], m.To[2]) >= high {
			continue
		}
		k, ok := index[t]
		if !ok {
			k = int32(len(tools))
			index[t] = k
			tools = append(tools, t.end)
		}
		if m.Arc < 0 {
			list = append(list, relief.Move{From: m.From, To: m.To, Tool: k, Tag: int32(i)})
			continue
		}
		j.pieces(m, flatTolerance, func(from, to [3]float64) {
			list = append(list, relief.Move{From: from, To: to, Tool: k, Tag: int32(i)})
		})
	}
	return list, tools
}
