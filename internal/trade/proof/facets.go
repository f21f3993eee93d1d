package proof

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/format/nc"
)

const (
	straightDeg = 0.005 // turns below are a straight run cut in pieces
	cornerDeg   = 15.0  // turns above are corners that were meant
	visibleDeg  = 0.057 // 1 mrad: what a bright face begins to show
)

// facetCount collects the chords of a tool's path.
type facetCount struct {
	length, turn []float32 // mm, degrees
	corners      int
	line         int32 // of the first facet
}

// countFacets measures chords and the turns between them, from the program's
// own points. A chord counts when it meets a neighbour at a small angle.
func (j *job) countFacets() {
	p := j.Program
	var prev [3]float64 // direction of the last cut, not of unit length
	var last *nc.Move
	var lastLength float64
	var counted bool // the last chord is in already
	for i := range p.Moves {
		m := &p.Moves[i]
		if m.Kind != nc.Cut || m.Cycle || !j.placed(m) {
			last = nil
			continue
		}
		d := sub(m.To, m.From)
		l := norm(d)
		if l == 0 {
			continue
		}
		t := j.toolOf[m.Mode]
		f := t.facets
		now := false
		if last != nil && j.toolOf[last.Mode] == t {
			turn := turnOf(prev, d) * 180 / math.Pi
			switch {
			case turn > cornerDeg:
				f.corners++
			case turn > straightDeg:
				if !counted {
					f.length = append(f.length, float32(lastLength))
				}
				f.length = append(f.length, float32(l))
				f.turn = append(f.turn, float32(turn))
				now = true
				if f.line == 0 {
					f.line = m.Line
				}
			}
		}
		prev, last, lastLength, counted = d, m, l, now
	}
}

// result is what was counted; nil where there are too few chords to speak of.
func (f *facetCount) result() *fettle.Facets {
	if len(f.turn) < 8 {
		return nil
	}
	out := &fettle.Facets{Chords: len(f.length), Corners: f.corners, LengthMM: quantiles32(f.length), TurnDeg: quantiles32(f.turn)}
	out.Visible = out.TurnDeg.P50 > visibleDeg && out.LengthMM.P50 >= 0.1 && out.LengthMM.P50 <= 3
	return out
}

// quantiles32 sorts its argument.
func quantiles32(v []float32) fettle.Quantiles {
	if len(v) == 0 {
		return fettle.Quantiles{}
	}
	slices.Sort(v)
	at := func(q float64) float64 { return float64(v[int(math.Round(q*float64(len(v)-1)))]) }
	return fettle.Quantiles{P50: at(0.5), P95: at(0.95), Max: at(1)}
}

// sayFacets tells of facets that will show, for the tool that makes most of the
// surface.
func (j *job) sayFacets(t *tool) {
	j.out.Facets = t.facets.result()
	f := j.out.Facets
	if f == nil || !f.Visible {
		return
	}
	sev := fettle.Note
	if f.TurnDeg.P50 > 0.5 {
		sev = fettle.Check
	}
	j.add(sev, int(t.facets.line), "facets", "post it with a tighter tolerance, or with arcs, before a bright finish; a matte one hides more",
		"the path of %s turns by %.2f° every %s (from line %d): a bright face shows such facets, a reflection turns twice as far",
		t.called(), f.TurnDeg.P50, j.sys.Small(f.LengthMM.P50), t.facets.line)
}
