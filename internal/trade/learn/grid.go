package learn

import "math"

// marginals integrates the numbers of one process that its own readings bear on
// and gives the quantiles of their logarithms; ok tells which.
func (c *cavity) marginals(n [params]int) (q [params]quantiles, ok [params]bool) {
	if n[iT] > 0 {
		a, b, good := c.pair(iT, iRL)
		q[iT], q[iRL] = a, b
		ok[iT], ok[iRL] = good, good
	}
	if n[iMs] > 0 {
		q[iMs], ok[iMs] = c.alone(iMs)
	}
	return q, ok
}

// node of a grid along one axis, −gridReach to gridReach.
func node(i int) float64 { return gridReach * (2*float64(i)/(gridNodes-1) - 1) }

// The logarithm of a density is smooth, so between the nodes it is interpolated by
// cubics (Catmull and Rom), finely enough to add up its mass in bins.
const (
	finer     = 6 // fine nodes in one step of the grid
	fineNodes = (gridNodes-1)*finer + 1
	bins      = 600
)

// weights of the four nodes about each fine node of a step.
var cubic = func() (w [finer][4]float64) {
	for k := range finer {
		f := float64(k) / finer
		w[k] = [4]float64{
			f * (-0.5 + f*(1-0.5*f)),
			1 + f*f*(-2.5+1.5*f),
			f * (0.5 + f*(2-1.5*f)),
			f * f * (-0.5 + 0.5*f),
		}
	}
	return w
}()

// refine interpolates values at the nodes of one axis.
func refine(v *[gridNodes]float64) (out [fineNodes]float64) {
	// Past the ends it goes on as the last three nodes bend.
	at := func(i int) float64 {
		switch {
		case i < 0:
			return 3*v[0] - 3*v[1] + v[2]
		case i >= gridNodes:
			return 3*v[gridNodes-1] - 3*v[gridNodes-2] + v[gridNodes-3]
		}
		return v[i]
	}
	for i := range gridNodes - 1 {
		a, b, c, d := at(i-1), v[i], v[i+1], at(i+2)
		for k, w := range cubic {
			out[i*finer+k] = w[0]*a + w[1]*b + w[2]*c + w[3]*d
		}
	}
	out[fineNodes-1] = v[gridNodes-1]
	return out
}

// alone integrates one number.
func (c *cavity) alone(i int) (quantiles, bool) {
	sd := math.Sqrt(c.cov[i][i])
	var v [gridNodes]float64
	var fixed [params]bool
	fixed[i] = true
	for k := range gridNodes {
		x := c.mode
		x[i] += sd * node(k)
		v[k] = c.at(x, fixed)
	}
	best, ok := highest(v[:])
	if !ok {
		return quantiles{}, false
	}
	h := histogram{from: c.mode[i] - gridReach*sd, width: 2 * gridReach * sd / (bins - 1)}
	for k, l := range refine(&v) {
		h.put(c.mode[i]+sd*gridReach*(2*float64(k)/(fineNodes-1)-1), math.Exp(l-best))
	}
	return h.cut(), true
}

// pair integrates two numbers on a grid that leans as the joint approximation
// does.
func (c *cavity) pair(i, j int) (a, b quantiles, ok bool) {
	l11 := math.Sqrt(c.cov[i][i])
	l21 := c.cov[i][j] / l11
	l22 := math.Sqrt(math.Max(c.cov[j][j]-l21*l21, 1e-12))
	var fixed [params]bool
	fixed[i], fixed[j] = true, true
	var v [gridNodes][gridNodes]float64
	best := math.Inf(-1)
	for r := range gridNodes {
		for s := range gridNodes {
			x := c.mode
			x[i] += l11 * node(r)
			x[j] += l21*node(r) + l22*node(s)
			v[r][s] = c.at(x, fixed)
		}
		top, good := highest(v[r][:])
		if !good {
			return a, b, false
		}
		best = math.Max(best, top)
	}
	wide := gridReach * (math.Abs(l21) + l22)
	hi := histogram{from: c.mode[i] - gridReach*l11, width: 2 * gridReach * l11 / (bins - 1)}
	hj := histogram{from: c.mode[j] - wide, width: 2 * wide / (bins - 1)}
	fine := func(k int) float64 { return gridReach * (2*float64(k)/(fineNodes-1) - 1) }
	var rows [gridNodes][fineNodes]float64
	for r := range gridNodes {
		rows[r] = refine(&v[r])
	}
	for s := range fineNodes {
		var column [gridNodes]float64
		for r := range gridNodes {
			column[r] = rows[r][s]
		}
		for r, l := range refine(&column) {
			if l -= best; l > -30 {
				w := math.Exp(l)
				hi.put(c.mode[i]+l11*fine(r), w)
				hj.put(c.mode[j]+l21*fine(r)+l22*fine(s), w)
			}
		}
	}
	return hi.cut(), hj.cut(), true
}

// highest of some logarithms; false where one is no number.
func highest(v []float64) (float64, bool) {
	best := math.Inf(-1)
	for _, l := range v {
		if math.IsNaN(l) || math.IsInf(l, 0) {
			return 0, false
		}
		best = math.Max(best, l)
	}
	return best, true
}

// histogram is mass in bins along one axis, each lump shared between the two
// middles that it lies between.
type histogram struct {
	from, width float64
	mass        [bins]float64
}

func (h *histogram) put(x, w float64) {
	u := (x - h.from) / h.width
	k := max(0, min(bins-2, int(u)))
	f := math.Max(0, math.Min(1, u-float64(k)))
	h.mass[k] += w * (1 - f)
	h.mass[k+1] += w * f
}

// cut finds the quantiles. The mass of a bin lies evenly about its middle.
func (h *histogram) cut() (q quantiles) {
	total := 0.0
	for _, w := range h.mass {
		total += w
	}
	level, sum := 0, 0.0
	for k, w := range h.mass {
		for level < len(levels) && sum+w >= levels[level]*total {
			f := 0.5
			if w > 0 {
				f = (levels[level]*total - sum) / w
			}
			q[level] = h.from + h.width*(float64(k)-0.5+f)
			level++
		}
		sum += w
	}
	for ; level < len(levels); level++ {
		q[level] = h.from + h.width*(bins-0.5)
	}
	return q
}
