package proof

import (
	"math"

	"fettle/internal/format/nc"
)

// compareBlocks looks for the cutter and, where its size is known, its holder
// inside jaws and other things on the table. The cutter is taken as its own
// outline up to the holder.
func (j *job) compareBlocks() {
	if len(j.place.blocks) == 0 {
		return
	}
	hits := make([]once, len(j.place.blocks))
	held := make([]once, len(j.place.blocks))
	tools := make([]*tool, len(j.place.blocks))
	rapid := make([]bool, len(j.place.blocks))
	for i := range j.Program.Moves {
		m := &j.Program.Moves[i]
		if !j.placed(m) {
			continue
		}
		t := j.toolOf[m.Mode]
		if !t.known {
			continue
		}
		for k := range j.place.blocks {
			b := &j.place.blocks[k]
			holder := t.set.HolderMM > 0 && t.reach > 0
			if !holder && min(m.From[2], m.To[2]) >= b.hi[2] {
				continue
			}
			j.pieces(m, 0.02, func(from, to [3]float64) {
				if d := depthIn(from, to, b.box, func(deep float64) float64 { return radiusAt(t, deep) }, 0); d > 1e-4 {
					if hits[k].n == 0 {
						tools[k], rapid[k] = t, m.Kind == nc.Rapid
					}
					if hits[k].n == 0 || int(m.Line) != hits[k].at {
						hits[k].see(m.Line, d)
					}
				}
				if holder {
					if d := depthIn(from, to, b.box, func(float64) float64 { return t.set.HolderMM / 2 }, t.reach); d > 1e-4 {
						held[k].see(m.Line, d)
					}
				}
			})
		}
	}
	for k, o := range hits {
		if o.n == 0 {
			continue
		}
		name := j.place.blocks[k].name
		how := "cuts"
		if rapid[k] {
			how = "runs at rapid"
		}
		what := name
		if j.place.blocks[k].jaw {
			what = "the jaws (" + name + ")"
		}
		j.wrong(o.line, "jaws", "raise the part, lower the jaws or keep the path away from them; where the jaws are meant to be cut, say so by their top in the set-up",
			"line %d %s into %s with %s; the deepest is %s, at line %d", o.line, how, what, tools[k].called(), j.sys.Length(o.worst), o.at)
	}
	for k, o := range held {
		if o.n > 0 {
			j.wrong(o.line, "holder", "let the cutter stick out further, or take a slimmer holder",
				"on line %d the holder meets %s; by %s at most, at line %d", o.line, j.place.blocks[k].name, j.sys.Length(o.worst), o.at)
		}
	}
}

// radiusAt is the widest that a cutter is up to deep mm above its tip.
func radiusAt(t *tool, deep float64) float64 {
	c := t.end.Corner
	if deep >= c {
		return t.end.Radius
	}
	return t.end.Radius - c + math.Sqrt(math.Max(0, c*c-(c-deep)*(c-deep)))
}

// depthIn is how far below a box's top a straight move takes something that is
// up mm above the tip and as wide as radius says, while it overlaps the box in
// plan; 0 where it stays clear.
func depthIn(from, to [3]float64, b box, radius func(deep float64) float64, up float64) float64 {
	top := b.hi[2] - up
	lowest := math.Min(from[2], to[2])
	if lowest >= top {
		return 0
	}
	// Only the part of the move that is below the top counts.
	if from[2] > top {
		from = along(from, to, (from[2]-top)/(from[2]-to[2]))
	} else if to[2] > top {
		to = along(from, to, (top-from[2])/(to[2]-from[2]))
	}
	r := radius(top - lowest)
	// A coarse look first: most moves are nowhere near.
	if math.Max(from[0], to[0])+r <= b.lo[0] || math.Min(from[0], to[0])-r >= b.hi[0] ||
		math.Max(from[1], to[1])+r <= b.lo[1] || math.Min(from[1], to[1])-r >= b.hi[1] {
		return 0
	}
	deepest := 0.0
	n := 1 + int(math.Min(256, math.Hypot(to[0]-from[0], to[1]-from[1])/math.Max(r/8, 0.05)))
	for i := range n + 1 {
		p := along(from, to, float64(i)/float64(n))
		dx := math.Max(0, math.Max(b.lo[0]-p[0], p[0]-b.hi[0]))
		dy := math.Max(0, math.Max(b.lo[1]-p[1], p[1]-b.hi[1]))
		deep := top - p[2]
		if deep > deepest && math.Hypot(dx, dy) < radius(deep)-1e-6 {
			deepest = deep
		}
	}
	return deepest
}
