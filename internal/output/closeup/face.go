package closeup

import (
	"encoding/binary"
	"sync"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"golang.org/x/image/vector"
)

// face is a TrueType font as far as lettering a picture needs it: which glyph a
// character has, how wide it is and its outline.
type face struct {
	perEm   float64
	glyph   map[rune]int
	advance []int
	glyf    []byte
	at      []int // where each glyph begins in glyf, and the end
}

// The face that everything of ours is lettered in, plain and bold.
var faces = sync.OnceValue(func() [2]*face {
	return [2]*face{readFace(dejavusanscondensed.TTF), readFace(dejavusanscondensedbold.TTF)}
})

func u16(b []byte, at int) int { return int(binary.BigEndian.Uint16(b[at:])) }
func i16(b []byte, at int) int { return int(int16(binary.BigEndian.Uint16(b[at:]))) }
func u32(b []byte, at int) int { return int(binary.BigEndian.Uint32(b[at:])) }

// readFace reads the tables head, hhea, hmtx, loca, glyf and cmap (format 4) of
// a TrueType file as the OpenType specification (ISO/IEC 14496-22) lays them
// out. The file is built into the program, so it is trusted to be whole.
func readFace(ttf []byte) *face {
	table := map[string][]byte{}
	for i := range u16(ttf, 4) {
		at := 12 + 16*i
		table[string(ttf[at:at+4])] = ttf[u32(ttf, at+8):][:u32(ttf, at+12)]
	}
	head, hhea, hmtx, loca, cmap := table["head"], table["hhea"], table["hmtx"], table["loca"], table["cmap"]
	f := &face{perEm: float64(u16(head, 18)), glyph: map[rune]int{}, glyf: table["glyf"]}
	for i := range u16(hhea, 34) {
		f.advance = append(f.advance, u16(hmtx, 4*i))
	}
	for i := range u16(table["maxp"], 4) + 1 {
		if u16(head, 50) == 0 {
			f.at = append(f.at, 2*u16(loca, 2*i))
		} else {
			f.at = append(f.at, u32(loca, 4*i))
		}
	}
	for i := range u16(cmap, 2) {
		sub := cmap[u32(cmap, 8+8*i):]
		if u16(sub, 0) != 4 {
			continue
		}
		n := u16(sub, 6) // twice the number of segments
		for s := 0; s < n; s += 2 {
			end, start := u16(sub, 14+s), u16(sub, 16+n+s)
			delta, offset := u16(sub, 16+2*n+s), u16(sub, 16+3*n+s)
			for c := start; c <= end && c != 0xFFFF; c++ {
				g := c
				if offset != 0 {
					if g = u16(sub, 16+3*n+s+offset+2*(c-start)); g == 0 {
						continue
					}
				}
				if g = (g + delta) & 0xFFFF; g != 0 {
					f.glyph[rune(c)] = g
				}
			}
		}
		break
	}
	return f
}

// wide is the width of s in ems.
func (f *face) wide(s string) float64 {
	sum := 0
	for _, r := range s {
		sum += f.advance[min(f.glyph[r], len(f.advance)-1)]
	}
	return float64(sum) / f.perEm
}

// knot is a point of a TrueType outline: on the curve, or the control point of
// a parabola between its neighbours.
type knot struct {
	x, y float64
	on   bool
}

// outline is the closed contours of a glyph in font units, y up.
func (f *face) outline(g, depth int) [][]knot {
	if g+1 >= len(f.at) || f.at[g] == f.at[g+1] || depth > 4 {
		return nil
	}
	b := f.glyf[f.at[g]:f.at[g+1]]
	if n := i16(b, 0); n >= 0 {
		return simple(b, n)
	}
	var all [][]knot
	for at, more := 10, true; more; {
		flags, part := u16(b, at), u16(b, at+2)
		at += 4
		var dx, dy int
		switch {
		case flags&1 != 0:
			dx, dy = i16(b, at), i16(b, at+2)
			at += 4
		default:
			dx, dy = int(int8(b[at])), int(int8(b[at+1]))
			at += 2
		}
		if flags&2 == 0 { // matched points, which the face does not use
			dx, dy = 0, 0
		}
		fixed := func() float64 { at += 2; return float64(i16(b, at-2)) / (1 << 14) }
		xx, xy, yx, yy := 1.0, 0.0, 0.0, 1.0
		switch {
		case flags&0x08 != 0:
			xx = fixed()
			yy = xx
		case flags&0x40 != 0:
			xx, yy = fixed(), fixed()
		case flags&0x80 != 0:
			xx, xy, yx, yy = fixed(), fixed(), fixed(), fixed()
		}
		for _, c := range f.outline(part, depth+1) {
			for i, k := range c {
				c[i].x, c[i].y = xx*k.x+yx*k.y+float64(dx), xy*k.x+yy*k.y+float64(dy)
			}
			all = append(all, c)
		}
		more = flags&0x20 != 0
	}
	return all
}

// simple reads a glyph of n contours of its own.
func simple(b []byte, n int) [][]knot {
	if n == 0 {
		return nil
	}
	total := u16(b, 10+2*(n-1)) + 1
	at := 10 + 2*n
	at += 2 + u16(b, at) // the instructions
	flags := make([]byte, 0, total)
	for len(flags) < total {
		flag := b[at]
		at++
		flags = append(flags, flag)
		if flag&8 != 0 {
			for range b[at] {
				flags = append(flags, flag)
			}
			at++
		}
	}
	// Coordinates are steps: of one byte with its sign in a flag, of two bytes,
	// or none.
	axis := func(short, same byte) []float64 {
		v, out := 0, make([]float64, total)
		for i, flag := range flags[:total] {
			switch {
			case flag&short != 0 && flag&same != 0:
				v += int(b[at])
				at++
			case flag&short != 0:
				v -= int(b[at])
				at++
			case flag&same == 0:
				v += i16(b, at)
				at += 2
			}
			out[i] = float64(v)
		}
		return out
	}
	x := axis(2, 16)
	y := axis(4, 32)
	var all [][]knot
	first := 0
	for c := range n {
		last := u16(b, 10+2*c)
		var k []knot
		for i := first; i <= last; i++ {
			k = append(k, knot{x[i], y[i], flags[i]&1 != 0})
		}
		first = last + 1
		if len(k) > 1 {
			all = append(all, k)
		}
	}
	return all
}

// draw adds the letters of s to r, the baseline beginning at (x, y), y down.
func (f *face) draw(r *vector.Rasterizer, s string, x, y, em float64) {
	k := em / f.perEm
	for _, c := range s {
		g := f.glyph[c]
		for _, pts := range f.outline(g, 0) {
			walk(r, pts, func(p knot) (float32, float32) { return float32(x + k*p.x), float32(y - k*p.y) })
		}
		x += k * float64(f.advance[min(g, len(f.advance)-1)])
	}
}

// walk follows a contour: between two control points in a row lies a point of
// the curve, half-way.
func walk(r *vector.Rasterizer, pts []knot, to func(knot) (float32, float32)) {
	half := func(a, b knot) knot { return knot{(a.x + b.x) / 2, (a.y + b.y) / 2, true} }
	n := len(pts)
	start := pts[0]
	if !start.on {
		if start = pts[n-1]; !start.on {
			start = half(pts[0], pts[n-1])
		}
	}
	r.MoveTo(to(start))
	for i := range n {
		p, next := pts[i], pts[(i+1)%n]
		if p.on {
			r.LineTo(to(p))
			continue
		}
		if !next.on {
			next = half(p, next)
		}
		cx, cy := to(p)
		nx, ny := to(next)
		r.QuadTo(cx, cy, nx, ny)
	}
	r.ClosePath()
}
