package cavity

import (
	"context"
	"fmt"
	"math"

	"fettle"

	"gonum.org/v1/gonum/spatial/r3"
)

func tooSmall(o *fettle.Opening, cell float64) string {
	return fmt.Sprintf("%s is %.3g mm wide and %.3g mm deep: too small for the grid of %.3g mm, so it is told from its walls alone.",
		o.ID, o.WidthMM, o.DepthMM, cell)
}

// check compares a survey's opening with what the void shows.
func (f *finder) check(i int32, cuts []cutAt) (says []string) {
	o, p := &f.list[i], f.places[i]
	if w := narrowest(cuts); !math.IsInf(w, 1) && math.Abs(w-o.WidthMM) > 2*f.Cell {
		// A keyhole, or a pocket with an arm, has its narrowest beside its widest.
		l := f.slicer(p, i).cut(p.depth / 2)
		if c, _, ok := l.neck(); !ok || math.Abs(2*c.radius-o.WidthMM) > 2*f.Cell {
			if ok {
				w = min(w, 2*c.radius)
			}
			says = append(says, fmt.Sprintf("%s is %.3g mm wide by its walls, %.3g mm in the void: look at it before relying on either.", o.ID, o.WidthMM, w))
		}
	}
	if p.ring {
		return says
	}
	last := cuts[len(cuts)-1]
	from := p.point(last.at.X, last.at.Y, -last.DepthMM+min(f.Cell, last.DepthMM/2))
	if j, k, l, in := f.Nearest(p.point(last.at.X, last.at.Y, -last.DepthMM-1.5*f.Cell)); in && f.of[f.Index(j, k, l)] >= 0 {
		return says // another opening follows
	}
	blocked := f.Tree.RayAny(from, r3.Scale(-1, p.axis), 0, 3*f.Cell)
	switch {
	case o.Through && blocked:
		says = append(says, o.ID+" goes through by its walls, but the void ends there: it is kept as through.")
	case !o.Through && !blocked && len(p.tris) > 0 && -p.lo[2] < p.depth+2*f.Cell:
		says = append(says, o.ID+" is blind by its walls, but the void goes on there: it is kept as blind.")
	}
	return says
}

// sealed tells of voids without a mouth: cells that the sphere does not reach
// and that touch none that it does.
func (f *finder) sealed(ctx context.Context) error {
	in := func(at int) bool { return f.D[at] > 0 && (f.state[at]&left != 0 || f.of[at] >= 0) }
	var queue []int32
	for at := range f.state {
		if f.state[at]&seen != 0 || !in(at) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		queue = append(queue[:0], int32(at))
		f.state[at] |= seen
		open, deep := false, int32(at)
		for next := 0; next < len(queue); next++ {
			c := queue[next]
			if f.D[c] > f.D[deep] {
				deep = c
			}
			eachBeside(&f.Grid, int(c), func(b, _ int) {
				switch {
				case f.D[b] <= 0:
				case !in(b):
					open = true
				case f.state[b]&seen == 0:
					f.state[b] |= seen
					queue = append(queue, int32(b))
				}
			})
		}
		if open {
			continue
		}
		for _, c := range queue {
			f.state[c] |= shut
		}
		if float64(f.D[deep]) < f.Cell {
			continue
		}
		q := f.At(f.Split(int(deep)))
		f.say("There is a sealed cavity of about %.3g mm³ round (%.2f, %.2f, %.2f): it has no mouth, so nothing gets in to finish it.",
			float64(len(queue))*f.Cell*f.Cell*f.Cell, q.X, q.Y, q.Z)
	}
	for at := range f.state {
		f.state[at] &^= seen
	}
	return nil
}
