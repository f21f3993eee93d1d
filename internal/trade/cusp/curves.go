package cusp

import (
	"context"
	"fmt"
	"math"

	"fettle"
)

// Options are the choices behind a curve that zone, cutter, metal and mill do
// not make. A zero field takes the default that stands beside it.
type Options struct {
	ToleranceUM float64 // chord tolerance of the path; 5
	DepthMM     float64 // left for the finishing pass to cut; 0.15
	Crossed     bool    // a second set of passes square to the first
	ApproachS   float64 // to get to the zone and away again, each set of passes; 4
	// Reached is what [Reach] found on the part; without it the reach is estimated
	// from the zone's tightest hollow.
	Reached []Reached
}

// reached is what was found for a cutter on a zone.
func (o Options) reached(zone, cutter string) (r Reached, ok bool) {
	for _, r := range o.Reached {
		if r.Zone == zone && r.Cutter == cutter {
			return r, true
		}
	}
	return r, false
}

func (o Options) filled() Options {
	if o.ToleranceUM <= 0 {
		o.ToleranceUM = 5
	}
	if o.DepthMM <= 0 {
		o.DepthMM = 0.15
	}
	if o.ApproachS <= 0 {
		o.ApproachS = 4
	}
	return o
}

// steps are the stepovers of a curve: the R10 series of preferred numbers
// (ISO 3), so that a machinist meets round ones.
var steps = []float64{
	1.0, 0.8, 0.63, 0.5, 0.4, 0.315, 0.25, 0.2, 0.16, 0.125, 0.1, 0.08, 0.063, 0.05, 0.04, 0.0315, 0.025, 0.02,
}

// Curves sets minutes against cusp height for every cutter on every zone, zones
// first, both in the order given. The points of a curve fall in stepover; a
// stepover whose passes would not meet is left out, and a cutter that cannot be
// used keeps its curve, with Fits false and the reason in Why.
//
// The heights hold at the slope that 95 % of the zone does not exceed and on
// its tightest bulge, so most of the zone comes out finer. It fails on a metal
// without speed or feed and on a mill without limits, and when ctx is done.
func Curves(ctx context.Context, zones []fettle.Zone, cutters []fettle.Cutter, mat fettle.Material, mill fettle.Machine, opt Options) ([]fettle.Curve, error) {
	out := make([]fettle.Curve, 0, len(zones)*len(cutters))
	for _, z := range zones {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for _, c := range cutters {
			s, err := newSetup(z, c, mat, mill, opt)
			if err != nil {
				return nil, err
			}
			out = append(out, s.curve())
		}
	}
	return out, nil
}

// manner is how a cutter takes a zone.
type manner int

const (
	passes manner = iota // side by side over the face
	facing               // the flat end of a cutter on a level face: no cusps
	flank                // the side of a cutter along a wall: no cusps
)

// setup is one cutter on one zone, with the speeds and limits worked out.
type setup struct {
	zone   fettle.Zone
	cutter fettle.Cutter
	opt    Options
	manner manner

	side Side    // worst bend across the passes
	rho  float64 // its radius
	lean float64 // surface distance over stepover at the worst slope

	rpm, feed, tooth float64 // feed in mm/min
	accel            float64 // mm/s², along the passes
	pathFeed         float64 // feed that curvature and control leave of feed
	reach            float64
	fits             bool
	why              string
}

const (
	levelDeg   = 0.5 // steeper than this, the edge of a flat end leaves stairs
	wallDeg    = 60  // median slope from which a cutter must reach down a zone's whole height
	uprightDeg = 2   // as far as a wall may lean
	dishDeg    = 1.5 // end teeth of a flat cutter are ground hollow by about this
)

func newSetup(z fettle.Zone, c fettle.Cutter, mat fettle.Material, mill fettle.Machine, opt Options) (*setup, error) {
	switch {
	case !(mat.CutSpeed.Value > 0) || !(mat.FeedPerTooth.Value > 0):
		return nil, fettle.Errorf(fettle.Invalid, "material %q has no cutting speed or feed per tooth; enter them on the shelf", mat.Name)
	case !(mill.MaxRPM > 0) || !(mill.MaxFeedMMMin > 0):
		return nil, fettle.Errorf(fettle.Invalid, "mill %q has no largest spindle speed or feed; enter them on the shelf", mill.Name)
	case !(c.DiameterMM > 0) || c.Flutes < 1:
		return nil, fettle.Errorf(fettle.Invalid, "cutter %q has no diameter or no flutes; enter them on the shelf", c.Name)
	case !(z.AreaMM2 > 0):
		return nil, fettle.Errorf(fettle.Invalid, "zone %q has no area", z.ID)
	}
	s := &setup{zone: z, cutter: c, opt: opt.filled()}
	s.chooseManner()
	s.judge()
	s.worst()
	s.speeds(mat, mill)
	return s, nil
}

func (s *setup) chooseManner() {
	switch {
	case s.cutter.Shape == fettle.Ball:
		s.manner = passes
	case s.isLevel():
		s.manner = facing
	case s.isWall():
		s.manner = flank
	}
}

// isWall reports whether the side of a cutter fits all of the zone: it stands
// upright everywhere. A face that only leans steeply is swept level by level.
func (s *setup) isWall() bool {
	return s.zone.SlopeDeg.P50 >= 90-uprightDeg && s.zone.SlopeDeg.Max <= 90+uprightDeg
}

func (s *setup) isLevel() bool {
	return s.zone.SlopeDeg.P95 <= levelDeg && s.zone.ConvexMM == 0 && s.zone.ConcaveMM == 0
}

// judge says whether the cutter can be used, and why not.
func (s *setup) judge() {
	z, c, round := s.zone, s.cutter, s.round()
	s.reach, s.fits = 1, true
	if r, ok := s.opt.reached(z.ID, c.Name); ok && s.manner == passes {
		s.reach = r.Share
		if r.Share < everywhere {
			s.fits = false
			s.why = fmt.Sprintf("it does not get to %.2g %% of the zone, and leaves up to %.2g mm standing there", 100*(1-r.Share), r.LeftUM/1000)
		}
	} else if hollow := z.ConcaveMM; hollow > 0 && round >= hollow {
		// The survey says how tight the tightest 2 % are; a larger round misses
		// those and, as a hollow blends into its surroundings, more.
		s.reach = math.Max(0, 1-0.02*round/hollow)
		s.fits = false
		s.why = fmt.Sprintf("its radius of %.3g mm does not go into the hollow of %.3g mm radius", round, hollow)
	}
	switch rise := s.rise(); {
	case s.stairs():
		s.fits, s.reach = false, 0
		s.why = fmt.Sprintf("a square corner leaves stairs on a face that leans up to %.3g°", z.SlopeDeg.P95)
	case rise > c.ReachMM:
		s.fits = false
		s.reach *= c.ReachMM / rise
		s.why = fmt.Sprintf("the zone is %.3g mm deep and the cutter clears its holder by %.3g mm", rise, c.ReachMM)
	case s.fits && z.InsideCornerMM > 0 && round > z.InsideCornerMM:
		s.fits = false
		s.why = fmt.Sprintf("its radius of %.3g mm does not go into the inside corner of %.3g mm", round, z.InsideCornerMM)
	}
	if !s.fits {
		return
	}
	switch {
	case s.manner == facing:
		s.why = "a level face: the end of the cutter leaves feed marks and no cusps"
	case s.manner == flank:
		s.why = "a wall: the side of the cutter leaves feed marks and no cusps"
	case z.ConcaveMM > 0 && round >= z.ConcaveMM:
		s.why = "lowered onto the part everywhere, it gets into every hollow that counts"
	case z.ConcaveMM > 0:
		s.why = fmt.Sprintf("its radius of %.3g mm goes into the tightest hollow of %.3g mm", round, z.ConcaveMM)
	default:
		s.why = "there is no hollow that it could not enter"
	}
	if z.SharpInside {
		s.why += fmt.Sprintf("; in the sharp inside corner it leaves a round of %.3g mm", round)
	}
}

// round is the radius that must go into hollows and corners: of the nose where
// passes lie side by side, of the outline in plan otherwise.
func (s *setup) round() float64 {
	if s.manner == passes {
		return s.cutter.NoseMM()
	}
	return s.cutter.DiameterMM / 2
}

// stairs is true where a square corner would have to follow a curved face.
func (s *setup) stairs() bool { return s.manner == passes && !(s.cutter.NoseMM() > 0) }

// rise is the depth that a cutter has to reach down: of a wall, the smallest
// side of its box.
func (s *setup) rise() float64 {
	b := s.zone.SizeMM
	if s.zone.SlopeDeg.P50 >= wallDeg {
		return math.Min(b[0], math.Min(b[1], b[2]))
	}
	return b[2]
}

// worst finds the slope and bend that the heights are stated for. Up to 45° the
// passes lie side by side in plan; steeper parts are taken level by level with
// the same distance in depth, so no part is stretched by more than √2.
func (s *setup) worst() {
	slope := math.Min(s.zone.SlopeDeg.P95, 45) * math.Pi / 180
	s.lean = 1 / math.Cos(slope)
	s.side, s.rho = Level, 0
	if s.zone.ConvexMM > 0 {
		// A bulge tighter than the nose is a rounded edge, which passes run along
		// rather than across.
		s.side, s.rho = Convex, math.Max(s.zone.ConvexMM, s.cutter.NoseMM())
	}
}

func (s *setup) speeds(mat fettle.Material, mill fettle.Machine) {
	c := s.cutter
	lean := math.Min(s.zone.SlopeDeg.P50, 90) * math.Pi / 180
	d := c.DiameterMM
	if r := c.NoseMM(); s.manner == passes && r > 0 {
		// The error is for a depth or lean that filled and Min exclude.
		at, err := EffectiveDiameter(2*r, s.opt.DepthMM, lean)
		if err == nil {
			d = c.DiameterMM - 2*r + at
		}
	}
	s.rpm = math.Min(1000*mat.CutSpeed.Value/(math.Pi*d), mill.MaxRPM)
	s.tooth = mat.FeedPerTooth.Value * c.DiameterMM / 6
	s.feed = s.rpm * s.tooth * float64(c.Flutes)
	if s.feed > mill.MaxFeedMMMin {
		s.feed = mill.MaxFeedMMMin
		s.tooth = s.feed / (s.rpm * float64(c.Flutes))
	}
	s.accel = SlopeAccel(mill.AccelXY.Value*1000, mill.AccelZ.Value*1000, math.Min(lean, math.Pi/4))
	s.pathFeed = s.curvedFeed(mill)
}

// curvedFeed is the mean feed over the zone. Most of a pass follows the zone's
// general bend, a twentieth its tightest one.
func (s *setup) curvedFeed(mill fettle.Machine) float64 {
	if s.manner == facing {
		return s.feed
	}
	at := func(rho float64) float64 {
		if rho <= 0 {
			return s.feed
		}
		chord := 0.0
		if f, err := ChordFacet(rho, math.Min(s.opt.ToleranceUM/1000, rho)); err == nil {
			chord = f.Length
		}
		return CurveFeed(s.feed, rho, s.accel, chord, mill.BlocksPerS.Value)
	}
	general, tight := s.bends()
	return 1 / (0.95/at(general) + 0.05/at(tight))
}

// bends are the general and the tightest radius along a pass; 0 for straight.
func (s *setup) bends() (general, tight float64) {
	for _, r := range []float64{s.zone.ConcaveMM, s.zone.ConvexMM} {
		if r > 0 && (tight == 0 || r < tight) {
			tight = r
		}
	}
	// Across its long side a face turns from one extreme slope to the other.
	if turn := 2 * math.Min(s.zone.SlopeDeg.P95, 90) * math.Pi / 180; tight > 0 && turn > 0 {
		long, _ := s.plan()
		general = math.Max(long/turn, tight)
	}
	return general, tight
}

// plan is the zone's long and short side.
func (s *setup) plan() (long, short float64) {
	b := s.zone.SizeMM
	long, short = math.Max(b[0], b[1]), math.Min(b[0], b[1])
	if long <= 0 || short <= 0 {
		side := math.Sqrt(s.zone.AreaMM2)
		return side, side
	}
	return long, short
}

func (s *setup) curve() fettle.Curve {
	out := fettle.Curve{Zone: s.zone.ID, Cutter: s.cutter.Name, Reach: s.reach, Fits: s.fits, Why: s.why, Points: []fettle.CurvePoint{}}
	if s.manner != passes {
		out.Points = append(out.Points, s.point(s.wide()))
		return out
	}
	if s.stairs() {
		return out
	}
	for _, step := range steps {
		if _, err := s.height(step); err == nil {
			out.Points = append(out.Points, s.point(step))
		}
	}
	return out
}

// wide is the distance between passes where none leaves a cusp.
func (s *setup) wide() float64 {
	if s.manner == flank {
		return s.cutter.FluteMM
	}
	return 0.6 * (s.cutter.DiameterMM - 2*s.cutter.CornerMM)
}

// height is the cusp in mm that a stepover leaves at the worst place.
func (s *setup) height(step float64) (float64, error) {
	if s.manner != passes {
		return 0, nil
	}
	return HeightOn(s.side, s.cutter.NoseMM(), s.rho, step*s.lean)
}

// stepFor is the stepover that leaves cusps of h mm at the worst place.
func (s *setup) stepFor(h float64) (float64, error) {
	if s.manner != passes {
		return s.wide(), nil
	}
	// Coarser than half the nose is roughing, whatever was asked for.
	on, err := StepoverOn(s.side, s.cutter.NoseMM(), s.rho, math.Min(h, s.cutter.NoseMM()/2))
	return on / s.lean, err
}

// feedMark is the height in mm of the marks along a pass.
func (s *setup) feedMark() float64 {
	switch s.manner {
	case facing:
		// The trailing teeth scrape a saw tooth as long as the feed of a turn.
		return s.tooth * float64(s.cutter.Flutes) * math.Tan(dishDeg*math.Pi/180)
	case flank:
		return HeightSmall(s.cutter.DiameterMM/2, s.tooth)
	}
	return HeightSmall(s.cutter.NoseMM(), s.tooth)
}

func (s *setup) point(step float64) fettle.CurvePoint {
	h, err := s.height(step)
	if err != nil {
		h = 0
	}
	ra := ParabolaRa * s.feedMark()
	if s.manner == facing {
		ra = s.feedMark() / 4 // a saw tooth
	}
	if h > 0 {
		ratio := ParabolaRa
		if s.opt.Crossed {
			ratio = crossedSa
		} else if r, err := ProfileRatios(math.Min(step*s.lean/s.cutter.NoseMM(), 2)); err == nil {
			ratio = r.RaOverH
		}
		ra = math.Hypot(ra, ratio*h)
	}
	return fettle.CurvePoint{StepoverMM: step, CuspUM: h * 1000, RaUM: ra * 1000, Minutes: s.minutes(step)}
}

// minutes is the time of a piece: passes back and forth that stop at their
// ends and step over, and an approach. Crossing does it all twice.
func (s *setup) minutes(step float64) float64 {
	path := s.zone.AreaMM2 / step
	_, width := s.plan()
	if s.manner == flank {
		width = s.rise()
		path = s.zone.AreaMM2 / math.Max(width, 1e-9) * math.Ceil(width/step)
	}
	n := math.Ceil(width / step)
	if n < 1 {
		n = 1
	}
	t := n*MoveSeconds(path/n, s.pathFeed, s.accel) + (n-1)*MoveSeconds(step, s.feed, s.accel) + s.opt.ApproachS
	if s.opt.Crossed && s.manner == passes {
		t *= 2
	}
	return t / 60
}
