package fettle

// MadeBlocks is the answer to "what do I sand this zone with?": the first block's
// file and how it fits, then all that was found.
type MadeBlocks struct {
	File      string   `json:"file"` // empty where no stiff block can follow, or none was to be written
	VolumeMM3 float64  `json:"volume_mm3"`
	Closed    bool     `json:"closed"`
	Fit       BlockFit `json:"fit"`
	Blocks    []Block  `json:"blocks"` // one for each patch, the largest first
}

// MadePocket is the answer to "how do I hold this side?".
type MadePocket struct {
	File string `json:"file"`
	// VolumeMM3 is what is left of both jaws, Closed of both their solids.
	VolumeMM3 float64   `json:"volume_mm3"`
	Closed    bool      `json:"closed"`
	Fit       PocketFit `json:"fit"`
	Pocket    JawPocket `json:"pocket"`
}

// PocketFit is how a part lies in its pocket, measured between the solids.
type PocketFit struct {
	// WantedMM is the clearance asked for, LeastMM the least found: below 0 the part
	// and a jaw share a place.
	WantedMM float64 `json:"wanted_mm"`
	LeastMM  float64 `json:"least_mm"`
}

// MadePlug is the answer to "what keeps media out of this opening?".
type MadePlug struct {
	File      string  `json:"file"`
	VolumeMM3 float64 `json:"volume_mm3"`
	Closed    bool    `json:"closed"`
	Fit       Squeeze `json:"fit"`
	Plug      PlugFit `json:"plug"`
}

// Squeeze is how a plug lies in its opening.
type Squeeze struct {
	MouthMM float64 `json:"mouth_mm"` // wider than the opening
	TipMM   float64 `json:"tip_mm"`   // narrower than it
}
