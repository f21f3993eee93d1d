package proof

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/trade/cusp"
)

// region is a connected stretch of cutting with one tool: stretches that follow
// each other belong together where their boxes meet or lie within a diameter.
type region struct {
	tool      *tool
	from, to  int // moves, half open
	line, end int32
	blocks    int
	length    float64
	box       box
	feeds     map[float64]float64 // mm by feed
}

// maxRegions is how many regions are told one by one, the longest first.
const maxRegions = 40

// findRegions splits the cutting into regions and measures the passes in each.
func (j *job) findRegions() {
	p := j.Program
	var all []*region
	var run *region
	closeRun := func() {
		if run == nil {
			return
		}
		if n := len(all); n > 0 {
			if r := all[n-1]; r.tool == run.tool && r.box.grown(r.gap()).meets(run.box.grown(1e-6)) {
				r.to, r.end = run.to, run.end
				r.blocks += run.blocks
				r.length += run.length
				r.box.join(run.box)
				for f, l := range run.feeds {
					r.feeds[f] += l
				}
				run = nil
				return
			}
		}
		all = append(all, run)
		run = nil
	}
	for i := range p.Moves {
		m := &p.Moves[i]
		if m.Kind == nc.Rapid || !j.placed(m) {
			closeRun()
			continue
		}
		t := j.toolOf[m.Mode]
		if run != nil && run.tool != t {
			closeRun()
		}
		if run == nil {
			run = &region{tool: t, from: i, line: m.Line, feeds: map[float64]float64{}}
		}
		l := j.lengthOf(m)
		run.to, run.end = i+1, m.Line
		run.blocks++
		run.length += l
		run.feeds[p.Modes[m.Mode].Feed] += l
		run.box.add(m.From)
		run.box.add(m.To)
	}
	closeRun()
	j.regions = mostOf(all)
	for _, r := range j.regions {
		pr := fettle.ProofRegion{
			Tool: r.tool.number, FirstLine: int(r.line), LastLine: int(r.end), Blocks: r.blocks,
			FeedMM: r.length, Feed: r.mainFeed(), Box: *r.box.span(), Passes: j.passes(r),
		}
		j.out.Regions = append(j.out.Regions, pr)
	}
}

// mostOf keeps the longest regions, in the program's order.
func mostOf(all []*region) []*region {
	if len(all) <= maxRegions {
		return all
	}
	kept := slices.Clone(all)
	slices.SortStableFunc(kept, func(a, b *region) int {
		switch {
		case a.length > b.length:
			return -1
		case a.length < b.length:
			return 1
		}
		return 0
	})
	kept = kept[:maxRegions]
	slices.SortFunc(kept, func(a, b *region) int { return a.from - b.from })
	return kept
}

func (r *region) gap() float64 {
	if r.tool.known {
		return r.tool.cutter.DiameterMM
	}
	return 2
}

func (r *region) mainFeed() float64 {
	best, most := 0.0, -1.0
	for f, l := range r.feeds {
		if l > most || l == most && f < best {
			best, most = f, l
		}
	}
	return best
}

// directions is a histogram of path length by direction in plan, one bin a
// degree, 0 to 180.
type directions [180]float64

func (d *directions) add(dx, dy, weight float64) {
	if dx == 0 && dy == 0 {
		return
	}
	deg := math.Atan2(dy, dx) * 180 / math.Pi
	d[(int(math.Floor(deg+0.5))+360)%180] += weight
}

// near sums the bins within w degrees of one.
func (d *directions) near(at, w int) (sum float64) {
	for k := -w; k <= w; k++ {
		sum += d[((at+k)%180+180)%180]
	}
	return sum
}

// peaks are the one or two directions that most of the path has: sharp ones,
// at least 50° apart. Their shares are of the whole.
func (d *directions) peaks() (at []int, share []float64) {
	total := d.near(90, 89) + d[0]
	if total == 0 {
		return nil, nil
	}
	best := func(skip int) int {
		b, most := -1, 0.0
		for k := range d {
			if skip >= 0 && apart(k, skip) < 50 {
				continue
			}
			if s := d.near(k, 3) + 1e-3*d[k]; s > most {
				b, most = k, s
			}
		}
		return b
	}
	first := best(-1)
	at, share = append(at, first), append(share, d.near(first, 8)/total)
	if second := best(first); second >= 0 {
		if s := d.near(second, 8) / total; s >= 0.15 {
			at, share = append(at, second), append(share, s)
		}
	}
	return at, share
}

// apart is the angle between two directions in degrees, 0 to 90.
func apart(a, b int) int {
	d := ((a-b)%180 + 180) % 180
	return min(d, 180-d)
}

// passes finds the sets of parallel passes of a region and the distance between
// neighbours.
//
// For each direction that much of the path has, lines are laid across it; the
// moves that cross a line within 30° of square to it are sorted along it, and
// the gaps between neighbours are the spacings. For a ball the distance between
// the paths of its tip is the distance between those of its centre, so gaps are
// measured up the slope as well.
func (j *job) passes(r *region) []fettle.PassSet {
	var d directions
	for i := r.from; i < r.to; i++ {
		m := &j.Program.Moves[i]
		if m.Kind == nc.Rapid || m.Cycle || !j.placed(m) {
			continue
		}
		j.pieces(m, 0.02, func(from, to [3]float64) {
			dx, dy := to[0]-from[0], to[1]-from[1]
			d.add(dx, dy, math.Hypot(dx, dy))
		})
	}
	at, share := d.peaks()
	out := []fettle.PassSet{}
	if len(at) > 0 && share[0] < 0.3 { // round and round: look across both axes
		at = []int{0, 90}
	}
	for _, deg := range at {
		if set, ok := j.passSet(r, deg); ok {
			out = append(out, set)
		}
	}
	return out
}

// crossing is where a move crosses a line that is laid across the passes.
type crossing struct{ v, z float64 }

// lines laid across each set of passes.
const across = 7

func (j *job) passSet(r *region, deg int) (fettle.PassSet, bool) {
	sin, cos := math.Sincos(float64(deg) * math.Pi / 180)
	// u runs along the passes, v across.
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, x := range []float64{r.box.lo[0], r.box.hi[0]} {
		for _, y := range []float64{r.box.lo[1], r.box.hi[1]} {
			u := x*cos + y*sin
			lo, hi = math.Min(lo, u), math.Max(hi, u)
		}
	}
	if !(hi-lo > 1e-6) {
		return fettle.PassSet{}, false
	}
	// Off the middle and off round shares, so that no line runs along a seam.
	step := (hi - lo) / (across + 0.37)
	first := lo + 0.71*step
	var met [across][]crossing
	sumSin, sumCos := 0.0, 0.0
	for i := r.from; i < r.to; i++ {
		m := &j.Program.Moves[i]
		if m.Kind == nc.Rapid || m.Cycle || !j.placed(m) {
			continue
		}
		j.pieces(m, 0.02, func(a, b [3]float64) {
			ua, ub := a[0]*cos+a[1]*sin, b[0]*cos+b[1]*sin
			va, vb := a[1]*cos-a[0]*sin, b[1]*cos-b[0]*sin
			if math.Abs(vb-va) > 0.58*math.Abs(ub-ua) { // more than 30° off
				return
			}
			twice := 2 * math.Atan2(b[1]-a[1], b[0]-a[0])
			s, c := math.Sincos(twice)
			l := math.Abs(ub - ua)
			sumSin, sumCos = sumSin+l*s, sumCos+l*c
			k0 := int(math.Ceil((math.Min(ua, ub) - first) / step))
			k1 := int(math.Ceil((math.Max(ua, ub)-first)/step)) - 1
			for k := max(k0, 0); k <= min(k1, across-1); k++ {
				t := (first + float64(k)*step - ua) / (ub - ua)
				met[k] = append(met[k], crossing{va + t*(vb-va), a[2] + t*(b[2]-a[2])})
			}
		})
	}
	var gaps []float32
	for _, line := range met {
		slices.SortFunc(line, func(a, b crossing) int {
			switch {
			case a.v < b.v:
				return -1
			case a.v > b.v:
				return 1
			}
			return 0
		})
		for k := 1; k < len(line); k++ {
			dv, dz := line[k].v-line[k-1].v, line[k].z-line[k-1].z
			if dv > 1e-3 && math.Abs(dz) < 2*dv {
				gaps = append(gaps, float32(math.Hypot(dv, dz)))
			}
		}
	}
	if len(gaps) < 4 {
		return fettle.PassSet{}, false
	}
	mean := math.Atan2(sumSin, sumCos) / 2 * 180 / math.Pi
	set := fettle.PassSet{DirectionDeg: upright(mean), SpacingMM: quantiles32(gaps)}
	if t := r.tool; t.known && t.end.Corner > 0 {
		if h, err := cusp.Height(t.end.Corner, math.Min(set.SpacingMM.P50, 2*t.end.Corner)); err == nil {
			set.CuspUM = h * 1000
		}
	}
	return set, true
}

// upright brings a direction into 0 to 180, without a 180 from rounding.
func upright(deg float64) float64 {
	deg = math.Mod(math.Mod(deg, 180)+180, 180)
	if deg > 180-1e-6 {
		return 0
	}
	return deg
}
