package fettle

// Soft is a soft material to make plugs of.
type Soft struct {
	Name   string  `json:"name"`
	Title  string  `json:"title"`
	ShoreA float64 `json:"shore_a"`
	// Squeeze is how much wider than its opening a plug is made, as a share.
	Squeeze Estimate `json:"squeeze"`
	// LeastMM is the thinnest wall or tip that comes out well.
	LeastMM float64 `json:"least_mm"`
	Printed bool    `json:"printed"` // else cast or cut
	Says    string  `json:"says"`    // what it stands, in a sentence
	Basis   string  `json:"basis"`
}

// PlugFit is a plug made for an opening.
type PlugFit struct {
	Part    string     `json:"part"`
	Opening string     `json:"opening"`
	Soft    string     `json:"soft"`
	Form    string     `json:"form"` // "round", "slot", "keyhole", "rounded rectangle"
	Through bool       `json:"through"`
	Steps   []PlugStep `json:"steps"` // from the head down
	// MouthSqueezeMM is how much wider the plug is than the opening at the mouth,
	// TipPlayMM how much narrower at its tip.
	MouthSqueezeMM float64    `json:"mouth_squeeze_mm"`
	TipPlayMM      float64    `json:"tip_play_mm"`
	SizeMM         [3]float64 `json:"size_mm"`
	TaperDeg       float64    `json:"taper_deg"`
	VolumeMM3      float64    `json:"volume_mm3"`
	Closed         bool       `json:"closed"`
	Do             string     `json:"do"`
	Says           string     `json:"says"`
	Warnings       []string   `json:"warnings"`
}

// PlugStep is one length of a plug: its widths at the upper and the lower end.
type PlugStep struct {
	Name     string     `json:"name"` // "pull tab", "head", "collar", "shank", "tip"
	LongMM   float64    `json:"long_mm"`
	WideMM   [2]float64 `json:"wide_mm"`   // the narrow way across: above, below
	AcrossMM [2]float64 `json:"across_mm"` // the long way across
}
