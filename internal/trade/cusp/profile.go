package cusp

import (
	"math"

	"fettle"
)

// Ratios of a row of parabolic cusps of height h, which circular cusps tend to
// as the stepover shrinks.
const (
	ParabolaRa   = 0.25660011963983365 // Ra/h = 4/(9√3)
	ParabolaRq   = 0.29814239699997197 // Rq/h = √(4/45)
	ParabolaRsk  = 0.63887656499993994 // 2√5/7
	ParabolaRku  = 15.0 / 7.0
	ParabolaMean = 1.0 / 3.0 // mean line over h, from the valley
)

// Ratios are the profile parameters of ISO 21920-2 for a row of ideal cusps,
// relative to their height.
type Ratios struct {
	HeightOverR float64 // h over the nose radius
	RaOverH     float64
	RqOverH     float64
	Rsk         float64 // positive: narrow peaks, broad valleys
	Rku         float64
	MeanOverH   float64 // the mean line above the valley
}

// ProfileRatios are the exact parameters of circular cusps for a stepover of
// sOverR nose radii on a plane, 0 < sOverR ≤ 2.
//
// With x = sin t (in nose radii) the profile is z = 1 − cos t, and every moment
// is the integral of a trigonometric polynomial over 0 … asin(sOverR/2). Their
// antiderivatives cancel to nothing for small stepovers, so they are summed by
// a Gauss-Legendre rule of 20 points, which is exact to rounding on so smooth
// an integrand.
func ProfileRatios(sOverR float64) (Ratios, error) {
	if !(sOverR > 0 && sOverR <= 2) {
		return Ratios{}, fettle.Errorf(fettle.Invalid, "a stepover of %g nose radii leaves no closed row of cusps; give more than 0 up to 2", sOverR)
	}
	a := sOverR / 2
	end := math.Asin(a)
	height := versine(end)
	mean := integrate(0, end, func(t float64) float64 { return versine(t) * math.Cos(t) }) / a
	moment := func(n int) float64 {
		return integrate(0, end, func(t float64) float64 {
			v, d := 1.0, versine(t)/mean-1
			for range n {
				v *= d
			}
			return v * math.Cos(t)
		}) / a
	}
	// Half of the mean absolute deviation lies below the mean line, between the
	// valley and the angle at which the profile crosses it.
	cross := 2 * math.Asin(math.Sqrt(mean/2))
	below := integrate(0, cross, func(t float64) float64 { return (1 - versine(t)/mean) * math.Cos(t) }) / a
	rq := math.Sqrt(moment(2))
	return Ratios{
		HeightOverR: height,
		RaOverH:     2 * below * mean / height,
		RqOverH:     rq * mean / height,
		Rsk:         moment(3) / (rq * rq * rq),
		Rku:         moment(4) / (rq * rq * rq * rq),
		MeanOverH:   mean / height,
	}, nil
}

// versine is 1 − cos t without cancellation.
func versine(t float64) float64 {
	s := math.Sin(t / 2)
	return 2 * s * s
}

// The positive half of the 20-point Gauss-Legendre rule on [−1, 1]
// (Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4).
var (
	nodes = [10]float64{
		0.076526521133497333755, 0.227785851141645078080, 0.373706088715419560673,
		0.510867001950827098004, 0.636053680726515025453, 0.746331906460150792614,
		0.839116971822218823395, 0.912234428251325905868, 0.963971927277913791268,
		0.993128599185094924786,
	}
	weights = [10]float64{
		0.152753387130725850698, 0.149172986472603746788, 0.142096109318382051329,
		0.131688638449176626898, 0.118194531961518417312, 0.101930119817240435037,
		0.083276741576704748725, 0.062672048334109063570, 0.040601429800386941331,
		0.017614007139152118312,
	}
)

func integrate(from, to float64, f func(float64) float64) float64 {
	mid, half := (from+to)/2, (to-from)/2
	sum := 0.0
	for i, x := range nodes {
		sum += weights[i] * (f(mid-half*x) + f(mid+half*x))
	}
	return sum * half
}

// Truncated is the row of parabolic cusps of height h after a stiff block took
// the peaks down to level = z/h above the valleys, 1 for untouched and 0 for
// gone. Removed is the mean thickness taken, h[(1−u) − ⅔(1−u^{3/2})], in all
// h/3; Ra and Rq are of the profile with its flat tops.
type Truncated struct {
	Level   float64
	Height  float64
	Removed float64
	Ra, Rq  float64
}

// Truncate cuts parabolic cusps of height h to level u, 0 ≤ u ≤ 1.
func Truncate(h, u float64) (Truncated, error) {
	if err := positive("the cusp height", h); err != nil {
		return Truncated{}, err
	}
	if !(u >= 0 && u <= 1) {
		return Truncated{}, fettle.Errorf(fettle.Invalid, "a level of %g is not between 0 (gone) and 1 (untouched)", u)
	}
	v := math.Sqrt(u)
	out := Truncated{Level: u, Height: u * h, Removed: h * removedAt(v)}
	if u == 0 {
		return out, nil
	}
	// z = min(x², u) for x in 0 … 1, in units of h: the mean, the mean square,
	// and the part below the mean line, which always lies under the flat tops.
	mean := u - 2.0/3*u*v
	square := u*u - 0.8*u*u*v
	out.Rq = h * math.Sqrt(math.Max(square-mean*mean, 0))
	out.Ra = h * 4.0 / 3 * mean * math.Sqrt(mean)
	return out, nil
}

// removedAt is 1/3 − v² + ⅔v³, factored so that it keeps its digits near v = 1.
func removedAt(v float64) float64 { return (1 - v) * (1 - v) * (1 + 2*v) / 3 }

// LevelAfter is the inverse: the level u that parabolic cusps of height h are
// cut to once a stiff block has taken a mean thickness of removed; 0 when that
// is h/3 or more.
func LevelAfter(h, removed float64) (float64, error) {
	if err := positive("the cusp height", h); err != nil {
		return 0, err
	}
	if !(removed >= 0) {
		return 0, fettle.Errorf(fettle.Invalid, "a removal of %g is not zero or more", removed)
	}
	q := removed / h
	if q >= 1.0/3 {
		return 0, nil
	}
	// removedAt falls with v from 1/3 to 0: bisection cannot fail.
	lo, hi := 0.0, 1.0
	for range 60 {
		mid := (lo + hi) / 2
		if removedAt(mid) > q {
			lo = mid
		} else {
			hi = mid
		}
	}
	v := (lo + hi) / 2
	return v * v, nil
}

// CrossedTexture is what two families of passes at right angles leave, both of
// stepover s with cusps of height h: at each point the deeper cut, so corners
// keep the peaks at h but half the material above the valleys is gone.
type CrossedTexture struct {
	Peak float64 // the corners: still h
	Mean float64 // h/6, against h/3 in one direction
	Sa   float64
	Sq   float64 // h√(7/180)
	// SamePathHeight is the height that one direction would leave at half the
	// stepover, which takes as many minutes: h/4.
	SamePathHeight float64
}

// crossedSa is Sa/h of crossed passes: the share of the surface above level t
// is (1 − √t)² for the lower of two independent parabolas, and its integral from
// the mean, 1/6, up to 1 is half of it.
var crossedSa = 8.0/3*math.Pow(6, -1.5) - 1.0/36

// Crossed is the texture of crossed passes for parabolic cusps of height h.
func Crossed(h float64) (CrossedTexture, error) {
	if err := positive("the cusp height", h); err != nil {
		return CrossedTexture{}, err
	}
	return CrossedTexture{
		Peak:           h,
		Mean:           h / 6,
		Sa:             h * crossedSa,
		Sq:             h * math.Sqrt(7.0/180),
		SamePathHeight: h / 4,
	}, nil
}

// Facet is one chord of a path that was computed to a tolerance.
type Facet struct {
	Length float64 // in the unit of the radius
	Turn   float64 // radians between neighbouring facets; a reflection turns twice that
	PerRev float64 // facets in a full circle
}

// ChordFacet is the chord of an arc of radius rho that departs from it by at
// most tol: length 2√(2·rho·tol − tol²), turn 2·acos(1 − tol/rho).
func ChordFacet(rho, tol float64) (Facet, error) {
	if err := positive("the radius of the surface", rho); err != nil {
		return Facet{}, err
	}
	if err := positive("the tolerance", tol); err != nil {
		return Facet{}, err
	}
	if tol > rho {
		return Facet{}, fettle.Errorf(fettle.Invalid, "a tolerance of %.4g mm is larger than the radius %.4g mm", tol, rho)
	}
	length := 2 * math.Sqrt(tol*(2*rho-tol))
	// acos(1 − q) as an arcsine keeps its digits for the small q of practice.
	turn := 4 * math.Asin(math.Sqrt(tol/(2*rho)))
	return Facet{Length: length, Turn: turn, PerRev: 2 * math.Pi / turn}, nil
}
