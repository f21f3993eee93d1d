package finish

import (
	"math"

	"fettle"
	"fettle/internal/trade/law"
	"fettle/internal/trade/mark"
)

// verdict is how a face stands to its need, over all worlds.
type verdict struct {
	// chance is that everything is right; the others are of one thing each.
	chance                               float64
	rough, fine, marks, edge, gloss, lay float64 // chance that this is right
	// short is how far it is out where it is not right, on a scale of its own.
	short float64
}

// right reports whether a face is expected to meet its need: more often than not, and
// not by coming out finer than the band more often than not.
func (v verdict) right() bool { return v.chance >= 0.5 && v.fine >= 0.75 }

// Spreads of what is read, as standard deviations of the logarithm: one instrument
// on one finish, place by place, and edges by eye. Starting guesses.
const (
	readSpread = 0.10
	edgeSpread = 0.20
	// burrLeft is the height at which a burr is no longer felt, µm.
	burrLeft = 5
)

// judge holds a face against the need.
func (n *need) judge(s *law.Surface) verdict {
	if s.W.N() > 4*glance {
		if v := n.judgeIn(s, glance); v.chance < hopeless {
			return v
		}
	}
	return n.judgeIn(s, s.W.N())
}

// Most part-routes are far from what is wanted, and so many worlds show it; what
// has a smaller chance in them than hopeless is not looked at in the others.
const (
	glance   = 8
	hopeless = 0.02
)

// judgeIn is the judgement in the first of the worlds.
func (n *need) judgeIn(s *law.Surface, worlds int) verdict {
	var v verdict
	lay := 1.0
	switch n.Lay {
	case fettle.LayOne:
		if s.Lay == law.NoLay || !s.Own {
			lay = 0
		}
	case fettle.LayNone:
		if s.Lay != law.NoLay {
			lay = 0
		}
	}
	v.lay = lay
	marks := s.Marks
	if s.Own && len(marks) > 0 {
		marks = marks[:len(marks)-1]
	}
	for k := range worlds {
		ra := s.Measured(k)
		rough := 1 - normal(math.Log(ra/n.HighUM)/readSpread)
		// Too fine counts half: a face that came out finer is rarely sent back.
		fine := 1 - normal(math.Log(n.LowUM/ra)/readSpread)/2
		seen := 1.0
		if !n.CuspsMayShow {
			for i := range marks {
				seen *= 1 - s.Seen(&marks[i], k)
			}
			seen = math.Min(1, seen/(1-math.Min(n.MarkChance, 0.9)))
		}
		edge := 1.0
		if n.EdgeUM > 0 {
			edge = 1 - normal(math.Log(s.Edge[k]/n.EdgeUM)/edgeSpread)
		}
		if s.Burr[k] > burrLeft {
			edge = 0
		}
		gloss := 1.0
		if n.Specular > 0 {
			gloss = normal(math.Log(lost(n.Specular)/lost(mark.Specular(s.Ra[k]*1.25, glossAngle, glossNM))) / (2 * readSpread))
		}
		v.rough += rough
		v.fine += fine
		v.marks += seen
		v.edge += edge
		v.gloss += gloss
		v.chance += rough * fine * seen * edge * gloss * lay
		v.short += math.Max(0, math.Log(ra/n.HighUM)) + 1 - seen
	}
	for _, x := range []*float64{&v.rough, &v.fine, &v.marks, &v.edge, &v.gloss, &v.chance, &v.short} {
		*x /= float64(worlds)
	}
	v.short += 2*(1-lay) + 1 - v.edge + (1-v.gloss)/2
	return v
}

// Where specular light is told: 60° from the normal, green.
const (
	glossAngle = 60
	glossNM    = 550
)

// lost is the exponent of a specular share: it goes with the square of roughness.
func lost(specular float64) float64 { return math.Max(-math.Log(math.Max(specular, 1e-300)), 1e-9) }

// normal is the standard normal distribution function.
func normal(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
