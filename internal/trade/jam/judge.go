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

// turnsOf is the number of orientations for each shape.
var turnsOf = map[fettle.MediaShape]int{
	fettle.Sphere: turnsAlike, fettle.Cylinder: turnsAlike, fettle.Pin: turnsAlike, fettle.AngleCut: turnsCut,
	fettle.Cone: turnsUnlike, fettle.Triangle: turnsPrism, fettle.Tetra: turnsTetra, fettle.Grain: turnsGrain,
}

// BodyOf is a new piece of media as a convex body in mm; of grains one that is like
// the others. It fails with Invalid for a shape that is not known and for a size
// that is none.
func BodyOf(m fettle.Media) (*convex.Body, error) {
	a, b := m.SizeMM[0], m.SizeMM[1]
	if m.Shape == fettle.Sphere {
		b = a
	}
	if !(a > 0) || !(b > 0) || math.IsInf(a+b, 0) {
		return nil, fettle.Errorf(fettle.Invalid, "the pieces of %s are %g × %g mm, and nothing can be said of such a size; give both in mm, more than zero", m.Name, a, b)
	}
	switch m.Shape {
	case fettle.Sphere:
		return convex.Sphere(a), nil
	case fettle.Cylinder, fettle.Pin:
		return convex.Cylinder(a, b), nil
	case fettle.AngleCut:
		return convex.AngleCut(a, b), nil
	case fettle.Cone:
		return convex.Cone(a, b), nil
	case fettle.Triangle:
		return convex.Triangle(a, b), nil
	case fettle.Tetra:
		return convex.Tetra(a), nil
	case fettle.Grain:
		return convex.Grain(math.Min(a, b), math.Max(a, b), 1), nil
	}
	return nil, fettle.Errorf(fettle.Invalid, "%s has the shape %q, which is not known; use one of those that the shelf lists", m.Name, m.Shape)
}

func kindOf(m fettle.Media) (kind, error) {
	k := kind{Media: m}
	var err error
	if k.body, err = BodyOf(m); err != nil {
		return k, err
	}
	n := turnsOf[m.Shape]
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
