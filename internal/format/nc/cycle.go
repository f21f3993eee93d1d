package nc

import (
	"math"
	"strconv"
)

// cycle is a drilling cycle in force.
type cycle struct {
	code    int32   // 0 for none
	initial float64 // the level where it was called, in mm
	// r and z are the words as given, in mm, with whether they count from the
	// level above them.
	r, z       float64
	rUp, zUp   bool // given under G91
	hasR, hasZ bool
	q          float64 // peck, mm
	dwell      float64 // seconds
}

// PeckClearMM is how far above the last depth a peck starts to cut again, and
// how far a chip-breaking peck steps back. Controls keep it as a setting of
// their own; the value here is only usual.
const PeckClearMM = 0.25

// holes is a block under a drilling cycle. fresh says that the block called
// the cycle itself.
func (c *control) holes(fresh bool) {
	b, y := &c.b, &c.cycle
	ax := planeAxes[c.plane]
	i, j, n := ax[0], ax[1], ax[2]
	if y.code == 870 {
		c.unknownG(870, true)
		if b.has&(bAxes|bR) != 0 {
			c.lose(bAxes)
		}
		b.used = b.has
		return
	}
	if c.first() {
		c.assume()
	}
	if b.bare&(bAxes|bR|bQ) != 0 {
		c.bareNote(b.bare & (bAxes | bR | bQ))
	}
	if v, ok := b.read(bR, 'R'); ok {
		y.r, y.rUp, y.hasR = v*c.unit, c.incremental, true
	}
	if v, ok := b.read(axisBit[n], 'X'+byte(n)); ok {
		y.z, y.zUp, y.hasZ = v*c.unit, c.incremental, true
	}
	if v, ok := b.read(bQ, 'Q'); ok {
		y.q = math.Abs(v) * c.unit
	}
	if b.has&bP != 0 && !c.calls() {
		y.dwell = c.seconds('P')
	}
	times := c.times()
	if b.has&(bAxes|bR) == 0 {
		return
	}
	step := [2]float64{}
	var to [2]float64
	for k, a := range [2]int{i, j} {
		to[k] = c.at[a]
		if v, ok := b.read(axisBit[a], 'X'+byte(a)); ok {
			if c.incremental {
				step[k] = v * c.unit
			} else {
				to[k] = v*c.unit + c.shift[a]
			}
			if c.polar {
				to[k] = nan
			}
		}
	}
	if !y.hasZ || !y.hasR {
		if fresh || times > 0 {
			c.tell(wCycle, int64(y.code), Broken, theBlock, "a drilling cycle has no depth or no level to start from; what the control does with it is not known")
		}
	}
	for range times {
		if c.err != nil {
			return
		}
		to[0] += step[0]
		to[1] += step[1]
		c.hole(to)
	}
}

// calls reports whether the P of the block belongs to a call.
func (c *control) calls() bool {
	for _, m := range c.b.m[:c.b.mn] {
		if m == 98 || m == 97 || m == 198 || m == 99 {
			return true
		}
	}
	return false
}

// times is how often the hole is repeated: L, or K as other controls have it.
func (c *control) times() int64 {
	b := &c.b
	bit, letter := uint32(bL), byte('L')
	if b.has&bL == 0 || c.calls() {
		bit, letter = bK, 'K'
	}
	if c.cycle.code == 830 && b.has&(bI|bJ) != 0 || c.cycle.code == 730 && b.has&(bI|bJ) != 0 {
		b.used |= b.has & bCentre
		if v := b.val['I'-'A'] * c.unit; b.has&bI != 0 && v > 0 {
			c.cycle.q = v
		}
		c.tell(wPeck, 1, Unknown, theBlock, "the pecks grow smaller with depth by I, J and K; they are written out with one size")
		if letter == 'K' {
			return 1
		}
	}
	if c.cycle.code == 760 && b.has&(bI|bJ) != 0 {
		b.used |= b.has & (bI | bJ) // the step away from the wall
	}
	v, ok := b.read(bit, letter)
	if !ok {
		return 1
	}
	n, ok := whole(v)
	if !ok || n < 0 {
		c.tell(wRepeat, 0, Broken, theBlock, "the number of repeats is not known; it is taken as one")
		return 1
	}
	return n
}

// hole makes the moves of one hole at a place in the plane.
func (c *control) hole(at [2]float64) {
	y := &c.cycle
	ax := planeAxes[c.plane]
	n := ax[2]
	r, z := nan, nan
	if y.hasR {
		if r = y.r + c.shift[n]; y.rUp {
			r = y.initial + y.r
		}
	}
	if y.hasZ {
		if z = y.z + c.shift[n]; y.zUp {
			z = r + y.z
		}
	}
	c.inCycle = true
	defer func() { c.inCycle = false }()
	to := c.at
	level := func(kind Kind, v float64) {
		to[n] = v
		if kind == Rapid {
			c.shiftTo(to)
		} else {
			c.move(kind, to, -1)
		}
	}
	if to[n] < r {
		level(Rapid, r) // up first: nothing is crossed below the level of retraction
	}
	to[ax[0]], to[ax[1]] = at[0], at[1]
	c.shiftTo(to)
	level(Rapid, r)
	if z > r {
		c.tell(wCycle, -1, Broken, theBlock, "the depth of a hole lies above the level it starts from")
	}
	switch y.code {
	case 730, 830:
		c.pecks(r, z, level)
	default:
		level(Cut, z)
	}
	if y.dwell > 0 {
		switch y.code {
		case 740, 760, 820, 840, 880, 890:
			c.dwell(y.dwell)
		}
	}
	turning := c.mode.Turning
	switch y.code {
	case 740, 840: // back out along the thread, turning the other way
		c.mode.Turning, c.dirty = -turning, true
		level(Cut, r)
		c.mode.Turning, c.dirty = turning, true
	case 850, 890:
		level(Cut, r)
	case 760:
		c.tell(wCycle, 760, Plain, codeText('G', 760), "fine boring steps away from the wall before it leaves the hole; the side is a setting of the control, and the step is not in the moves")
	case 880:
		c.tell(wCycle, 880, Unknown, codeText('G', 880), "the tool is taken out of the hole by hand; it is written out as a rapid move")
	}
	if c.toInitial && !(y.initial < r) {
		level(Rapid, y.initial)
	} else {
		level(Rapid, r)
	}
}

// shiftTo is a rapid move of a cycle; none where the tool is there already.
func (c *control) shiftTo(to [3]float64) {
	if to != c.at && !alike(to, c.at) {
		c.move(Rapid, to, -1)
	}
}

// alike reports whether two places are the same, unknown coordinates with
// unknown ones.
func alike(a, b [3]float64) bool {
	for i := range a {
		if a[i] != b[i] && (a[i] == a[i] || b[i] == b[i]) {
			return false
		}
	}
	return true
}

// pecks drills in steps: G83 out to the level it started from each time, G73
// only a little, to break the chip.
func (c *control) pecks(r, z float64, level func(Kind, float64)) {
	y := &c.cycle
	if !(y.q > 0) {
		c.tell(wPeckMissing, 0, Unknown, theBlock, "a pecking cycle has no Q; the hole is written out as one cut")
		level(Cut, z)
		return
	}
	if r-z > y.q {
		c.tell(wPeck, 0, Plain, codeText('G', y.code), "how far each peck clears is a setting of the control; it is taken as %s mm", strconv.FormatFloat(PeckClearMM, 'g', -1, 64))
	}
	depth := r
	for c.err == nil {
		next := depth - y.q
		if !(next > z+1e-9) || next == depth {
			level(Cut, z)
			return
		}
		level(Cut, next)
		if y.code == 730 {
			level(Rapid, min(next+PeckClearMM, r))
		} else {
			level(Rapid, r)
			level(Rapid, min(next+PeckClearMM, r))
		}
		depth = next
	}
}
