package cusp

import (
	"context"
	"math"

	"fettle"
)

// spot is where a piece lies: its corner and size in plan, its mean and its
// steepest slope as tangents.
type spot struct{ x, y, w, h, slope, steepest float64 }

// spot looks for a piece all on the zone whose mean slope is nearest to the one
// asked for, smaller and smaller until one fits; the first of equals in rows.
func (s *scene) spot(ctx context.Context, opt SimulateOptions) (spot, error) {
	want := s.zone.SlopeDeg.P50
	if opt.Steep {
		want = s.zone.SlopeDeg.P95
	}
	want = math.Tan(math.Min(want, 60) * math.Pi / 180)
	cell := math.Max(s.x1-s.x0, s.y1-s.y0) / 240
	v, err := s.view(ctx, cell, 0)
	if err != nil {
		return spot{}, err
	}
	on, lean, square := v.sums()
	for share := 1.0; share >= smallestPiece; share /= 2 {
		w, h := opt.SizeMM*share, opt.SizeMM*share*2/3
		nw, nh := int(math.Ceil(w/cell))+1, int(math.Ceil(h/cell))+1
		best, off := spot{}, math.Inf(1)
		for j := 0; j+nh <= v.grid.H; j++ {
			for i := 0; i+nw <= v.grid.W; i++ {
				if window(on, v.grid.W, i, j, nw, nh) < float64(nw*nh)-0.5 {
					continue
				}
				mean := window(lean, v.grid.W, i, j, nw, nh) / float64(nw*nh)
				// Even rather than across a rounded edge, and far from the border of the
				// zone's box if there is a choice.
				spread := window(square, v.grid.W, i, j, nw, nh)/float64(nw*nh) - mean*mean
				d := math.Abs(mean-want) + math.Sqrt(math.Max(0, spread)) + 1e-3*math.Hypot(v.grid.X(i)+w/2-(s.x0+s.x1)/2, v.grid.Y(j)+h/2-(s.y0+s.y1)/2)/math.Max(s.x1-s.x0, 1e-9)
				if d < off {
					off = d
					best = spot{x: v.grid.X(i), y: v.grid.Y(j), w: w, h: h, slope: mean}
					best.steepest = v.steepest(i, j, nw, nh)
				}
			}
		}
		if !math.IsInf(off, 1) {
			return best, nil
		}
	}
	return spot{}, fettle.Errorf(fettle.NotFound, "zone %q has no piece of %.2g mm to simulate", s.zone.ID, opt.SizeMM*smallestPiece)
}

// sums are running sums over a view: of cells on the zone, of their slopes and
// of the squares of those. All have a row and a column of zeros in front.
func (v *view) sums() (on, lean, square []float64) {
	w := v.grid.W + 1
	n := w * (v.grid.H + 1)
	on, lean, square = make([]float64, n), make([]float64, n), make([]float64, n)
	for j := range v.grid.H {
		for i := range v.grid.W {
			n := (j+1)*w + i + 1
			on[n] = on[n-1] + on[n-w] - on[n-w-1]
			lean[n] = lean[n-1] + lean[n-w] - lean[n-w-1]
			square[n] = square[n-1] + square[n-w] - square[n-w-1]
			if t := float64(v.slope[j*v.grid.W+i]); !math.IsNaN(t) {
				on[n]++
				lean[n] += t
				square[n] += t * t
			}
		}
	}
	return on, lean, square
}

func window(sum []float64, w, i, j, nw, nh int) float64 {
	w++
	return sum[(j+nh)*w+i+nw] - sum[j*w+i+nw] - sum[(j+nh)*w+i] + sum[j*w+i]
}

func (v *view) steepest(i, j, nw, nh int) float64 {
	t := 0.0
	for q := j; q < j+nh; q++ {
		for p := i; p < i+nw; p++ {
			t = math.Max(t, float64(v.slope[q*v.grid.W+p]))
		}
	}
	return t
}
