// Package closeup shows a surface as the eye would find it under a low lamp:
// heights, simulated or measured, become a picture at true scale with a scale
// bar ([Light]), a map of heights in colours with their scale printed
// ([Colour]), several surfaces beside each other under one lamp and one
// exposure ([Strip]), or a trace across the lay ([Across], [Profile]).
//
// What is lit is the surface itself. Heights are never stretched: the slope of
// a cell is the slope that a lamp would meet there, and what a photographer
// would set, the exposure and the contrast, is the only thing that follows the
// surface; it is written under the picture. Nothing depends on the number of
// cores: the same map gives the same bytes.
package closeup

import (
	"image"
	"image/png"
	"io"
	"math"

	"fettle"
	"fettle/internal/shape/relief"
)

// Options say what is shown and how. The zero value is a picture of 960 by 640
// pixels of the middle of the map, lit from the upper left, in neutral grey.
type Options struct {
	// Width and Height are those of the whole picture with its lettering, in
	// pixels; 0 means 960 and 640.
	Width, Height int
	// WideMM is how much of the surface lies across the picture; 0 means as
	// much as fills the picture.
	WideMM float64
	// Middle is the point of the map in the middle of the picture, mm; nil means
	// the middle of the map.
	Middle *[2]float64
	// Whole makes the picture lower or narrower than was asked for, so that all
	// of the map is in it; WideMM and Middle then say nothing.
	Whole bool

	// LayDeg is the direction of the lay, degrees counter-clockwise from X; nil
	// where there is none or it is not known. Without FromDeg the light then
	// falls across it.
	LayDeg *float64
	// FromDeg is where the light comes from, degrees counter-clockwise from X;
	// nil means across the lay, or from the upper left (135).
	FromDeg *float64
	// HighDeg is how high the lamp stands over the surface; 0 means 12.
	HighDeg float64
	// Contrast is the power that the light of the slopes is raised to before it
	// becomes a tone; 1 is the reflection itself, 0 lets the surface decide.
	Contrast float64
	// Shadows adds the shadows that steps throw on what lies behind them, as far
	// as the step is in the picture.
	Shadows bool
	Tint    Tint

	Display fettle.System
	// Caption is written under the picture; it is wrapped to at most three
	// lines.
	Caption string
	// Missing says what the hatched places are; empty means "no height".
	Missing string
	// Bare leaves the lettering out; the picture is then all surface.
	Bare bool
}

// Picture is a picture of a surface and what is needed to measure in it.
type Picture struct {
	*image.Paletted
	// Area is where the surface lies in the picture; what is beside it is
	// lettering.
	Area image.Rectangle
	// PxPerMM is the scale, the same along and down. X0 and Y1 are the place on
	// the map of the top left corner of Area, mm; Y runs upwards.
	PxPerMM, X0, Y1 float64
	// FromDeg, HighDeg and Contrast are what the surface was lit with; 0 in a map
	// of heights.
	FromDeg, HighDeg, Contrast float64
	// BarMM is the length of the scale bar, which begins at the pixel BarAt; 0
	// where there is none.
	BarMM float64
	BarAt image.Point
	// LowUM and HighUM are the ends of the colour scale of a map of heights.
	LowUM, HighUM float64
	// Missing is the share of Area without a height.
	Missing float64
}

// PNG writes the picture.
func (p *Picture) PNG(w io.Writer) error {
	enc := png.Encoder{CompressionLevel: png.DefaultCompression}
	return enc.Encode(w, p.Paletted)
}

// Light shows the surface under a low lamp, looked at from straight above, X to
// the right and Y up.
//
// Each sample's share of light follows its slope through two lobes around the
// normal that would mirror the lamp into the eye (Trowbridge & Reitz, J. Opt.
// Soc. Am. 65 (1975) 531): a broad one that stands for the roughness below the
// size of a cell and a narrow one for the gloss. Where a pixel holds several
// cells their light is averaged; where a cell spans pixels the slope is
// interpolated. The error is fettle.Invalid for a map without heights and for
// sizes or angles that make no picture.
func Light(m *relief.Map, o Options) (*Picture, error) {
	if err := o.check(m); err != nil {
		return nil, err
	}
	l := o.lamp()
	// The room for the lettering depends on its words, which name a contrast
	// that is known only later: reserve it with the longest.
	sh := &sheet{o: &o, lamp: &l, caption: o.Caption}
	sh.note = o.note(l, 88, 0.5)
	v, err := sh.plan(m)
	if err != nil {
		return nil, err
	}
	val := v.light(m, l)
	// Exposed for what the light reaches.
	mid, spread, missing := exposure(val)
	if math.IsNaN(mid) {
		return nil, empty()
	}
	if o.Shadows {
		v.shadows(m, l, val)
	}
	c := o.Contrast
	if c == 0 {
		c = contrast(spread)
	}
	p := newPicture(sh.w, sh.h, tone(o.Tint))
	p.place(v, image.Rect(0, 0, v.w, v.h))
	p.FromDeg, p.HighDeg, p.Contrast, p.Missing = l.fromDeg, l.highDeg, c, missing
	p.paint(p.Area, val, func(x float32) int { return shadeOf(float64(x), mid, c) })
	sh.note = o.note(l, c, missing)
	sh.letter(p)
	return p, nil
}

// lengths that a picture may have, in pixels.
const minSide, maxSide = 64, 8192

func (o *Options) check(m *relief.Map) error {
	if o.Width == 0 {
		o.Width = 960
	}
	if o.Height == 0 {
		o.Height = 640
	}
	if o.HighDeg == 0 {
		o.HighDeg = 12
	}
	if o.Missing == "" {
		o.Missing = "no height"
	}
	switch {
	case o.Width < minSide || o.Width > maxSide || o.Height < minSide || o.Height > maxSide:
		return fettle.Errorf(fettle.Invalid, "a picture of %d by %d pixels cannot be made; choose between %d and %d for each side", o.Width, o.Height, minSide, maxSide)
	case !(o.HighDeg >= 1 && o.HighDeg <= 90):
		return fettle.Errorf(fettle.Invalid, "a lamp %g° above the surface does not light it; choose between 1 and 90°, for raking light 8 to 15", o.HighDeg)
	case !(o.Contrast >= 0 && o.Contrast <= 1e4):
		return fettle.Errorf(fettle.Invalid, "a contrast of %g makes no picture; choose a number from 0.1 to 100, or 0 to let the surface decide", o.Contrast)
	case !(o.WideMM >= 0) || math.IsInf(o.WideMM, 0):
		return fettle.Errorf(fettle.Invalid, "a picture %g mm across cannot be made; choose a length above 0", o.WideMM)
	}
	for _, a := range []*float64{o.FromDeg, o.LayDeg} {
		if a != nil && (math.IsNaN(*a) || math.IsInf(*a, 0)) {
			return fettle.Errorf(fettle.Invalid, "the light's direction is not a number; give degrees counter-clockwise from X")
		}
	}
	if o.Middle != nil && (math.IsNaN(o.Middle[0]+o.Middle[1]) || math.IsInf(o.Middle[0]+o.Middle[1], 0)) {
		return fettle.Errorf(fettle.Invalid, "the middle of the picture is not a place; give x and y in mm")
	}
	return checkMap(m)
}

func checkMap(m *relief.Map) error {
	if m == nil || m.W < 1 || m.H < 1 || len(m.Z) != m.W*m.H {
		return empty()
	}
	if !(m.DX > 0 && m.DY > 0) || math.IsInf(m.DX, 0) || math.IsInf(m.DY, 0) || math.IsNaN(m.X0+m.Y0) || math.IsInf(m.X0+m.Y0, 0) {
		return fettle.Errorf(fettle.Invalid, "the surface's cells are %g by %g mm, so no picture can be made at scale; check the spacing in its file", m.DX, m.DY)
	}
	return nil
}

func empty() error {
	return fettle.Errorf(fettle.Invalid, "the surface has no heights where the picture looks, so there is nothing to show; choose another place on it")
}
