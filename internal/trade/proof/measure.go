package proof

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"fettle"
	"fettle/internal/shape/relief"
)

// measured is a simulated surface and what is measured on it.
type measured struct {
	*job
	g     relief.Grid
	list  []relief.Move
	tools []relief.Tool

	part, swept, above *relief.Map
	owner              []int32
	zone               []bool  // of each cell: judged
	cells              []int32 // of each move in list: judged cells that it made
	zoneN, cutN        int
	window             int // cells of a window's side

	mean    float64
	cusps   []float64 // mm, of each window that was looked at closely, ascending
	highest float64   // mm, of any window, by its cells alone
	gouge   extreme
	left    extreme
	samples []float32 // of the height left
}

// extreme is the largest value and its cell.
type extreme struct {
	v    float64
	cell int
	any  bool
}

func (e *extreme) see(v float64, cell int) {
	if !e.any || v > e.v {
		*e = extreme{v, cell, true}
	}
}

// merge keeps the larger; of equal ones the first cell.
func (e *extreme) merge(o extreme) {
	if o.any && (!e.any || o.v > e.v || o.v == e.v && o.cell < e.cell) {
		*e = o
	}
}

// rows runs f over all rows on all cores, each row once. f must write only to
// what belongs to its row.
func (m *measured) rows(n int, f func(row int)) error {
	var wg sync.WaitGroup
	workers := max(1, min(runtime.GOMAXPROCS(0), n))
	for w := range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for r := n * w / workers; r < n*(w+1)/workers && m.ctx.Err() == nil; r++ {
				f(r)
			}
		}()
	}
	wg.Wait()
	return m.ctx.Err()
}

// markZone keeps which cells see a judged facet: those where it is the top of
// the part.
func (m *measured) markZone(zone *relief.Map) {
	m.zone = make([]bool, len(zone.Z))
	shift := float32(zone.Base - m.part.Base)
	for i, z := range zone.Z {
		m.zone[i] = z+shift >= m.part.Z[i]-1e-4
	}
}

// countOwners counts the judged cells that each move made, and from them
// chooses how wide the windows for the cusps are.
func (m *measured) countOwners() {
	m.cells = make([]int32, len(m.list))
	for i, in := range m.zone {
		if !in {
			continue
		}
		m.zoneN++
		if o := m.owner[i]; o >= 0 {
			m.cells[o]++
			m.cutN++
		}
	}
	const plainWindow = 0.5 // mm, where no passes lie side by side
	spacing := 0.0
	if r := m.mainRegion(); r != nil {
		for _, p := range r.Passes {
			spacing = math.Max(spacing, p.SpacingMM.P50)
		}
	}
	if spacing == 0 {
		spacing = plainWindow
	}
	m.window = 1 + int(math.Ceil(spacing/m.g.DX-1e-9))
	if spacing < 4*m.g.DX {
		m.check(0, "cell", "give a finer --cell", "the passes lie %s apart and the cells are %s: too coarse to judge cusps by", m.sys.Small(spacing), m.sys.Small(m.g.DX))
	}
}

// mainRegion is the region whose moves made most of the judged cells.
func (m *measured) mainRegion() *fettle.ProofRegion {
	made := make([]int, len(m.out.Regions))
	for i, n := range m.cells {
		if n == 0 {
			continue
		}
		line := int(m.Program.Moves[m.list[i].Tag].Line)
		tool := m.toolOf[m.Program.Moves[m.list[i].Tag].Mode].number
		for k := range m.out.Regions {
			if r := &m.out.Regions[k]; r.Tool == tool && r.FirstLine <= line && line <= r.LastLine {
				made[k] += int(n)
			}
		}
	}
	best, most := -1, 0
	for k, n := range made {
		if n > most {
			best, most = k, n
		}
	}
	if best < 0 {
		return nil
	}
	return &m.out.Regions[best]
}

// lean is the cosine of the part's slope at a cell, from its neighbours.
func (m *measured) lean(i, jj int) float64 {
	w, h := m.g.W, m.g.H
	n := jj*w + i
	g := func(a, b int, d float64) float64 {
		if v := float64(m.part.Z[b]-m.part.Z[a]) / d; !math.IsNaN(v) {
			return v
		}
		return 0
	}
	a, b := max(i-1, 0), min(i+1, w-1)
	c, d := max(jj-1, 0), min(jj+1, h-1)
	gx, gy := 0.0, 0.0
	if b > a {
		gx = g(n-i+a, n-i+b, float64(b-a)*m.g.DX)
	}
	if d > c {
		gy = g(c*w+i, d*w+i, float64(d-c)*m.g.DY)
	}
	return 1 / math.Sqrt(1+gx*gx+gy*gy)
}

// over is the height left at a cell square to the part; NaN where either map
// has none.
func (m *measured) over(i, jj int) float64 {
	n := jj*m.g.W + i
	d := float64(m.swept.Z[n]) - float64(m.part.Z[n]) + m.swept.Base - m.part.Base
	if math.IsNaN(d) {
		return d
	}
	return d * m.lean(i, jj)
}

// rowSums are a row's share of what is added up.
type rowSums struct {
	n           int
	sum         float64
	gouge, left extreme
	abs, square float64
}

// measure fills the map of the height left and all numbers.
func (m *measured) measure() error {
	g := m.g
	m.above.Base = 0
	rows := make([]rowSums, g.H)
	nan := float32(math.NaN())
	err := m.rows(g.H, func(jj int) {
		s := &rows[jj]
		for i := range g.W {
			n := jj*g.W + i
			d := m.over(i, jj)
			if m.zone[n] && m.owner[n] >= 0 && !math.IsNaN(d) {
				m.above.Z[n] = float32(d)
				s.n++
				s.sum += d
			} else {
				m.above.Z[n] = nan
			}
			if m.zone[n] && !math.IsNaN(d) {
				s.left.see(d, n)
			}
			if m.owner[n] >= 0 && -d > math.Max(s.gouge.v, 1e-4) {
				s.gouge.see(m.shallowest(i, jj), n)
			}
		}
	})
	if err != nil {
		return err
	}
	var n int
	var sum float64
	for k := range rows {
		n += rows[k].n
		sum += rows[k].sum
		m.gouge.merge(rows[k].gouge)
		m.left.merge(rows[k].left)
	}
	if n == 0 {
		return nil
	}
	m.mean = sum / float64(n)
	err = m.rows(g.H, func(jj int) {
		s := &rows[jj]
		for _, z := range m.above.Z[jj*g.W : (jj+1)*g.W] {
			if d := float64(z) - m.mean; !math.IsNaN(d) {
				s.abs += math.Abs(d)
				s.square += d * d
			}
		}
	})
	if err != nil {
		return err
	}
	var abs, square float64
	for k := range rows {
		abs += rows[k].abs
		square += rows[k].square
	}
	sa, sq := abs/float64(n)*1000, math.Sqrt(square/float64(n))*1000
	m.out.SaUM, m.out.SqUM = &sa, &sq
	every := max(1, len(m.zone)/500_000)
	for k := 0; k < len(m.zone); k += every {
		if m.zone[k] {
			if d := m.over(k%g.W, k/g.W); !math.IsNaN(d) {
				m.samples = append(m.samples, float32(d))
			}
		}
	}
	return m.windows()
}

// shallowest is the depth below the part that a cell shares with three
// neighbours in a square: a gouge must be two cells wide each way, or the rounding
// of a wall's place would make one as deep as the wall.
func (m *measured) shallowest(i, jj int) float64 {
	best := 0.0
	for b := max(jj-1, 0); b <= min(jj, m.g.H-2); b++ {
		for a := max(i-1, 0); a <= min(i, m.g.W-2); a++ {
			least := math.Inf(1)
			for _, d := range [4]float64{-m.over(a, b), -m.over(a+1, b), -m.over(a, b+1), -m.over(a+1, b+1)} {
				if !(d > 0) { // also where there is no part
					least = 0
					break
				}
				least = math.Min(least, d)
			}
			best = math.Max(best, least)
		}
	}
	return best
}

// mostWindows is about how many windows are looked at closely.
const mostWindows = 20_000

// windows measures the cusps: the height from the lowest to the highest place
// in each square window one pass wide. One window always holds a whole cusp,
// from valley to crest, and little of anything longer. Windows that are less
// than six tenths judged and cut are left out. Crests are sharp and lie between
// the cells, so for balls the highest place is found anew from the moves around
// it; of very many windows only every so many, evenly, and the median and 95 %
// are those windows'.
func (m *measured) windows() error {
	w := m.window
	nx, ny := m.g.W/w, m.g.H/w
	if nx == 0 || ny == 0 {
		return nil
	}
	each := make([][]float64, ny)
	most := make([]float64, ny)
	every := 1 + nx*ny/mostWindows
	err := m.rows(ny, func(row int) {
		for col := range nx {
			n := 0
			lo, hi := math.Inf(1), math.Inf(-1)
			at := 0
			for jj := row * w; jj < (row+1)*w; jj++ {
				base := jj * m.g.W
				for i := col * w; i < (col+1)*w; i++ {
					z := float64(m.above.Z[base+i])
					if z != z {
						continue
					}
					n++
					if z < lo {
						lo = z
					}
					if z > hi {
						hi, at = z, base+i
					}
				}
			}
			if 10*n < 6*w*w {
				continue
			}
			most[row] = math.Max(most[row], hi-lo)
			if (row*nx+col)%every == 0 {
				each[row] = append(each[row], m.crest(at, hi)-lo)
			}
		}
	})
	for row, e := range each {
		m.cusps = append(m.cusps, e...)
		m.highest = math.Max(m.highest, most[row])
	}
	slices.Sort(m.cusps)
	return err
}
