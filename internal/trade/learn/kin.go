package learn

import (
	"math"

	"fettle"
	"fettle/internal/trade/tumble"

	"gonum.org/v1/gonum/mat"
)

// The numbers of a process that are learned, as natural logarithms.
const (
	iT     = iota // time constant, h
	iRL           // limit roughness, µm
	iMs           // steady removal, µm/h
	iRough        // time constant of roughening over that of levelling
	params
)

// key names a process: what is pooled are its parts. Wet and dry are different
// processes and share nothing (Baghbanan, Yabuki, Timsit and Spelt, Wear 255
// (2003) 1369, abstract).
type key struct {
	media  string
	kind   fettle.MediaKind
	vessel string
	class  fettle.HardnessClass
	tone   fettle.Tone
	dry    bool
}

func keyOf(m fettle.Media, v fettle.Vessel, mat fettle.Material, tone fettle.Tone) key {
	if m.Dry {
		tone = fettle.ToneUsual // there is no water to have more or less of
	}
	return key{m.Name, m.Kind, v.Name, mat.Class, tone, m.Dry}
}

// process is one of the log's, with its prior.
type process struct {
	key
	prior tumble.Process
	mean  [params]float64
	sd    [params]float64
}

// leastSD keeps the matrices sound where a shelf states a number without an
// interval.
const leastSD = 0.02

func processOf(m fettle.Media, v fettle.Vessel, mat fettle.Material, tone fettle.Tone) process {
	p := process{key: keyOf(m, v, mat, tone), prior: priorOf(m, v, mat, tone)}
	for i, e := range []fettle.Estimate{iT: p.prior.TimeConstantH, iRL: p.prior.LimitRaUM, iMs: p.prior.RemovalUMH} {
		p.mean[i], p.sd[i] = math.Log(math.Max(e.Value, 1e-6)), math.Max(e.LogSD(), leastSD)
	}
	if r := p.prior.RoughenH; r.Value > 0 {
		// Its interval is that of T and of its share together.
		p.mean[iRough] = math.Log(r.Value) - p.mean[iT]
		p.sd[iRough] = math.Max(leastSD, math.Sqrt(math.Max(0, r.LogSD()*r.LogSD()-p.sd[iT]*p.sd[iT])))
	} else {
		p.sd[iRough] = leastSD
	}
	return p
}

// priorOf is the starting guess with the tone that a charge runs in.
func priorOf(m fettle.Media, v fettle.Vessel, mat fettle.Material, tone fettle.Tone) tumble.Process {
	return tumble.ProcessOf(m, v, mat).Toned(tone, m)
}

// A starting guess is wrong for reasons that it shares with its kin: the same
// kind of media, the same media (a lot, a size), the same vessel, the same class
// of metal; what is left is its own. The shares of its variance are judgement:
// a limit belongs to the media before all, pace as much to the vessel and the
// metal. coupling is how removal goes against the time constant within a share:
// a vessel that works twice as hard doubles one and halves the other, and in the
// starting guesses of metals the product of both hardly changes at all.
var shares = [...]struct {
	same     func(a, b key) bool
	share    [params]float64
	coupling float64
	cutters  bool // couples only where the media cut
}{
	{func(a, b key) bool { return a.kind == b.kind }, [params]float64{0.20, 0.30, 0.20, 0.40}, -0.5, true},
	{func(a, b key) bool { return a.media == b.media }, [params]float64{0.15, 0.30, 0.15, 0.10}, -0.5, true},
	{func(a, b key) bool { return a.vessel == b.vessel }, [params]float64{0.20, 0.10, 0.20, 0.10}, -0.95, false},
	{func(a, b key) bool { return a.class == b.class }, [params]float64{0.25, 0.10, 0.25, 0.20}, -0.9, false},
	{func(a, b key) bool { return a == b }, [params]float64{0.20, 0.20, 0.20, 0.20}, -0.6, true},
}

// cuts reports whether media take material off; burnishing and polishing media
// only move it, and what little comes off says nothing of their pace.
func (k key) cuts() bool {
	switch k.kind {
	case fettle.Steel, fettle.Cob, fettle.Walnut:
		return false
	}
	return true
}

// covariance is the prior's, of all numbers of one process with all of another.
func covariance(a, b process) (c [params][params]float64) {
	if a.dry != b.dry {
		return c
	}
	for _, s := range shares {
		if !s.same(a.key, b.key) {
			continue
		}
		for i := range params {
			c[i][i] += s.share[i] * a.sd[i] * b.sd[i]
		}
		if s.cutters && !(a.cuts() && b.cuts()) {
			continue
		}
		w := s.coupling * math.Sqrt(s.share[iT]*s.share[iMs])
		c[iT][iMs] += w * a.sd[iT] * b.sd[iMs]
		c[iMs][iT] += w * a.sd[iMs] * b.sd[iT]
	}
	return c
}

// priorMatrix is the covariance of all numbers of some processes, in order.
func priorMatrix(ps []process) *mat.SymDense {
	k := mat.NewSymDense(params*len(ps), nil)
	for a := range ps {
		for b := a; b < len(ps); b++ {
			c := covariance(ps[a], ps[b])
			for i := range params {
				for j := range params {
					if r, s := params*a+i, params*b+j; r <= s {
						k.SetSym(r, s, c[i][j])
					}
				}
			}
		}
	}
	return k
}
