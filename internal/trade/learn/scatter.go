package learn

import (
	"math"

	"fettle"
)

// scatter is how far readings of roughness with no stated error lie from the
// law, as variances of their logarithm: everywhere, and near the limit on top of
// it. A run begins with the usual and is moved by its own residuals.
type scatter struct{ far, near float64 }

// usualWeight is how many readings the usual scatter counts for, against those
// of a run: a handful, so that ten good readings speak for themselves.
const (
	usualFar  = 2.0
	usualNear = 1.0
)

func usualScatter() scatter {
	return scatter{far: sdRough * sdRough, near: sdNearLimit * sdNearLimit}
}

// AtLimit is how far readings of one piece lie apart where a charge has run its time,
// as the standard deviation of their logarithm: of gloss, or of any roughness. A
// starting guess.
func AtLimit(k fettle.ReadingKind) float64 {
	if k == fettle.ReadGloss {
		return sdGloss
	}
	return usualScatter().sd(1)
}

// sd at a reading that is near its limit by w, 0 to 1.
func (s scatter) sd(w float64) float64 { return math.Sqrt(s.far + w*s.near) }

// nearness is 1 at the limit and falls with the square of the ratio to it.
func nearness(logRa, logLimit float64) float64 { return math.Exp(-2 * math.Abs(logRa-logLimit)) }

// weigh sets how near its limit each reading is, by the present numbers. It is
// held while the mode is sought, so that no number can be bent to make an error
// large and a residual cheap.
func (f *fit) weigh() {
	for k := range f.ss {
		s := &f.ss[k]
		x := f.numbers(f.x, s)
		r, r0 := rates(x, 0), s.start()
		obs := append([]observation(nil), s.obs...) // series of several beginnings share them
		for i, o := range obs {
			if o.free {
				y, _, _ := logRa(r, r0, o.AtH)
				obs[i].near = nearness(y, x[iRL])
			}
		}
		s.obs = obs
	}
}

// learnScatter moves the scatter of each run by its residuals and by what the
// fit leaves open at each reading: one step of expectation and maximisation
// (Dempster, Laird and Rubin, J. R. Stat. Soc. B 39 (1977) 1) for two variances
// with scaled inverse χ² priors. It returns the largest relative change.
func (f *fit) learnScatter(rs []reduced) float64 {
	moved := 0.0
	for k := range f.ss {
		s := &f.ss[k]
		usual := usualScatter()
		far, near := usualFar*usual.far, usualNear*usual.near
		n, w := usualFar, usualNear
		r, r0 := rates(f.numbers(f.x, s), f.ps[s.proc].prior.TransientUM), s.start()
		for _, o := range s.obs {
			if !o.free {
				continue
			}
			l := s.likelihood(o, r, r0)
			e2 := l.residual*l.residual + f.predicted(s, rs[k], l)
			v := s.noise.far + o.near*s.noise.near
			a, b := s.noise.far/v, o.near*s.noise.near/v
			far += a*a*e2 + s.noise.far*(1-a)
			n++
			if o.near > 0.05 {
				// In units of the reading's nearness.
				near += o.near * (b*b*e2/o.near + s.noise.near*(1-b))
				w += o.near
			}
		}
		next := scatter{far / n, near / w}
		moved = math.Max(moved, math.Max(math.Abs(next.far/s.noise.far-1), math.Abs(next.near/s.noise.near-1)))
		s.noise = next
	}
	return moved
}
