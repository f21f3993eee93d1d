// Package typeface reads the outlines of letters and their widths from a TrueType
// file: what lettering on paper, in pictures and on solids needs.
package typeface

import (
	"encoding/binary"

	"gonum.org/v1/gonum/spatial/r2"
)

// Face is a TrueType font as far as lettering needs it.
type Face struct {
	PerEm   float64      // font units
	Glyph   map[rune]int // 0 or none for a character that the face lacks
	advance []int
	kern    map[[2]int]int
	glyf    []byte
	at      []int // where each glyph begins in glyf, and the end
}

func u16(b []byte, at int) int { return int(binary.BigEndian.Uint16(b[at:])) }
func i16(b []byte, at int) int { return int(int16(binary.BigEndian.Uint16(b[at:]))) }
func u32(b []byte, at int) int { return int(binary.BigEndian.Uint32(b[at:])) }

// Read reads the tables head, maxp, hhea, hmtx, loca, glyf, cmap (format 4) and kern
// (version 0, format 0) of a TrueType file as the OpenType specification (ISO/IEC
// 14496-22) lays them out. The file must be whole: it is meant for faces that are
// built into the program.
func Read(ttf []byte) *Face {
	table := map[string][]byte{}
	for i := range u16(ttf, 4) {
		at := 12 + 16*i
		table[string(ttf[at:at+4])] = ttf[u32(ttf, at+8):][:u32(ttf, at+12)]
	}
	head, hmtx, loca := table["head"], table["hmtx"], table["loca"]
	f := &Face{PerEm: float64(u16(head, 18)), Glyph: map[rune]int{}, kern: map[[2]int]int{}, glyf: table["glyf"]}
	for i := range u16(table["hhea"], 34) {
		f.advance = append(f.advance, u16(hmtx, 4*i))
	}
	for i := range u16(table["maxp"], 4) + 1 {
		if u16(head, 50) == 0 {
			f.at = append(f.at, 2*u16(loca, 2*i))
		} else {
			f.at = append(f.at, u32(loca, 4*i))
		}
	}
	f.readMap(table["cmap"])
	f.readKern(table["kern"])
	return f
}

// readMap reads which glyph stands for which character.
func (f *Face) readMap(cmap []byte) {
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
					f.Glyph[rune(c)] = g
				}
			}
		}
		return
	}
}

// readKern reads by how much two neighbours stand closer or wider than their
// advances say.
func (f *Face) readKern(kern []byte) {
	at := 4
	for range u16(kern, 2) {
		size, coverage := u16(kern, at+2), u16(kern, at+4)
		// Along the line, as a change, in format 0.
		if coverage&0xFF07 == 1 {
			for i := range u16(kern, at+6) {
				p := at + 14 + 6*i
				f.kern[[2]int{u16(kern, p), u16(kern, p+2)}] = i16(kern, p+4)
			}
		}
		at += size
	}
}

// Width is that of a line of text in ems, without kerning.
func (f *Face) Width(s string) float64 {
	sum := 0
	for _, r := range s {
		sum += f.Advance(f.Glyph[r])
	}
	return float64(sum) / f.PerEm
}

// Advance is how far the next glyph stands from a glyph, in font units.
func (f *Face) Advance(g int) int { return f.advance[min(g, len(f.advance)-1)] }

// Kern is by how much two neighbours stand closer or wider than their advances say.
func (f *Face) Kern(a, b int) int { return f.kern[[2]int{a, b}] }

// Box is the box that the file states for a glyph: its left, lower, right and upper
// side in font units; ok is false for a glyph without an outline.
func (f *Face) Box(g int) (box [4]int, ok bool) {
	if g+1 >= len(f.at) || f.at[g] == f.at[g+1] {
		return box, false
	}
	b := f.glyf[f.at[g]:]
	return [4]int{i16(b, 2), i16(b, 4), i16(b, 6), i16(b, 8)}, true
}

// Knot is a point of a TrueType outline: on the curve, or the control point of
// a parabola between its neighbours.
type Knot struct {
	r2.Vec
	On bool
}

// Contours are the closed contours of a glyph in font units, y up.
func (f *Face) Contours(g int) [][]Knot { return f.contours(g, 0) }

func (f *Face) contours(g, depth int) [][]Knot {
	if g+1 >= len(f.at) || f.at[g] == f.at[g+1] || depth > 4 {
		return nil
	}
	b := f.glyf[f.at[g]:f.at[g+1]]
	if n := i16(b, 0); n >= 0 {
		return simple(b, n)
	}
	// A letter put together from parts, such as é from e and its accent.
	var all [][]Knot
	for at, more := 10, true; more; {
		flags, part := u16(b, at), u16(b, at+2)
		at += 4
		var dx, dy int
		if flags&0x01 != 0 {
			dx, dy = i16(b, at), i16(b, at+2)
			at += 4
		} else {
			dx, dy = int(int8(b[at])), int(int8(b[at+1]))
			at += 2
		}
		if flags&0x02 == 0 { // matched points, of a few rare letters: not read
			return nil
		}
		share := func() float64 { at += 2; return float64(i16(b, at-2)) / (1 << 14) }
		xx, xy, yx, yy := 1.0, 0.0, 0.0, 1.0
		switch {
		case flags&0x08 != 0:
			xx = share()
			yy = xx
		case flags&0x40 != 0:
			xx, yy = share(), share()
		case flags&0x80 != 0:
			xx, xy, yx, yy = share(), share(), share(), share()
		}
		for _, c := range f.contours(part, depth+1) {
			for i, k := range c {
				c[i].Vec = r2.Vec{X: xx*k.X + yx*k.Y + float64(dx), Y: xy*k.X + yy*k.Y + float64(dy)}
			}
			all = append(all, c)
		}
		more = flags&0x20 != 0
	}
	return all
}

// simple reads a glyph of n contours of its own.
func simple(b []byte, n int) [][]Knot {
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
	var all [][]Knot
	first := 0
	for c := range n {
		last := u16(b, 10+2*c)
		var k []Knot
		for i := first; i <= last; i++ {
			k = append(k, Knot{r2.Vec{X: x[i], Y: y[i]}, flags[i]&1 != 0})
		}
		first = last + 1
		if len(k) > 2 { // one or two are anchors of an accent
			all = append(all, k)
		}
	}
	return all
}
