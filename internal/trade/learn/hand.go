package learn

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/rub"

	"gonum.org/v1/gonum/mat"
)

// How minutes by hand grow with size. 59 pieces of cast alloy took a time that
// goes with diameter to the 0.950 (data set in the R package GLMsData of P. K. Dunn
// and G. K. Smyth; fitted here): handling and edges, not area, drive minutes. A shop's own
// pieces move that once there are enough of them.
const (
	usualSizePower = 0.950
	usualPowerSD   = 0.25 // from trade to trade; judgement
	leastPieces    = 8
)

// Shares of the variance of the pace by hand: one for all that a shop sands, and
// what a metal and a grit do to it; and the scatter from piece to piece. Judgement.
const (
	paceShop  = 0.6
	paceClass = 0.2
	paceGrit  = 0.2
	sdPiece   = 0.30 // of the logarithm
)

// handJob is minutes of one logged run by hand.
type handJob struct {
	grit  string
	class fettle.HardnessClass
	log   float64 // of minutes over those expected
	area  float64 // mm²
	size  float64 // mm
	min   float64
	sd    float64
}

// hands are the logged minutes.
type hands struct {
	jobs []handJob
	// power is how minutes grow with size, powerN on how many pieces it rests; 0 is
	// the published one.
	power  fettle.Estimate
	powerN int
	area   float64 // geometric mean, mm²
	fact   mat.Cholesky
}

// handsOf collects minutes by hand, and leaves out those without an area.
func handsOf(runs []job, shelf *fettle.Shelf) *hands {
	h := &hands{power: fettle.LogNormal(usualSizePower, usualPowerSD/usualSizePower, "59 cast pieces, GLMsData")}
	sum := 0.0
	for _, j := range runs {
		if j.Kind != fettle.StepRub || !(j.AreaMM2 > 0) {
			continue
		}
		for _, r := range j.Readings {
			if r.Kind != fettle.ReadMinutes {
				continue
			}
			sd := sdPiece
			if r.Spread > 0 {
				sd = r.Spread
			}
			size := j.SizeMM
			if size == 0 {
				size = math.Sqrt(j.AreaMM2)
			}
			work := math.Max(r.Value-rub.Change().Value, r.Value/5)
			h.jobs = append(h.jobs, handJob{
				grit: j.grit.Name, class: j.mat.Class, area: j.AreaMM2, size: size, min: r.Value, sd: sd,
				log: math.Log(work / expected(j, shelf)),
			})
			sum += math.Log(j.AreaMM2)
		}
	}
	n := len(h.jobs)
	if n == 0 {
		return h
	}
	h.area = math.Exp(sum / float64(n))
	h.learnPower()
	k := mat.NewSymDense(n, nil)
	for i, a := range h.jobs {
		// Pace is of a piece of the mean size: what size does is taken out.
		h.jobs[i].log -= h.tilt(a.area)
		for j := i; j < n; j++ {
			v := paceCov(a.grit, a.class, h.jobs[j].grit, h.jobs[j].class)
			if i == j {
				v += a.sd * a.sd
			}
			k.SetSym(i, j, v)
		}
	}
	h.fact.Factorize(k)
	return h
}

// expected is the minutes that rub expects of a grit that erases the one before
// it on the shelf, without the change of paper.
func expected(j job, shelf *fettle.Shelf) float64 {
	before := j.grit
	for _, g := range shelf.Grits {
		if g.Scale == j.grit.Scale && g.GrainUM > j.grit.GrainUM && (before.Name == j.grit.Name || g.GrainUM < before.GrainUM) {
			before = g
		}
	}
	depth := before.RzUM.Value * rub.Depth(j.mat.Class)
	return rub.Minutes(rub.Face{AreaMM2: j.AreaMM2, Class: j.mat.Class, Wet: true}, j.grit, rub.StiffBlock, depth, depth/2)
}

func paceCov(g1 string, c1 fettle.HardnessClass, g2 string, c2 fettle.HardnessClass) float64 {
	s := paceShop
	if c1 == c2 {
		s += paceClass
	}
	if g1 == g2 {
		s += paceGrit
	}
	sd := rub.Pace().LogSD()
	return s * sd * sd
}

// learnPower joins the published power with the shop's own pieces, as two normal
// estimates.
func (h *hands) learnPower() {
	if len(h.jobs) < leastPieces {
		return
	}
	// Within each grit and metal, so that a coarse grit on large pieces is not
	// mistaken for size.
	type group struct{ n, x, y float64 }
	groups := map[string]group{}
	id := func(j handJob) string { return j.grit + "\x00" + string(j.class) }
	for _, j := range h.jobs {
		g := groups[id(j)]
		groups[id(j)] = group{g.n + 1, g.x + math.Log(j.size), g.y + math.Log(j.min)}
	}
	var x, y []float64
	for _, j := range h.jobs {
		g := groups[id(j)]
		x, y = append(x, math.Log(j.size)-g.x/g.n), append(y, math.Log(j.min)-g.y/g.n)
	}
	l, err := StraightLine(x, y)
	if err != nil {
		return
	}
	if lost := float64(len(h.jobs) - 1 - len(groups)); lost < 3 {
		return
	} else {
		l.SlopeSE *= math.Sqrt(float64(len(h.jobs)-2) / lost)
	}
	if !(l.SlopeSE > 0.02) {
		l.SlopeSE = 0.02
	}
	a, b := 1/(usualPowerSD*usualPowerSD), 1/(l.SlopeSE*l.SlopeSE)
	mean := (a*usualSizePower + b*l.Slope) / (a + b)
	sd := 1 / math.Sqrt(a+b)
	h.powerN = len(h.jobs)
	h.power = fettle.Guess(mean, mean-z90*sd, mean+z90*sd, fmt.Sprintf("shop log (n = %d)", h.powerN))
}

// tilt is what the learned power does, on top of the published one that rub uses, to the
// logarithm of the minutes of a piece of an area.
func (h *hands) tilt(area float64) float64 {
	return (h.power.Value - usualSizePower) / 2 * math.Log(area/h.area)
}

// pace is the factor for a grit on a metal.
func (h *hands) pace(g string, c fettle.HardnessClass) (fettle.Estimate, int, bool) {
	n := len(h.jobs)
	if n == 0 {
		return fettle.Estimate{}, 0, false
	}
	k, y := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	own := 0
	for i, j := range h.jobs {
		k.SetVec(i, paceCov(g, c, j.grit, j.class))
		y.SetVec(i, j.log-math.Log(rub.Pace().Value))
		if j.grit == g && j.class == c {
			own++
		}
	}
	var w mat.VecDense
	_ = h.fact.SolveVecTo(&w, k) // a large condition number is no failure
	mean := math.Log(rub.Pace().Value) + mat.Dot(&w, y)
	v := paceCov(g, c, g, c) - mat.Dot(&w, k)
	// Of the next piece, which scatters too.
	sd := math.Min(math.Sqrt(math.Max(v, 0)+sdPiece*sdPiece), rub.Pace().LogSD())
	basis := fmt.Sprintf("shop log (n = %d)", own)
	if own == 0 {
		basis = fmt.Sprintf("starting guess, shifted by the shop log of its kin (n = %d)", n)
	}
	return fettle.LogNormal(math.Exp(mean), sd, basis), own, true
}

// Pace is the factor on the minutes by hand that [rub.Minutes] expects of a grit
// on a metal, for a piece of the size that the shop has logged, from logged minutes;
// it takes the place of [rub.Pace]. It is false where none are logged.
func (b *Book) Pace(g fettle.Grit, mt fettle.Material) (fettle.Estimate, bool) {
	if b == nil {
		return fettle.Estimate{}, false
	}
	e, _, ok := b.hands.pace(g.Name, mt.Class)
	return e, ok
}

// PaceAt is Pace for a piece with an area in mm², by how the shop's own minutes
// grow with size.
func (b *Book) PaceAt(g fettle.Grit, mt fettle.Material, areaMM2 float64) (fettle.Estimate, bool) {
	e, ok := b.Pace(g, mt)
	if ok && areaMM2 > 0 {
		e = e.Scale(math.Exp(b.hands.tilt(areaMM2)))
	}
	return e, ok
}

// priorPace is the pace without a log.
func priorPace() fettle.Estimate { return rub.Pace() }
