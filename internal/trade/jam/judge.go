package jam

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/shape/convex"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/field"

	"gonum.org/v1/gonum/spatial/r3"
)

// Judge says of every opening and every kind of media what the media do there as
// new, as they are now, and at their worst on the way to being worn out: three
// judgements each, by openings, then media, then state.
//
// Spheres go by bands of clear width over size. Other shapes are walked in from
// outside through the void of the field, pose by pose; f may be nil, then they
// go by bands and calipers too. The same holds for pieces too thin for the grid,
// for pockets shallower than three quarters of a piece, and for grooves. It fails with Invalid on media
// without a size; the only other error is the context's.
func Judge(ctx context.Context, openings []fettle.Opening, f *field.Field, media []fettle.Media) ([]fettle.Jam, error) {
	kinds := make([]kind, len(media))
	for i, m := range media {
		k, err := kindOf(m)
		if err != nil {
			return nil, err
		}
		kinds[i] = k
	}
	out := make([]fettle.Jam, 3*len(openings)*len(media))
	err := cores.Each(ctx, len(openings)*len(media), func(i int) {
		o, k := openings[i/len(media)], kinds[i%len(media)]
		j := byBands(o, k.Media)
		if f != nil {
			k.byPoses(o, f, &j)
		}
		copy(out[3*i:], j[:])
	})
	return out, err
}

// kind is media with their shape and the orientations in which to try it, which
// serve at every size and opening.
type kind struct {
	fettle.Media
	body     *convex.Body
	turns    convex.Turns
	shadows  []shadow // of each turn
	ball     []shadow // the smallest of them, for a piece that can turn as it likes
	calipers [3]float64
	ferets   []float64 // widths in directions spread evenly
}

// How many orientations are tried, so that they lie 20 to 30° apart; settling
// turns a piece by more than half of that.
const (
	turnsAlike  = 48 // a half sphere of axes
	turnsUnlike = 72 // a sphere
	turnsTetra  = 40 // a twelfth of all orientations
	turnsPrism  = 60 // a sixth
	turnsCut    = 72
	turnsGrain  = 72
	ferets      = 48
)

func kindOf(m fettle.Media) (kind, error) {
	k := kind{Media: m}
	a, b := m.SizeMM[0], m.SizeMM[1]
	if m.Shape == fettle.Sphere {
		b = a
	}
	if !(a > 0) || !(b > 0) || math.IsInf(a+b, 0) {
		return k, fettle.Errorf(fettle.Invalid, "the pieces of %s are %g × %g mm, and nothing can be said of such a size; give both in mm, more than zero", m.Name, a, b)
	}
	n := turnsAlike
	switch m.Shape {
	case fettle.Sphere:
		k.body = convex.Sphere(a)
	case fettle.Cylinder:
		k.body = convex.Cylinder(a, b)
	case fettle.Pin:
		k.body = convex.Pin(a, b)
	case fettle.AngleCut:
		k.body, n = convex.AngleCut(a, b), turnsCut
	case fettle.Cone:
		k.body, n = convex.Cone(a, b), turnsUnlike
	case fettle.Triangle:
		k.body, n = convex.Triangle(a, b), turnsPrism
	case fettle.Tetra:
		k.body, n = convex.Tetra(a), turnsTetra
	case fettle.Grain:
		k.body, n = convex.Grain(math.Min(a, b), math.Max(a, b), 1), turnsGrain
	default:
		return k, fettle.Errorf(fettle.Invalid, "%s has the shape %q, which is not known; use one of those that the shelf lists", m.Name, m.Shape)
	}
	k.turns, k.calipers = k.body.Turns(n), k.body.Calipers()
	k.shadows = shadows(k.body, k.turns)
	k.ball = []shadow{k.shadows[0]}
	for _, s := range k.shadows {
		k.ball[0] = shadow{math.Min(k.ball[0].strip, s.strip), math.Min(k.ball[0].circle, s.circle)}
	}
	for i := range ferets {
		z := 1 - (float64(i)+0.5)/ferets // a half sphere: widths are alike both ways
		sin, cos := math.Sincos(float64(i) * math.Pi * (3 - math.Sqrt(5)))
		side := math.Sqrt(1 - z*z)
		k.ferets = append(k.ferets, k.body.Width(r3.Vec{X: side * cos, Y: side * sin, Z: z}))
	}
	return k, nil
}
