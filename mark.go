package fettle

// Mark is a pattern that some step left on a zone.
type Mark struct {
	Cause        string   `json:"cause"` // "cusps", "feed marks", "chord facets", "P240 scratches"
	Zone         string   `json:"zone"`
	WavelengthMM float64  `json:"wavelength_mm"`
	Lay          string   `json:"lay"`       // "along X", "crossed", "none"
	HeightUM     Estimate `json:"height_um"` // peak to valley
	RqUM         float64  `json:"rq_um"`
	// DepthUM is what must come off to erase it.
	DepthUM Estimate `json:"depth_um"`
	// Left is the share of the height that is still there, 0 to 1.
	Left float64 `json:"left"`
	// SlopeMrad is the rms slope of what is left.
	SlopeMrad float64 `json:"slope_mrad"`
	// Seen is the chance that an eye finds it in the texture that it lies in.
	Seen Chance `json:"seen"`
	// Says is what becomes of it, where that is worth a word: "the 120 grit still
	// shows", "this long wave follows the media and stays".
	Says string `json:"says,omitempty"`
}
