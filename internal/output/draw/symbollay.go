package draw

import "math"

// Lay is the direction of a surface's pattern, by the sign that ISO 21920-1 has for
// it, against the plane of projection of the view that the symbol stands in. Empty
// asks for none.
type Lay string

// The lays.
const (
	LayNone        Lay = ""
	LayParallel    Lay = "="
	LaySquare      Lay = "⊥" // at right angles
	LayCrossed     Lay = "X" // two directions aslant
	LayMulti       Lay = "M" // many directions
	LayCircular    Lay = "C" // round the middle of the surface
	LayRadial      Lay = "R" // towards the middle of the surface
	LayParticulate Lay = "P" // grains or pits without direction
)

// How the letters among them are formed, as shares of their height, and in degrees.
const (
	layWide = 0.72 // C, R and P
	layBowl = 0.56 // of R and P
	layOpen = 50.0 // either side of level, where C is open
)

// glyph is the sign as strokes, h high and at most h wide, its lower left corner at
// (0, 0). Signs are drawn because faces lack some of them, and so that all are of
// one weight with the symbol.
func (l Lay) glyph(h float64) *Drawing {
	d := &Drawing{}
	pen := func(pts ...Pt) {
		for i, p := range pts {
			pts[i] = Pt{p.X * h, -p.Y * h}
		}
		d.Stroke(symbolLine*h, pts...)
	}
	w := layWide
	switch l {
	case LayParallel:
		pen(Pt{0, 0.3}, Pt{1, 0.3})
		pen(Pt{0, 0.7}, Pt{1, 0.7})
	case LaySquare:
		pen(Pt{0, 0}, Pt{1, 0})
		pen(Pt{0.5, 0}, Pt{0.5, 1})
	case LayCrossed:
		pen(Pt{0, 0}, Pt{1, 1})
		pen(Pt{0, 1}, Pt{1, 0})
	case LayMulti:
		pen(Pt{0, 0}, Pt{0, 1}, Pt{0.45, 0.25}, Pt{0.9, 1}, Pt{0.9, 0})
	case LayCircular:
		pen(bow(Pt{w / 2, 0.5}, w/2, 0.5, layOpen, 360-layOpen)...)
	case LayRadial:
		pen(bowl(w)...)
		pen(Pt{w / 2, 1 - layBowl}, Pt{w, 0})
	case LayParticulate:
		pen(bowl(w)...)
	}
	return d
}

// bowl is the letter P of unit height and width w, in one stroke from its foot.
func bowl(w float64) []Pt {
	r := layBowl / 2
	pts := []Pt{{0, 0}, {0, 1}}
	pts = append(pts, bow(Pt{w - r, 1 - r}, r, r, 90, -90)...)
	return append(pts, Pt{0, 1 - layBowl})
}

// bow is an arc of an ellipse between two angles in degrees, anticlockwise from the
// right with y up.
func bow(c Pt, rx, ry, from, to float64) []Pt {
	const n = 24
	out := make([]Pt, n+1)
	for i := range out {
		s, co := math.Sincos((from + (to-from)*float64(i)/n) * math.Pi / 180)
		out[i] = Pt{c.X + rx*co, c.Y + ry*s}
	}
	return out
}
