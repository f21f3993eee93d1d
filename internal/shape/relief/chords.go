package relief

import "math"

// chords turns a stretch of path into moves: the longest straight ones that
// keep to the tolerance, then what the machine and the teeth make of them.
func (l *layer) chords(run []point, ln line, pass int, out []Move) []Move {
	ends := []point{run[0]}
	for i := 0; i < len(run)-1; {
		a := ends[len(ends)-1]
		j := l.farthest(a, run, i)
		end := run[j]
		if j+1 < len(run) {
			// The chord may end between two known places: halve the gap.
			lo, hi := run[j].u, run[j+1].u
			for range 8 {
				m, ok := l.tip(ln, (lo+hi)/2)
				if !ok {
					break
				}
				if l.fits(a, m, run, i, j) {
					lo, end = m.u, m
				} else {
					hi = m.u
				}
			}
		}
		ends = append(ends, end)
		// The next chord starts between run[j] and run[j+1].
		i = j
		if j+1 >= len(run) {
			break
		}
	}
	return l.cut(ends, pass, out)
}

// farthest is the last known place that one chord from a reaches, at least the
// first one behind it.
func (l *layer) farthest(a point, run []point, i int) int {
	ok := i + 1
	// Gallop, then halve: the further the chord, the worse its miss.
	jump := 1
	for i+jump < len(run) && l.fits(a, run[i+jump], run, i, i+jump-1) {
		ok = i + jump
		jump *= 2
	}
	lo, hi := ok, min(i+jump, len(run))
	for hi-lo > 1 {
		m := (lo + hi) / 2
		if l.fits(a, run[m], run, i, m-1) {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

// fits reports whether the known places i+1 to j lie within the tolerance of the
// chord from a to b.
func (l *layer) fits(a, b point, run []point, i, j int) bool {
	for k := i + 1; k <= j; k++ {
		if miss(a.p, b.p, run[k].p) > l.p.Tolerance {
			return false
		}
	}
	return true
}

// cut adds the moves along a chain of chords.
func (l *layer) cut(ends []point, pass int, out []Move) []Move {
	start := math.Mod(float64(pass)*golden, 1)
	tag := int32(pass)
	wave := func(p [3]float64, s float64) [3]float64 {
		if w := l.p.Wave; w.Height != 0 && w.Length > 0 {
			p[2] += w.Height / 2 * math.Sin(2*math.Pi*(s/w.Length+start))
		}
		return p
	}
	along, next := 0.0, start*l.p.Tooth
	for i := range len(ends) - 1 {
		a, b := ends[i].p, ends[i+1].p
		d := math.Sqrt((b[0]-a[0])*(b[0]-a[0]) + (b[1]-a[1])*(b[1]-a[1]) + (b[2]-a[2])*(b[2]-a[2]))
		if d == 0 {
			continue
		}
		between := func(s float64) [3]float64 {
			f := s / d
			return wave([3]float64{a[0] + f*(b[0]-a[0]), a[1] + f*(b[1]-a[1]), a[2] + f*(b[2]-a[2])}, along+s)
		}
		if l.p.Tooth > 0 {
			for ; next < along+d; next += l.p.Tooth {
				p := between(next - along)
				out = append(out, Move{From: p, To: p, Tag: tag})
			}
			along += d
			continue
		}
		n := 1
		if l.p.Wave.Height != 0 && l.p.Wave.Length > 0 {
			n = max(1, int(math.Ceil(d/(l.p.Wave.Length/24))))
		}
		for k := range n {
			out = append(out, Move{From: between(d * float64(k) / float64(n)), To: between(d * float64(k+1) / float64(n)), Tag: tag})
		}
		along += d
	}
	return out
}
