package mark

import (
	"math"
)

// Specular is the share of the light thrown back that goes as from a mirror, at an
// angle from the normal in degrees and a wavelength in nm: exp(−(4π·Rq·cos θ/λ)²)
// (H. E. Bennett and J. O. Porteus, J. Opt. Soc. Am. 51 (1961) 123). It holds for Rq
// up to about 0.1 µm in visible light; beyond, nothing is left of it and slopes
// govern.
func Specular(rqUM, angleDeg, wavelengthNM float64) float64 {
	p := 4 * math.Pi * rqUM * 1000 * math.Cos(angleDeg*math.Pi/180) / wavelengthNM
	return math.Exp(-p * p)
}

// normalRq is Rq over Ra for normal heights.
var normalRq = math.Sqrt(math.Pi / 2)

// TextureSlope is the rms slope in mrad of a random fine texture with that Ra in µm
// and dominant wavelength in mm: 2π·Rq/λ, with λ the rms average wavelength, for
// normal heights.
func TextureSlope(raUM, wavelengthMM float64) float64 {
	if raUM <= 0 || wavelengthMM <= 0 {
		return 0
	}
	return 2 * math.Pi * normalRq * raUM / wavelengthMM
}

const (
	// How a looker holds a part against the light.
	lookDeg = 45
	lookNM  = 550 // green, where an eye sees brightest
	// usualMM is the wavelength of texture that the grain of [Threshold] is said for:
	// a sixth of that of cusps.
	usualMM = 0.05
)

// MaskingSlope is the slope, mrad, that a fine texture of that Ra in µm and dominant
// wavelength in mm counts with in [Threshold], [Seen] and [Hides]: that of
// [TextureSlope], less for two reasons. Light that a fine face throws back as a
// mirror does not know of its slopes, and a slope squared weighs as much as the
// light in its lobe: the root of the share that is scattered, at 45° and 550 nm.
// And a finer texture is less grainy at the pitch of a mark, a coarser one more: the
// root of its wavelength over 0.05 mm (judgement, see the grain of Threshold).
func MaskingSlope(raUM, wavelengthMM float64) float64 {
	if raUM <= 0 || wavelengthMM <= 0 {
		return 0
	}
	scattered := 1 - Specular(normalRq*raUM, lookDeg, lookNM)
	return TextureSlope(raUM, wavelengthMM) * math.Sqrt(scattered*wavelengthMM/usualMM)
}
