package mark

import (
	"math"
	"sync"
)

// What decides whether a pattern of slopes is found. A face throws the light of a
// lamp back into a lobe; where the face leans by a slope m the lobe moves, and the
// brightness changes by about m over the width of the lobe, counted in slopes.
// That width comes from the lamp's own size and from the slopes of the fine
// texture, which an eye does not see one by one. The contrast must pass what the eye
// can tell at that pitch, and stand out of the grain of the texture.
const (
	// On a mirror slopes from 0.15 to 1 mrad are what decides a design. Read as the
	// slopes that a tenth and nine tenths of lookers find, they give the middle and
	// the spread of all thresholds: eyes, lamps, distances, and how far the rest of
	// this model can be trusted. The band is derived and not yet calibrated; that the
	// same spread holds on a texture is judgement.
	mirrorLow, mirrorHigh = 0.15, 1 // mrad
	z90                   = 1.2815515655446004

	// contrast is the rms contrast that half of all lookers find at the pitch that
	// the eye sees best: four times the threshold of the laboratory of 0.5 %, since
	// nobody told them where to look. Judgement; only its share of the texture's
	// slope matters, as the mirror's threshold holds the lamp's part. On a mirror it
	// stands for a lamp with edges some 2° wide.
	contrast = 0.02

	// grain is what a texture's own graininess hides, as a share of its rms slope.
	// The brightness of a lobe's worth of fine facets varies from one to the next by
	// most of itself, and it varies at random, so that the part within an octave
	// about a mark of wavelength λ is about the root of λt/λ of that: 0.4 at the usual
	// sixth. An eye that follows lines over several periods does better by two or
	// three times. Judgement, between 0.08 and 0.3.
	grain = 0.15

	// A looker stands off so far.
	lookMM = 400
	// octave is the spread of the wavelength, as standard deviation of its natural
	// logarithm, over which the eye's sensitivity is taken: no pattern on a face is a
	// pure sine, and lookers come closer. Judgement.
	octave = math.Ln2
)

var (
	mirror = math.Sqrt(mirrorLow * mirrorHigh) // mrad
	logSD  = math.Log(mirrorHigh/mirrorLow) / (2 * z90)
)

// Threshold is the rms slope in mrad of a pattern that half of all lookers find
// under a shop's lamps at arm's length, on a texture of the given rms slope in mrad
// (0 for a mirror):
//
//	√((0.39·b)² + (0.02·b·texture)² + (0.15·texture)²)
//
// with b the loss of the eye at that wavelength, 1 at best: the reciprocal of the
// contrast sensitivity 2.6·(0.0192 + 0.114 f)·exp(−(0.114 f)^1.1) at f cycles per
// degree (J. L. Mannos and D. J. Sakrison, IEEE Trans. Inf. Theory 20 (1974) 525;
// form from memory), at 400 mm and taken over an octave. Lowest for wavelengths of
// half a millimetre to two; four times as high at 0.12 mm. The first term is the
// design band of a mirror, the second the width of the lobe of light, the third
// the grain of the texture; see the constants for what is judgement. It holds for
// textures much finer than the pattern; a coarse one hides more.
func Threshold(wavelengthMM, textureMrad float64) float64 {
	b := loss(wavelengthMM)
	t := math.Max(0, textureMrad)
	eye := b * b * (mirror*mirror + contrast*contrast*t*t)
	return math.Sqrt(eye + grain*grain*t*t)
}

// Seen is the chance, 0 to 1, that an eye finds a pattern of that rms slope and
// wavelength on a texture of that rms slope: log-normal about [Threshold], by a factor
// of 2.6 from half of the lookers to nine tenths of them.
func Seen(slopeMrad, wavelengthMM, textureMrad float64) float64 {
	if !(slopeMrad > 0) {
		return 0
	}
	return phi(math.Log(slopeMrad/Threshold(wavelengthMM, textureMrad)) / logSD)
}

// Hides is the rms slope in mrad at which a pattern is found with that chance: the
// inverse of [Seen]. 0 for a chance of 0 and less, infinite for 1 and more.
func Hides(chance, wavelengthMM, textureMrad float64) float64 {
	if !(chance > 0) {
		return 0
	}
	if chance >= 1 {
		return math.Inf(1)
	}
	z := -math.Sqrt2 * math.Erfcinv(2*chance)
	return Threshold(wavelengthMM, textureMrad) * math.Exp(logSD*z)
}

// sensitivity is the eye's contrast sensitivity over its best, at f cycles per
// degree.
func sensitivity(f float64) float64 {
	return 2.6 * (0.0192 + 0.114*f) * math.Exp(-math.Pow(0.114*f, 1.1))
}

// The loss is tabulated over the logarithm of the wavelength, a hundredth of an
// octave to a step.
const (
	shortest = 0.01 // mm; shorter ones are judged as this one
	longest  = 300  // mm; longer ones likewise
	perLog   = 100 / math.Ln2
)

var losses = sync.OnceValue(func() []float64 {
	// Sensitivities at wavelengths past both ends, to take means over.
	const past = 5 * octave
	from := math.Log(shortest) - past
	n := int((math.Log(longest) - math.Log(shortest) + 2*past) * perLog)
	degree := lookMM * math.Tan(math.Pi/180) // mm
	s2 := make([]float64, n+1)
	for i := range s2 {
		s := sensitivity(degree / math.Exp(from+float64(i)/perLog))
		s2[i] = s * s
	}
	half := int(past * perLog)
	weight := make([]float64, 2*half+1)
	var sum float64
	for i := range weight {
		weight[i] = density(float64(i-half) / perLog / octave)
		sum += weight[i]
	}
	out := make([]float64, n+1-2*half)
	best := 0.0
	for i := range out {
		var v float64
		for k, w := range weight {
			v += w * s2[i+k]
		}
		out[i] = math.Sqrt(v / sum)
		best = math.Max(best, out[i])
	}
	for i, s := range out {
		out[i] = best / s
	}
	return out
})

// loss is how much more contrast an eye needs at a wavelength than where it sees
// best.
func loss(wavelengthMM float64) float64 {
	table := losses()
	at := 0.0
	if wavelengthMM > shortest {
		at = math.Log(wavelengthMM/shortest) * perLog
	}
	i := min(int(at), len(table)-2)
	f := math.Min(1, at-float64(i))
	return table[i] + f*(table[i+1]-table[i])
}
