package closeup

import (
	"image/color"
	"math"

	"fettle"
)

// Tint is the metal that a lit surface is shown in. It colours the picture and
// changes no tone: in black and white all tints look alike.
type Tint string

// The tints; the empty one is Grey.
const (
	Grey      Tint = "grey"
	Brass     Tint = "brass"
	Aluminium Tint = "aluminium"
	Titanium  Tint = "titanium"
	Steel     Tint = "steel"
)

// TintOf is the tint of a class of alloys, Grey for an unknown one.
func TintOf(c fettle.HardnessClass) Tint {
	switch c {
	case fettle.ClassBrass:
		return Brass
	case fettle.ClassAluminium:
		return Aluminium
	case fettle.ClassTitanium:
		return Titanium
	case fettle.ClassMildSteel, fettle.ClassStainless, fettle.ClassHardened:
		return Steel
	}
	return Grey
}

// hue and chroma of a tint in OKLab. They are chosen by eye for a lamp of
// daylight.
func (t Tint) hue() (deg, chroma float64) {
	switch t {
	case Brass:
		return 89, 0.090
	case Aluminium:
		return 250, 0.008
	case Titanium:
		return 68, 0.020
	case Steel:
		return 240, 0.016
	}
	return 0, 0
}

// A picture's colours: a ramp for the surface, then greys from black to white
// for what is printed on or beside it.
const (
	rampLen  = 180
	greyLen  = 64
	firstInk = rampLen
	white    = firstInk + greyLen - 1
)

// ink is the index of a grey between 0 (black) and 255.
func ink(v uint8) uint8 { return uint8(firstInk + (int(v)*(greyLen-1)+127)/255) }

func palette(ramp func(t float64) color.NRGBA) color.Palette {
	p := make(color.Palette, 0, rampLen+greyLen)
	for i := range rampLen {
		p = append(p, ramp(float64(i)/(rampLen-1)))
	}
	for i := range greyLen {
		v := uint8(math.Round(255 * float64(i) / (greyLen - 1)))
		p = append(p, color.NRGBA{v, v, v, 255})
	}
	return p
}

// tone is the palette of a lit surface: even steps of lightness, coloured most
// in the middle tones, as a gloss takes the colour of the lamp.
func tone(t Tint) color.Palette {
	hue, chroma := t.hue()
	return palette(func(x float64) color.NRGBA {
		l := midTone + toneReach*(2*x-1)
		c := chroma * (1 - 0.7*x*x) * min(1, l/0.5)
		// Shadows are a little warmer, as one face of the metal lights another.
		return polar(l, c, hue-14*(1-x))
	})
}

// heightRamp runs from a dark blue over green to a light yellow: lightness and
// hue advance evenly, so that a step of height looks the same everywhere, and
// lightness alone carries it for eyes that do not part red from green.
func heightRamp(t float64) color.NRGBA {
	return polar(0.30+0.62*t, 0.095+0.03*t, 285-183*t)
}

// signedRamp is light at zero and darkens evenly to blue below it and to brown
// above.
func signedRamp(t float64) color.NRGBA {
	s := 2*t - 1
	if s < 0 {
		return polar(0.955+0.545*s, -0.135*s, 255)
	}
	return polar(0.955-0.545*s, 0.125*s, 52)
}

// polar is a colour given as lightness, chroma and hue in OKLab (B. Ottosson, A
// perceptual color space for image processing, 2020), less coloured where the
// screen has no such colour.
func polar(l, c, hueDeg float64) color.NRGBA {
	s, co := math.Sincos(hueDeg * math.Pi / 180)
	for {
		r, g, b := linear(l, c*co, c*s)
		const slack = 1e-3
		if c < 1e-4 || min(r, g, b) > -slack && max(r, g, b) < 1+slack {
			return color.NRGBA{encode(r), encode(g), encode(b), 255}
		}
		c *= 0.98
	}
}

// linear is a colour of OKLab as linear sRGB.
func linear(l, a, b float64) (red, green, blue float64) {
	x := l + 0.3963377774*a + 0.2158037573*b
	y := l - 0.1055613458*a - 0.0638541728*b
	z := l - 0.0894841775*a - 1.2914855480*b
	x, y, z = x*x*x, y*y*y, z*z*z
	return 4.0767416621*x - 3.3077115913*y + 0.2309699292*z,
		-1.2684380046*x + 2.6097574011*y - 0.3413193965*z,
		-0.0041960863*x - 0.7034186147*y + 1.7076147010*z
}

// encode is a linear share of light as sRGB (IEC 61966-2-1).
func encode(v float64) uint8 {
	v = min(1, max(0, v))
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * v))
}
