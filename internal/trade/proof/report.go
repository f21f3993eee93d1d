package proof

import (
	"math"
	"slices"

	"fettle"
)

// report puts what was measured into the proof and says what is wrong with it.
// It returns the tool that made most of the zone, nil where nothing was cut.
func (m *measured) report() *tool {
	out := m.out
	out.ZoneMM2 = float64(m.zoneN) * m.g.DX * m.g.DY
	if m.zoneN == 0 {
		return nil
	}
	untouched := 1 - float64(m.cutN)/float64(m.zoneN)
	out.Untouched = &untouched
	if m.cutN == 0 {
		m.check(0, "left", "check the zero and which face is cut", "no move reaches the %s zone", listed(out.Zones))
		return nil
	}
	gouge := math.Max(0, m.gouge.v)
	out.GougeMM = &gouge
	if gouge > 0 {
		out.GougeAt = m.at(m.gouge.cell)
		out.GougeLine = m.lineAt(m.gouge.cell)
	}
	if m.left.any {
		left := math.Max(0, m.left.v)
		out.LeftMM, out.LeftAt = &left, m.at(m.left.cell)
	}
	q := quantiles32(m.samples)
	p95 := math.Max(0, q.P95)
	out.LeftP95MM = &p95
	if n := len(m.cusps); n > 0 {
		at := func(q float64) float64 { return m.cusps[int(math.Round(q*float64(n-1)))] * 1000 }
		out.CuspUM = &fettle.Quantiles{P50: at(0.5), P95: at(0.95), Max: math.Max(at(1), m.highest*1000)}
	}
	finisher := m.lay()
	m.sayGouge(gouge)
	m.sayLeft(untouched)
	m.sayWitness()
	return finisher
}

func (m *measured) at(cell int) *[2]float64 {
	return &[2]float64{m.g.X(cell % m.g.W), m.g.Y(cell / m.g.W)}
}

func (m *measured) lineAt(cell int) int {
	if o := m.owner[cell]; o >= 0 {
		return int(m.Program.Moves[m.list[o].Tag].Line)
	}
	return 0
}

// lay finds the direction of the passes that made the zone: each move's
// direction in plan, weighted by the judged cells that it made.
func (m *measured) lay() *tool {
	var d directions
	share := map[int]int{}
	for i, n := range m.cells {
		if n == 0 {
			continue
		}
		mv := &m.list[i]
		d.add(mv.To[0]-mv.From[0], mv.To[1]-mv.From[1], float64(n))
		share[m.toolOf[m.Program.Moves[mv.Tag].Mode].number] += int(n)
	}
	for k := range m.out.Tools {
		t := &m.out.Tools[k]
		t.Share = float64(share[t.Number]) / float64(m.zoneN)
	}
	at, part := d.peaks()
	m.out.Lay = "mixed"
	switch {
	case len(at) == 0:
	case part[0] >= 0.7:
		m.out.Lay = "one way"
	case len(at) == 2 && part[0]+part[1] >= 0.7:
		m.out.Lay = "crossed"
	}
	if len(at) > 0 && m.out.Lay != "mixed" {
		var s, c float64
		for i, n := range m.cells {
			mv := &m.list[i]
			dx, dy := mv.To[0]-mv.From[0], mv.To[1]-mv.From[1]
			if n == 0 || dx == 0 && dy == 0 {
				continue
			}
			a := math.Atan2(dy, dx)
			if apart(int(math.Round(a*180/math.Pi)), at[0]) > 8 {
				continue
			}
			sin, cos := math.Sincos(2 * a)
			s, c = s+float64(n)*sin, c+float64(n)*cos
		}
		deg := upright(math.Atan2(s, c) / 2 * 180 / math.Pi)
		m.out.LayDeg = &deg
	}
	best, most := 0, -1
	for n, c := range share {
		if c > most || c == most && n < best {
			best, most = n, c
		}
	}
	return m.toolOfNumber(best)
}

// toolOfNumber is the tool of a number, where it cuts.
func (m *measured) toolOfNumber(number int) *tool {
	i := slices.IndexFunc(m.order, func(t *tool) bool { return t.number == number })
	if i < 0 {
		return nil
	}
	return m.order[i]
}

// sayGouge tells of metal cut away below the part.
func (m *measured) sayGouge(gouge float64) {
	if gouge <= m.place.tol/4 {
		return
	}
	sev, try := fettle.Check, "compare with the tolerance that the program was posted with and with that of the model's own facets"
	if gouge > m.place.tol {
		sev, try = fettle.Wrong, "check tool, length and zero, and prove the line out above the part"
	}
	m.add(sev, m.out.GougeLine, "gouge", try, "line %d cuts %s below the part, at X %s, Y %s",
		m.out.GougeLine, m.sys.Small(gouge), m.sys.Length(m.out.GougeAt[0]), m.sys.Length(m.out.GougeAt[1]))
}

// sayLeft tells of metal left on the zone beyond its cusps.
func (m *measured) sayLeft(untouched float64) {
	out := m.out
	zones := listed(out.Zones)
	if untouched > 0.005 {
		m.check(0, "left", "check the limits of the path, and whether another program cuts the rest",
			"%.1f %% of the %s zone is not cut by this program", 100*untouched, zones)
	}
	cusp := 0.0
	if out.CuspUM != nil {
		cusp = out.CuspUM.P95 / 1000
	}
	switch {
	case out.LeftMM == nil:
	case *out.LeftP95MM > 0.02+2*cusp:
		m.check(0, "left", "check the allowance set for this path, tool and zero",
			"%s is left on the %s zone (95 %% of it; half of it over %s), where the cusps are %s: the path stays off the part",
			m.sys.Small(*out.LeftP95MM), zones, m.sys.Small(math.Max(0, quantiles32(m.samples).P50)), m.sys.Height(cusp*1000))
	case *out.LeftMM > 0.05+3*cusp:
		m.check(0, "left", "look at this place with a smaller cutter in mind",
			"up to %s is left in places on the %s zone, most at X %s, Y %s", m.sys.Small(*out.LeftMM), zones, m.sys.Length(out.LeftAt[0]), m.sys.Length(out.LeftAt[1]))
	}
}
