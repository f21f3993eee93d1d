package draw

import "math"

// Removal is what a symbol of surface texture says of removing material.
type Removal int

// The three graphical symbols of ISO 21920-1.
const (
	AnyProcess  Removal = iota // two legs: any process
	MustRemove                 // a bar closes the short leg: material must be removed
	MayNotTouch                // a circle in the legs: material may not be removed
)

// Symbol is the graphical symbol of surface texture with what stands at it. The zero
// value is the bare symbol.
type Symbol struct {
	Removal Removal
	// First is the requirement under the bar, "Ra 0.8 µm"; Second another one under
	// it, as for an upper and a lower limit: "U Ra 0.8 µm", "L Ra 0.2 µm".
	First, Second string
	Lay           Lay
	// AllAround adds the circle that asks for the same on the whole outline of the
	// view.
	AllAround bool
}

// Shares of the height h of the lettering's capitals that the symbol is drawn with.
// These are the proportions of the annex on graphical symbols that ISO 1302:2002
// and, after it, ISO 21920-1:2021 have, from memory: for h = 3.5 mm its table gives
// lines of 0.35 mm, a short leg 5 mm high and a long one of at least 10.5 mm.
const (
	symbolLine  = 0.1 // weight of all lines
	symbolShort = 1.4 // height of the short leg
	symbolLong  = 3.0 // least height of the long leg
	symbolNext  = 1.5 // more for each further line of text, and its leading
	symbolRound = 0.35
	capital     = 0.73 // of the em: the height of a capital
)

// Height is how high the symbol stands over the surface, for lettering of an em of
// size mm.
func (s Symbol) Height(size float64) float64 {
	h := capital * size
	up := symbolLong + symbolLine/2
	if s.Second != "" {
		up += symbolNext
	}
	if s.AllAround {
		up += symbolRound
	}
	return up * h
}

// Draw is the symbol with lettering of an em of size mm, its tip on the surface at
// (0, 0), upright. The legs stand at 60° to the surface. A nil metric is [Em].
func (s Symbol) Draw(size float64, metric Metric) *Drawing {
	if metric == nil {
		metric = Em
	}
	h := capital * size
	w := symbolLine * h
	up := symbolShort * h
	over := symbolLong * h
	if s.Second != "" {
		over += symbolNext * h
	}
	t := math.Tan(math.Pi / 6) // half the angle between the legs
	corner := Pt{over * t, -over}
	d := &Drawing{}
	legs := []Pt{{-up * t, -up}, {0, 0}, corner}
	inset := 0.3 * size
	wide := 0.0
	for i, line := range []string{s.First, s.Second} {
		if line == "" {
			continue
		}
		wide = max(wide, metric(line, size, false)+2*inset)
		d.Texts = append(d.Texts, Text{At: Pt{corner.X + inset, corner.Y + (1.35+symbolNext*float64(i))*h}, S: line, Size: size})
	}
	if wide > 0 {
		legs = append(legs, Pt{corner.X + wide, corner.Y})
	}
	d.Stroke(w, legs...)
	switch s.Removal {
	case MustRemove:
		d.Stroke(w, Pt{-up * t, -up}, Pt{up * t, -up})
	case MayNotTouch: // touches both legs and reaches as high as the short one
		d.Circle(w, Pt{0, -up * 2 / 3}, up/3)
	}
	if s.AllAround {
		d.Circle(w, corner, symbolRound*h)
	}
	// The lay stands beside the tip, under the requirements.
	d.Add(s.Lay.glyph(h), 1.12*h, -0.1*h)
	return d
}

// Texture is [Symbol.Draw] of one value: with removal set the symbol that asks that
// material be removed.
func Texture(value string, size float64, removal bool, metric Metric) *Drawing {
	s := Symbol{First: value}
	if removal {
		s.Removal = MustRemove
	}
	return s.Draw(size, metric)
}
