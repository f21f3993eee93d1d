package closeup

import (
	"image"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/relief"
)

// HeightOptions say how a map of heights is shown.
type HeightOptions struct {
	Options
	// Signed is for differences, such as the surface left against the surface
	// wanted: zero is light, above it brown, below it blue and dotted, so that
	// the sign survives black and white.
	Signed bool
	// LowUM and HighUM are the ends of the scale; both 0 means from the heights
	// themselves. Heights beyond an end take its colour.
	LowUM, HighUM float64
	// Below and Above say what the ends mean, such as "gouged" and "left on".
	Below, Above string
	// Note is what the small print says first; empty means "heights as colours".
	Note string
}

// Colour shows heights as colours, with the scale printed under the map in µm,
// or µin and thou for a shop that reads inches. Where a pixel holds several
// cells their mean is shown. Heights are those over the map's base if Signed,
// otherwise over the lowest shown. Light, lay and contrast are not used. Errors
// are those of [Light].
func Colour(m *relief.Map, o HeightOptions) (*Picture, error) {
	if err := o.check(m); err != nil {
		return nil, err
	}
	if !(o.LowUM <= o.HighUM) || math.IsInf(o.HighUM-o.LowUM, 0) {
		return nil, fettle.Errorf(fettle.Invalid, "a scale of heights from %g to %g µm cannot be drawn; give its lower end first", o.LowUM, o.HighUM)
	}
	if o.Note == "" {
		o.Note = "heights as colours"
	}
	sc := &scale{o: &o}
	sh := &sheet{o: &o.Options, scale: sc, caption: o.Caption, note: o.Note + o.hatched(0.5)}
	v, err := sh.plan(m)
	if err != nil {
		return nil, err
	}
	val := v.heights(m)
	missing, low, high := 0, math.Inf(1), math.Inf(-1)
	for _, z := range val {
		if z != z {
			missing++
			continue
		}
		low, high = min(low, float64(z)), max(high, float64(z))
	}
	if missing == len(val) {
		return nil, empty()
	}
	zero := low
	if o.Signed {
		zero = -m.Base
	}
	for i, z := range val { // to µm over zero
		val[i] = float32((float64(z) - zero) * 1000)
	}
	sc.low, sc.high = o.LowUM, o.HighUM
	if sc.low == 0 && sc.high == 0 {
		sc.low, sc.high = ends(val, o.Signed)
	}
	ramp := heightRamp
	if o.Signed {
		ramp = signedRamp
	}
	p := newPicture(sh.w, sh.h, palette(ramp))
	p.place(v, image.Rect(0, 0, v.w, v.h))
	p.LowUM, p.HighUM, p.Missing = sc.low, sc.high, float64(missing)/float64(len(val))
	p.paint(p.Area, val, func(z float32) int { return sc.at(float64(z)) })
	if o.Signed {
		p.dots(p.Area, val, sc)
	}
	sh.note = o.Note + o.hatched(p.Missing)
	sh.letter(p)
	return p, nil
}

// ends are round ends for a scale that leaves out no more than the outermost
// thousandth of the heights on either side; the same below and above zero for
// signed ones.
func ends(val []float32, signed bool) (low, high float64) {
	var z []float64
	step := max(1, len(val)>>16)
	for i := 0; i < len(val); i += step {
		if v := val[i]; v == v {
			z = append(z, float64(v))
		}
	}
	if len(z) == 0 {
		return -1, 1
	}
	slices.Sort(z)
	cut := len(z) / 1000
	low, high = z[cut], z[len(z)-1-cut]
	if signed {
		m := roundUp(max(math.Abs(low), math.Abs(high)))
		return -m, m
	}
	return 0, roundUp(high)
}

// roundUp is the next of 1, 1.2, 1.5, 2 … times a power of ten; 1 nm is the
// least that a scale shows.
func roundUp(v float64) float64 {
	v = max(v, 1e-3)
	for _, f := range []float64{1, 1.1, 1.2, 1.3, 1.5, 1.7} {
		if n := roundDown(v*f, []float64{1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8}); n >= v*(1-1e-9) {
			return n
		}
	}
	return v
}

// dots marks what lies below zero by a pattern that is darker or lighter than
// its ground: by more than a fortieth of the scale, so that noise has none.
func (p *Picture) dots(area image.Rectangle, val []float32, sc *scale) {
	pitch := max(5, int(em(p.Bounds().Dx()))/2)
	r := max(1, pitch/5)
	floor := -(sc.high - sc.low) / 40
	w := area.Dx()
	for j := range area.Dy() {
		jj := j % pitch
		if jj > r {
			continue
		}
		for i := range w {
			// Every second row of dots stands between those above it.
			ii := (i + (j/pitch)%2*(pitch/2)) % pitch
			if ii > r || !(float64(val[j*w+i]) < floor) {
				continue
			}
			shade := uint8(40)
			if sc.at(float64(val[j*w+i])) < rampLen/5 {
				shade = 235
			}
			p.Pix[p.PixOffset(area.Min.X+i, area.Min.Y+j)] = ink(shade)
		}
	}
}

// scale is the ribbon of colours with its numbers.
type scale struct {
	o         *HeightOptions
	low, high float64 // µm
}

// at is the colour of a height as an index into the ramp.
func (s *scale) at(um float64) int {
	t := 0.5
	if s.high > s.low {
		t = min(1, max(0, (um-s.low)/(s.high-s.low)))
	}
	if s.o.Signed && s.low < 0 && s.high > 0 {
		// Zero is in the middle of the ramp, whatever the ends.
		if t = 0.5 + 0.5*min(1, um/s.high); um < 0 {
			t = 0.5 - 0.5*min(1, um/s.low)
		}
	}
	return int(math.Round(t * (rampLen - 1)))
}

// row draws the ribbon between x0 and x1 from y on and is the y below it.
func (s *scale) row(sh *sheet, d *desk, x0, x1, y float64) float64 {
	e := sh.hand.em
	if d == nil {
		return y + 3*e
	}
	per, unit := 1.0, "µm"
	if s.o.Display == fettle.Inch {
		per, unit = 25.4, "thou"
		if s.high-s.low < 25.4 {
			per, unit = 0.0254, "µin"
		}
	}
	lead, tail := s.o.Below, s.o.Above
	left, right := x0, x1-sh.hand.wide(unit, false)-1.2*e
	if lead != "" {
		left += sh.hand.wide(lead, false) + 0.6*e
		sh.hand.write(d.Gray, x0, y+1.1*e, lead, false, 0)
	}
	if tail != "" {
		right = x1 - sh.hand.wide(tail, false) - 0.6*e
		sh.hand.write(d.Gray, x1-sh.hand.wide(tail, false), y+1.1*e, tail, false, 0)
	}
	left, right = math.Round(max(left, x0+1.5*e)), math.Round(min(right, x1-1.5*e))
	if right-left < 4*e {
		return y + 3*e
	}
	x := func(um float64) float64 { return left + (um-s.low)/(s.high-s.low)*(right-left) }
	top, bottom := math.Round(y+0.3*e), math.Round(y+1.25*e)
	list := ticks(s.low/per, s.high/per, max(2, int((right-left)/(5*e))))
	for k, t := range list {
		at := x(t.v * per)
		fill(d.Gray, 0, at-0.6, bottom, at+0.6, bottom, at+0.6, bottom+0.3*e, at-0.6, bottom+0.3*e)
		text := t.text
		if k == len(list)-1 {
			text += " " + unit
		}
		wide := sh.hand.wide(t.text, false)
		sh.hand.write(d.Gray, at-wide/2, bottom+1.25*e, text, false, 0)
	}
	// The ribbon itself is in colour: on the picture, beside the grey sheet.
	d.ribbon = func(p *Picture, topRow int) {
		area := image.Rect(int(left), topRow+int(top), int(right), topRow+int(bottom))
		n := area.Dx() * area.Dy()
		val := make([]float32, n)
		for i := range val {
			val[i] = float32(s.low + (float64(i%area.Dx())+0.5)/float64(area.Dx())*(s.high-s.low))
		}
		p.paint(area, val, func(z float32) int { return s.at(float64(z)) })
		if s.o.Signed {
			p.dots(area, val, s)
		}
	}
	return y + 3*e
}
