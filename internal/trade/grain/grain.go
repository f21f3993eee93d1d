// Package grain draws the surface that a step of a route is expected to leave, as
// heights: each of the step's marks with its wavelength, its lay, its height and what
// is left of it, and the fine texture that makes up the rest of its roughness. It is a likeness made from the plan's numbers, for pictures; what a
// cutter leaves exactly is simulated elsewhere (room cusp).
package grain

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/shape/relief"
)

// Patch is the piece of the face that is drawn.
type Patch struct {
	WideMM, HighMM float64
	// Cells bounds how many there are across; 0 stands for 900.
	Cells int
}

// finest is how many cells a wave needs to be seen as one.
const finest = 9

// cell is the side of a cell that shows the shortest wave of some marks, mm.
func (p Patch) cell(marks []fettle.Mark) float64 {
	n := p.Cells
	if n == 0 {
		n = 900
	}
	least := p.WideMM / float64(n)
	want := p.WideMM / 300
	for _, m := range marks {
		if m.WavelengthMM > 0 {
			want = math.Min(want, m.WavelengthMM/finest)
		}
	}
	return math.Max(want, least)
}

// Surface is the patch after a step, in mm about its mean, X along the long side of
// the face. Waves too short for its cells are left out: what remains of them belongs
// to the gloss. The same step gives the same heights, bit for bit. The error is
// Invalid for a patch without an extent.
func Surface(s fettle.Step, p Patch) (*relief.Map, error) {
	if !(p.WideMM > 0 && p.HighMM > 0 && p.WideMM < 1000 && p.HighMM < 1000) {
		return nil, fettle.Errorf(fettle.Invalid, "a piece of %g × %g mm cannot be drawn; give both sides in mm", p.WideMM, p.HighMM)
	}
	marks := append(slices.Clone(s.Marks), rest(s)...)
	d := p.cell(marks)
	g := relief.Grid{W: max(2, int(math.Round(p.WideMM/d))), H: max(2, int(math.Round(p.HighMM/d))), DX: d, DY: d}
	sum := make([]float64, g.Cells())
	for _, m := range marks {
		add(sum, g, m)
	}
	out := relief.NewMap(g)
	mean := 0.0
	for _, z := range sum {
		mean += z
	}
	mean /= float64(len(sum))
	for i, z := range sum {
		out.Z[i] = float32((z - mean) / 1000)
	}
	return out, nil
}

// gaussRq is Rq over Ra of Gaussian heights, √(π/2).
const gaussRq = 1.2533

// rest is the fine texture of a step as a mark: what its marks leave of the roughness
// that it is expected to have.
func rest(s fettle.Step) []fettle.Mark {
	sq := gaussRq * s.RaUM.Value * gaussRq * s.RaUM.Value
	for _, m := range s.Marks {
		sq -= m.RqUM * m.Left * m.RqUM * m.Left
	}
	if !(sq > 0) || !(s.TextureMM > 0) || math.IsInf(sq, 0) {
		return nil
	}
	return []fettle.Mark{{Cause: "texture", WavelengthMM: s.TextureMM, Lay: s.TextureLay, RqUM: math.Sqrt(sq), Left: 1}}
}

// add puts what is left of a mark on a patch, µm.
func add(sum []float64, g relief.Grid, m fettle.Mark) {
	rq := m.RqUM
	if !(rq > 0 && m.Left > 0 && m.WavelengthMM > 4*g.DX) || math.IsInf(rq, 0) {
		return
	}
	var z []float64
	switch {
	case regular(m):
		z = ridges(g, m)
	case m.Lay == "" || strings.HasPrefix(m.Lay, "no"):
		z = noise(g, m.WavelengthMM, m.WavelengthMM, m.Cause)
	case upright(m.Lay):
		z = noise(g, m.WavelengthMM, scratchLong*m.WavelengthMM, m.Cause)
	default:
		z = noise(g, scratchLong*m.WavelengthMM, m.WavelengthMM, m.Cause)
	}
	wear(z, rq, m.Left)
	for i := range sum {
		sum[i] += z[i]
	}
}

// scratchLong is how much longer than wide a scratch is drawn: a guess.
const scratchLong = 25

// regular tells marks of a cutter, which repeat, from those of grains.
func regular(m fettle.Mark) bool {
	for _, w := range []string{"cusp", "feed", "facet"} {
		if strings.Contains(m.Cause, w) {
			return true
		}
	}
	return false
}

// upright tells a lay that runs across the long side.
func upright(lay string) bool {
	return strings.HasPrefix(lay, "across the long") || strings.HasSuffix(lay, "along Y") || strings.HasSuffix(lay, "across X")
}

// ridges are arcs between crests, side by side, of unit height.
func ridges(g relief.Grid, m fettle.Mark) []float64 {
	z := make([]float64, g.Cells())
	up := upright(m.Lay) || m.Lay == "across the feed"
	crossed := m.Lay == "crossed"
	// An arc of a wave: a parabola from crest to crest, as a ball leaves it.
	arc := func(x float64) float64 {
		u := x/m.WavelengthMM - math.Floor(x/m.WavelengthMM)
		return 4 * (u - 0.5) * (u - 0.5)
	}
	for j := range g.H {
		for i := range g.W {
			x, y := float64(i)*g.DX, float64(j)*g.DY
			switch {
			case crossed:
				z[j*g.W+i] = math.Min(arc(x), arc(y))
			case up:
				z[j*g.W+i] = arc(x)
			default:
				z[j*g.W+i] = arc(y)
			}
		}
	}
	return z
}

// noise is Gaussian heights with the given mean distances of up-crossings along X
// and Y, mm. White noise under a Gaussian window of deviation σ crosses its mean
// upwards every 2√2·π·σ (S. O. Rice, "Mathematical analysis of random noise", Bell
// Syst. Tech. J. 23 (1944) 282, eq. 3.3-11).
func noise(g relief.Grid, alongX, alongY float64, seed string) []float64 {
	h := fnv.New64a()
	h.Write([]byte(seed))
	rnd := rand.New(rand.NewPCG(h.Sum64(), 1))
	z := make([]float64, g.Cells())
	for i := range z {
		z[i] = rnd.NormFloat64()
	}
	k := 2 * math.Sqrt2 * math.Pi
	blur(z, g.W, g.H, alongX/k/g.DX, true)
	blur(z, g.W, g.H, alongY/k/g.DY, false)
	return z
}

// wear gives a shape the rms height that it had when fresh and takes its peaks off
// until only a share of its height is left.
func wear(z []float64, rq, left float64) {
	mean, sq := 0.0, 0.0
	for _, v := range z {
		mean += v
	}
	mean /= float64(len(z))
	for _, v := range z {
		sq += (v - mean) * (v - mean)
	}
	sd := math.Sqrt(sq / float64(len(z)))
	if sd == 0 {
		clear(z)
		return
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, v := range z {
		z[i] = (v - mean) / sd * rq
		lo, hi = math.Min(lo, z[i]), math.Max(hi, z[i])
	}
	if top := lo + left*(hi-lo); left < 1 {
		for i := range z {
			z[i] = math.Min(z[i], top)
		}
	}
}
