package block

import (
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// letters gives the outlines of a line of text, as letter.Text does.
type letters func(s string, height, tol float64) (loops [][]r2.Vec, width float64)

// sides closes the grip's upright between two rings, with the text raised on its two
// long sides. bare is true where a text found no room.
func (b *body) sides(s *solid, grip outline, lower, upper ring, at []station, write letters) (bare bool, err error) {
	first := 0 // the sides along x are 0 and 4
	length := grip.long
	if grip.wide > grip.long {
		first, length = 2, grip.wide
	}
	s.wall(lower, upper, func(i int) bool { return int(at[i])%4 == first })
	for k := range 2 {
		side := first + 4*k
		var border ring
		n := 0
		for i, t := range at {
			if int(t) == side {
				border = append(border, lower[i])
				n = i
			}
		}
		border = append(border, lower[(n+1)%len(at)], upper[(n+1)%len(at)])
		for i := len(at) - 1; i >= 0; i-- {
			if int(at[i]) == side {
				border = append(border, upper[i])
			}
		}
		a, z := s.Pos[border[0]], s.Pos[border[len(border)-1]]
		mid, normal := grip.at(float64(side) + 0.5)
		p := plane{
			at: r3.Vec{X: mid.X, Y: mid.Y, Z: (a.Z + z.Z) / 2},
			x:  r3.Vec{X: -normal.Y, Y: normal.X}, y: r3.Vec{Z: 1},
		}
		loops, ok := page(b.text[k], length-2*grip.round-1, z.Z-a.Z-1.5, write)
		bare = bare || !ok
		list := []ring{border}
		raised := plane{at: r3.Add(p.at, r3.Vec{X: letterRaised * normal.X, Y: letterRaised * normal.Y}), x: p.x, y: p.y}
		var caps []ring
		for _, loop := range loops {
			low, top := make(ring, len(loop)), make(ring, len(loop))
			for i, q := range loop {
				low[i], top[i] = s.point(p.space(q)), s.point(raised.space(q))
			}
			s.wall(low, top, nil)
			list, caps = append(list, low), append(caps, top)
		}
		if err := s.fill(p, nil, list...); err != nil {
			return bare, err
		}
		if len(caps) > 0 {
			if err := s.fill(raised, nil, caps...); err != nil {
				return bare, err
			}
		}
	}
	return bare, nil
}

// page sets lines of text in the middle of a panel. ok is false where the letters
// would be too small to print; then there are none.
func page(lines []string, long, high float64, write letters) (loops [][]r2.Vec, ok bool) {
	if len(lines) == 0 || write == nil {
		return nil, true
	}
	const lead = 1.5 // from line to line, in heights of a capital
	size := min(letterHigh, high/(1+lead*float64(len(lines)-1)))
	for _, l := range lines {
		if _, w := write(l, size, 0.05); w > long {
			size *= long / w
		}
	}
	if size < letterLo {
		return nil, false
	}
	whole := size * (1 + lead*float64(len(lines)-1))
	for k, l := range lines {
		ls, w := write(l, size, min(0.03, size/100))
		shift := r2.Vec{X: -w / 2, Y: whole/2 - size - float64(k)*lead*size}
		for _, loop := range ls {
			out := make([]r2.Vec, len(loop))
			for i, q := range loop {
				out[i] = r2.Add(q, shift)
			}
			loops = append(loops, out)
		}
	}
	return loops, true
}

// backwards writes from right to left in mirror letters, for a solid that will be
// mirrored.
func backwards(write letters) letters {
	return func(s string, height, tol float64) ([][]r2.Vec, float64) {
		loops, w := write(s, height, tol)
		out := make([][]r2.Vec, len(loops))
		for k, loop := range loops {
			out[k] = make([]r2.Vec, len(loop))
			for i, p := range loop { // in reverse, so that it still turns the same way
				out[k][len(loop)-1-i] = r2.Vec{X: w - p.X, Y: p.Y}
			}
		}
		return out, w
	}
}
