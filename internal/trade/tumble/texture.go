package tumble

import (
	"math"

	"fettle"
)

// wavelengths of the texture that usual pieces of each kind leave at their limit,
// mm: the middle distance between dents and scratches. Starting guesses from the
// order of slopes that a face then has, 2π·Rq over the wavelength: ceramic and
// plastic 40 to 80 mrad and matte, porcelain and steel about 25 and bright. The
// grains of a paste scratch only micrometres apart, but the roughness at the limit of
// cob is that of longer unevenness under a soft cushion.
var wavelengths = map[fettle.MediaKind]float64{
	fettle.CeramicFast:    0.080,
	fettle.CeramicGeneral: 0.060,
	fettle.CeramicFine:    0.040,
	fettle.PlasticGeneral: 0.050,
	fettle.PlasticFine:    0.040,
	fettle.Porcelain:      0.030,
	fettle.Steel:          0.040,
	fettle.Cob:            0.020,
	fettle.Walnut:         0.020,
}

// Texture is the dominant wavelength in mm of the texture that media leave, at
// their size now. It goes with size as the limit of roughness does, so that a worn
// piece leaves a finer pattern of the same slope. Kinds that are not known leave
// that of general ceramic.
func Texture(m fettle.Media) float64 {
	w, ok := wavelengths[m.Kind]
	if !ok {
		w = wavelengths[fettle.CeramicGeneral]
	}
	return w * math.Pow(sizeFactor(m), limitBySize)
}

// Contact is the length in mm over which a piece bears on a face and levels what
// is shorter: about its size as it is now.
func Contact(m fettle.Media) float64 { return ShareNow(m) * middleMM(m) }
