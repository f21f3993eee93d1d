package surface

import (
	"fmt"
	"math"
	"slices"

	"fettle/internal/format/intake"
)

// maxPlaces is how many different x or y points on a grid may have.
const maxPlaces = 1_000_000

// lineup is the places of a grid along one axis, as a list of points has them.
type lineup struct {
	seen   map[float64]struct{}
	coarse float64 // the value of the last digit printed
	from   float64
	step   float64
	n      int
}

// settle finds the even steps that all places lie on; ok is false where there
// are none.
func (l *lineup) settle() (ok bool) {
	at := make([]float64, 0, len(l.seen))
	for v := range l.seen {
		at = append(at, v)
	}
	slices.Sort(at)
	l.from, l.n, l.step = at[0], 1, 0
	if len(at) == 1 {
		return true
	}
	span := at[len(at)-1] - at[0]
	gaps := make([]float64, 0, len(at)-1)
	for i := 1; i < len(at); i++ {
		if d := at[i] - at[i-1]; d > 1e-9*span { // nearer ones are one place, rounded differently
			gaps = append(gaps, d)
		}
	}
	// The usual gap is one step; averaging over the steps between the ends then
	// takes the rounding of the print out.
	usual := slices.Clone(gaps)
	slices.Sort(usual)
	steps := 0.0
	for _, g := range gaps {
		steps += max(1, math.Round(g/usual[len(usual)/2]))
	}
	if steps > maxPlaces {
		return false
	}
	l.step, l.n = span/steps, int(steps)+1
	for _, v := range at {
		if _, ok := l.index(v); !ok {
			return false
		}
	}
	return true
}

// index is which place v is.
func (l *lineup) index(v float64) (int, bool) {
	if l.n == 1 {
		return 0, true
	}
	i := math.Round((v - l.from) / l.step)
	return int(i), i >= 0 && int(i) < l.n && math.Abs(v-l.from-i*l.step) <= 0.01*l.step+slack(l.coarse, l.step)
}

// points reads x, y and z of points on a grid, in any order. It goes over the
// text twice, so that the list is never held.
func (r *textReader) points() (*Surface, error) {
	uneven := func(axis string) error {
		return &intake.Fault{Format: textName, What: "three columns were taken as x, y and z, and the points do not lie on an even grid along " + axis,
			Try: "export it on a grid, or as a matrix of heights"}
	}
	axes := [2]lineup{{seen: map[float64]struct{}{}}, {seen: map[float64]struct{}{}}}
	names := [2]string{"x", "y"}
	pos, line := r.t.pos, r.t.line
	n := 0
	for {
		row, err := r.t.next()
		if err != nil {
			return nil, err
		}
		if row == nil {
			break
		}
		n++
		for k := range axes {
			v, err := r.t.cell(row[k])
			if err != nil {
				return nil, err
			}
			if v != v {
				return nil, r.t.fault("there is no %s beside this height", names[k])
			}
			axes[k].seen[v] = struct{}{}
			axes[k].coarse = max(axes[k].coarse, r.t.digit(row[k]))
			if len(axes[k].seen) > maxPlaces {
				return nil, uneven(names[k])
			}
		}
	}
	for k := range axes {
		if !axes[k].settle() {
			return nil, uneven(names[k])
		}
	}
	w, h := int64(axes[0].n), int64(axes[1].n)
	if err := size(textName, "", w, h); err != nil {
		return nil, err
	}
	if w*h > 4*int64(n)+64 {
		return nil, &intake.Fault{Format: textName, What: fmt.Sprintf("three columns were taken as x, y and z, and its %d points fill less than a quarter of a grid of %d × %d", n, w, h),
			Try: "export it on a grid, or as a matrix of heights"}
	}
	f := newFiller(int(w), int(h), axes[0].step*r.said.xmm, axes[1].step*r.said.xmm)
	f.m.X0, f.m.Y0 = offset(axes[0].from*r.said.xmm), offset(axes[1].from*r.said.xmm)
	r.t.pos, r.t.line = pos, line
	for {
		row, err := r.t.next()
		if err != nil {
			return nil, err
		}
		if row == nil {
			break
		}
		x, _ := r.t.cell(row[0])
		y, _ := r.t.cell(row[1])
		z, err := r.t.cell(row[2])
		if err != nil {
			return nil, err
		}
		i, _ := axes[0].index(x)
		j, _ := axes[1].index(y)
		if at := j*int(w) + i; f.m.Z[at] == f.m.Z[at] {
			return nil, r.t.fault("there are two heights at x = %g, y = %g", x, y)
		} else {
			f.put(at, z*r.said.zmm)
		}
	}
	r.out.Units = "x and y " + r.said.xname + ", z " + r.said.zname
	return f.done(r.out)
}
