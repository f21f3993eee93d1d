package proof

import (
	"math"
	"slices"
)

// step is what was seen along the border of two regions.
type step struct {
	a, b int16
	sum  float64 // of the heights of b over a, mm
	n    int
}

const (
	witnessMM   = 0.003 // a step that shows on a fine face
	witnessRows = 4     // of so many rows and columns one is looked at
)

// sayWitness looks for steps where one region meets another: along rows and
// columns of the map, wherever a window of one region is followed by a window of
// another, the difference of their mean heights. Windows are as wide as a pass,
// so that cusps average out, and stand one width off the border, where the round
// of the cutter blends the step.
func (m *measured) sayWitness() {
	if len(m.regions) < 2 {
		return
	}
	of := make([]int16, len(m.Program.Moves))
	for i := range of {
		of[i] = -1
	}
	for k, r := range m.regions {
		for i := r.from; i < r.to; i++ {
			of[i] = int16(k)
		}
	}
	lines := m.g.H/witnessRows + m.g.W/witnessRows
	found := make([][]step, lines)
	err := m.rows(lines, func(line int) {
		if line < m.g.H/witnessRows {
			found[line] = m.stepsAlong(of, line*witnessRows*m.g.W, 1, m.g.W)
		} else {
			found[line] = m.stepsAlong(of, (line-m.g.H/witnessRows)*witnessRows, m.g.W, m.g.H)
		}
	})
	if err != nil {
		return
	}
	var all []step
	for _, f := range found {
		for _, s := range f {
			if i := slices.IndexFunc(all, func(t step) bool { return t.a == s.a && t.b == s.b }); i >= 0 {
				all[i].sum += s.sum
				all[i].n += s.n
			} else {
				all = append(all, s)
			}
		}
	}
	for _, s := range all {
		mean := s.sum / float64(s.n)
		if long := float64(s.n*witnessRows) * m.g.DX; long < 1 || math.Abs(mean) < witnessMM {
			continue
		}
		high, low := m.regions[s.b], m.regions[s.a]
		if mean < 0 {
			high, low = low, high
		}
		m.check(int(high.line), "witness", "measure both tools' lengths again, or finish the whole face with one tool",
			"a step of %s is left where the cuts from line %d meet those from line %d, which lie lower",
			m.sys.Small(math.Abs(mean)), high.line, low.line)
	}
}

// stepsAlong walks one row or column of n cells.
func (m *measured) stepsAlong(of []int16, first, stride, n int) (out []step) {
	region := func(i int) int16 {
		c := first + i*stride
		if o := m.owner[c]; o >= 0 && m.above.Z[c] == m.above.Z[c] {
			return of[m.list[o].Tag]
		}
		return -1
	}
	mean := func(from, to int) float64 {
		sum := 0.0
		for i := from; i < to; i++ {
			sum += float64(m.above.Z[first+i*stride])
		}
		return sum / float64(to-from)
	}
	w := m.window
	start := 0 // of the run of one region
	var prevStart int
	prev, now := int16(-1), int16(-1)
	for i := range n + 1 {
		r := int16(-1)
		if i < n {
			r = region(i)
		}
		if i < n && r == now {
			continue
		}
		// A run of now ends at i; before it lay one of prev.
		if prev >= 0 && now >= 0 && prev != now && i-start >= 2*w && start-prevStart >= 2*w {
			s := step{prev, now, mean(start+w, start+2*w) - mean(start-2*w, start-w), 1}
			if s.a > s.b {
				s.a, s.b, s.sum = s.b, s.a, -s.sum
			}
			out = append(out, s)
		}
		prev, prevStart = now, start
		now, start = r, i
	}
	return out
}
