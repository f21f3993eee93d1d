package hold

import (
	"fmt"
	"math"

	"fettle"
)

// What is not written on a cutter or in a program: starting guesses.
const (
	helixDeg = 35
	// allowanceMM is what roughing leaves for the last pass.
	allowanceMM = 0.2
	// Roughing along a side: as deep as the cutter is wide, a tenth of that wide,
	// with half as much feed again as a finishing pass.
	roughDeep, roughWide, roughFeed = 1, 0.1, 1.5
	// feedAtMM is the diameter that a material's feed per tooth is given for.
	feedAtMM = 6
)

const kienzleBasis = "O. Kienzle, VDI-Z 94 (1952) 299, with kc1.1 from a catalogue table (±20 %) and a factor of 1 to 1.5 for a worn edge"

// What spreads a computed force. The radial force is 0.3 to 0.5 of that along the
// cut (handbook, from memory). Kienzle's law was fitted to chips of 0.05 mm and more;
// under that edges rub, and force grows past it (from memory; how much is a guess).
var (
	kcShare     = fettle.Guess(1, 0.8, 1.2, kienzleBasis)
	wearFactor  = fettle.Guess(1.2, 1.0, 1.5, fettle.BasisGuess)
	thinFactor  = fettle.Guess(1, 1, 1.3, fettle.BasisGuess)
	radialShare = fettle.Guess(0.4, 0.3, 0.5, "handbook, from memory")
	// The teeth on the end press the part down and take some of the helix's lift.
	liftShare = fettle.Guess(1, 0.5, 1, fettle.BasisGuess)
)

// thinChipMM is where Kienzle's law begins.
const thinChipMM = 0.05

// Force is what a cut pulls a part with at its peaks: in the plane of the table, all
// teeth together, and along the cutter's axis, up.
//
// Each tooth cuts a chip of the thickness h = f·sin φ, where φ is how far it has
// come round from where the chip begins (M. E. Martellotti, "An analysis of the
// milling process", Transactions of the ASME 63 (1941) 677, from memory), with the
// force Fc = kc1.1·b·h^(1−mc) along its way and a share of that outwards. On a helix
// the upper parts of an edge come later, by 2·b·tan β/D in all, so forces are
// summed along the edges, as vectors, and the rotation with the largest sum counts.
// The helix draws the part up by Fc·tan β; a left-hand one presses it down, which is
// counted as no lift.
func Force(c fettle.Cut, m fettle.Material) (planeN, liftN fettle.Estimate) {
	if !(c.DiameterMM > 0 && c.DepthMM > 0 && c.WideMM > 0 && c.FeedMM > 0 && m.KC11 > 0) {
		none := fettle.Exactly(0, "no cut")
		return none, none
	}
	e := engaged(c, m)
	mid, lift := e.peak(radialShare.Value)
	low, _ := e.peak(radialShare.Low)
	high, _ := e.peak(radialShare.High)
	spread := func(v fettle.Estimate) fettle.Estimate {
		v = v.Times(kcShare).Times(wearFactor)
		if e.chip(e.arc) < thinChipMM {
			v = v.Times(thinFactor)
		}
		return v
	}
	planeN = spread(fettle.Guess(mid, low, high, kienzleBasis))
	liftN = spread(fettle.Exactly(lift*math.Tan(c.HelixDeg*math.Pi/180), kienzleBasis).Times(liftShare))
	if c.HelixDeg <= 0 {
		liftN = fettle.Exactly(0, "the helix does not draw the part up")
	}
	return planeN, liftN
}

// engagement is a cutter's teeth in a cut.
type engagement struct {
	teeth  int
	arc    float64 // from where a chip begins to where it ends, radians
	lag    float64 // from the foot of an edge to its top
	feed   float64
	wide   float64 // chip width of an edge: the depth of cut
	kc, mc float64
}

func engaged(c fettle.Cut, m fettle.Material) engagement {
	wide := min(c.WideMM, c.DiameterMM)
	return engagement{
		teeth: max(1, c.Flutes),
		arc:   math.Acos(1 - 2*wide/c.DiameterMM),
		lag:   2 * c.DepthMM * math.Tan(math.Abs(c.HelixDeg)*math.Pi/180) / c.DiameterMM,
		feed:  c.FeedMM, wide: c.DepthMM, kc: m.KC11, mc: m.MC,
	}
}

// chip is the thickest chip up to an angle.
func (e engagement) chip(phi float64) float64 { return e.feed * math.Sin(min(phi, math.Pi/2)) }

// tooth is Kienzle's force along the way of an edge of some width at an angle, N; 0
// out of the cut.
func (e engagement) tooth(phi, width float64) float64 {
	if phi < 0 || phi > e.arc+1e-12 || phi >= math.Pi {
		return 0
	}
	return e.kc * width * math.Pow(e.feed*math.Sin(phi), 1-e.mc)
}

// pull is a force in the plane and the sum of sizes that it is made of.
type pull struct{ x, y, along float64 }

func (p pull) plus(q pull, k float64) pull {
	return pull{p.x + k*q.x, p.y + k*q.y, p.along + k*q.along}
}

// at is what a piece of an edge pulls with at an angle.
func (e engagement) at(phi, width, radial float64) pull {
	f := e.tooth(phi, width)
	sin, cos := math.Sincos(phi)
	return pull{f * (cos + radial*sin), f * (-sin + radial*cos), f}
}

// peak is the largest force in the plane over a turn, and the largest sum of the
// forces along the teeth's ways.
func (e engagement) peak(radial float64) (plane, along float64) {
	// What an edge gathers from the beginning of the chip on, where its width is one
	// for a radian.
	const panels = 720
	var run [panels + 1]pull
	step := e.arc / panels
	for i := range panels {
		run[i+1] = run[i].plus(e.at((float64(i)+0.5)*step, 1, radial), step)
	}
	upTo := func(phi float64) pull {
		t := min(1, max(0, phi/e.arc)) * panels
		i := min(panels-1, int(t))
		return run[i].plus(run[i+1].plus(run[i], -1), t-float64(i))
	}
	pitch := 2 * math.Pi / float64(e.teeth)
	const steps = 360
	for k := range steps + 1 {
		turn := pitch * float64(k) / steps
		if k == steps { // a tooth's foot where its chip is thickest
			turn = min(e.arc, math.Pi/2)
		}
		var sum pull
		for t := range e.teeth {
			foot := math.Mod(turn+pitch*float64(t), 2*math.Pi)
			if e.lag < step/100 { // as good as straight, and a difference of sums would be none
				sum = sum.plus(e.at(foot, e.wide, radial), 1)
				continue
			}
			for ; foot-e.lag < e.arc; foot += 2 * math.Pi { // a long edge goes round more than once
				sum = sum.plus(upTo(foot).plus(upTo(foot-e.lag), -1), e.wide/e.lag)
			}
		}
		plane, along = max(plane, math.Hypot(sum.x, sum.y)), max(along, sum.along)
	}
	return plane, along
}

// CutOf is the cut of a last pass, aboveMM over the jaws' top: what roughing left
// and the cusp. A ball cuts near its tip, on the circle where it enters the metal,
// and has that circle's diameter.
func CutOf(pass *fettle.Pass, cutter fettle.Cutter, m fettle.Material, aboveMM float64) fettle.Cut {
	c := cutWith(cutter, aboveMM)
	c.DepthMM = allowanceMM + pass.CuspUM/1000
	c.WideMM = pass.StepoverMM
	c.FeedMM = feedFor(cutter, m)
	if n := pass.SpindleRPM * float64(cutter.Flutes); n > 0 && pass.FeedMMMin > 0 {
		c.FeedMM = pass.FeedMMMin / n
	}
	how := "last pass"
	switch {
	case pass.StepoverMM == 0: // with the side of the cutter
		how = "last pass along a side"
		c.WideMM, c.DepthMM = allowanceMM, sideDeep(cutter, cutter.FluteMM, aboveMM)
	case cutter.Shape == fettle.Ball:
		r := cutter.DiameterMM / 2
		deep := min(c.DepthMM, r)
		c.DiameterMM = 2 * math.Sqrt(deep*(2*r-deep))
	}
	c.WideMM = min(c.WideMM, c.DiameterMM)
	c.Says = fmt.Sprintf("%s with %s, %.2g mm deep and %.2g mm wide", how, cutter.Name, c.DepthMM, c.WideMM)
	return c
}

// Rough is a customary roughing cut along a side, aboveMM over the jaws' top:
// roughing is what pulls parts out.
func Rough(cutter fettle.Cutter, m fettle.Material, aboveMM float64) fettle.Cut {
	c := cutWith(cutter, aboveMM)
	c.DepthMM = sideDeep(cutter, roughDeep*cutter.DiameterMM, aboveMM)
	c.WideMM = roughWide * cutter.DiameterMM
	c.FeedMM = roughFeed * feedFor(cutter, m)
	c.Says = fmt.Sprintf("roughing along a side with %s, %.2g mm deep and %.2g mm wide", cutter.Name, c.DepthMM, c.WideMM)
	return c
}

func cutWith(cutter fettle.Cutter, aboveMM float64) fettle.Cut {
	return fettle.Cut{
		Cutter: cutter.Name, DiameterMM: cutter.DiameterMM, Flutes: cutter.Flutes,
		HelixDeg: helixDeg, AboveMM: aboveMM,
	}
}

// sideDeep is how deep a cutter goes along a side: no deeper than its flutes, nor
// than the part stands out of the jaws.
func sideDeep(cutter fettle.Cutter, deep, aboveMM float64) float64 {
	if cutter.FluteMM > 0 {
		deep = min(deep, cutter.FluteMM)
	}
	if aboveMM > 0 {
		deep = min(deep, aboveMM)
	}
	return deep
}

// feedFor is a finishing pass's feed per tooth: in proportion to the diameter.
func feedFor(cutter fettle.Cutter, m fettle.Material) float64 {
	return m.FeedPerTooth.Value * cutter.DiameterMM / feedAtMM
}
