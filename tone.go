package fettle

// Tone is how a wet charge is run: with more liquid it cuts faster and comes out
// brighter, with less slower and darker.
type Tone string

// The tones; empty is as the trade usually runs it.
const (
	ToneUsual  Tone = ""
	ToneBright Tone = "brighter"
	ToneDark   Tone = "darker"
)

// ToneChoice is what another tone would do to a charge.
type ToneChoice struct {
	Tone       Tone     `json:"tone"`
	WaterL     Estimate `json:"water_l"`
	CompoundML Estimate `json:"compound_ml"`
	Hours      Estimate `json:"hours"`
	Level      string   `json:"level"` // of the water, in words
	Says       string   `json:"says"`
}

// LookHours is when a running charge passes a look, from the surface that went
// in.
type LookHours struct {
	Look  string   `json:"look"`
	Hours Estimate `json:"hours"`
	Never bool     `json:"never"` // this charge does not get there
	Says  string   `json:"says"`
}
