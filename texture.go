package fettle

import (
	"bytes"
	"encoding/json"
	"strconv"
)

// Texture is what a measured or simulated surface comes to by the standards for
// surface texture: ISO 21920-2 for a profile, ISO 25178-2 for a map.
type Texture struct {
	File       string `json:"file"`
	SHA256     string `json:"sha256"`
	Format     string `json:"format"`
	Instrument string `json:"instrument"`
	Creator    string `json:"creator"`
	Date       string `json:"date"`
	Units      string `json:"units"` // of the file's numbers

	Kind         string    `json:"kind"` // profile or map
	Width        int       `json:"width"`
	Height       int       `json:"height"`
	SpacingMM    []float64 `json:"spacing_mm"` // along x, and y for a map
	SizeMM       []float64 `json:"size_mm"`
	MissingShare float64   `json:"missing_share"`

	Evaluation
	Peaks    []Wave           `json:"peaks"` // of a map; strongest first
	Profiles []TextureProfile `json:"profiles"`
	Notes    []string         `json:"notes"`
}

// Evaluation is how a surface was levelled and filtered, and what came out.
type Evaluation struct {
	Form       TextureForm `json:"form"`
	CutoffMM   *float64    `json:"cutoff_mm"` // nil: not filtered
	CutoffFrom string      `json:"cutoff_from"`
	FilterEnds string      `json:"filter_ends"` // kept, dropped, or none without a filter
	Sections   int         `json:"sections,omitempty"`
	SectionMM  float64     `json:"section_mm,omitempty"`
	PeriodMM   *float64    `json:"period_mm"` // spacing of regular marks, nil where there are none
	Parameters Measures    `json:"parameters"`
}

// TextureForm is the form that was taken off before anything was measured.
type TextureForm struct {
	Name     string   `json:"name"` // as it was asked for: plane, poly2
	SlopeX   float64  `json:"slope_x_mm_per_mm"`
	SlopeY   float64  `json:"slope_y_mm_per_mm"`
	RadiusMM *float64 `json:"radius_mm"` // over 0 for a crest, under 0 for a hollow; nil: none or flat
	AxisDeg  *float64 `json:"axis_deg"`  // of a cylinder, from x towards y
	LeftUM   float64  `json:"left_rms_um"`
}

// TextureProfile is one row or column of a map, measured as a profile.
type TextureProfile struct {
	Along string  `json:"along"` // x: a row; y: a column
	Row   int     `json:"row"`   // number of the row or column, from 0
	AtMM  float64 `json:"at_mm"` // its y or x
	Evaluation
}

// Wave is a wave that stands out of a surface: its length, the direction it
// runs in, across its ridges, from x towards y, and its amplitude.
type Wave struct {
	WavelengthMM float64 `json:"wavelength_mm"`
	DirectionDeg float64 `json:"direction_deg"`
	AmplitudeUM  float64 `json:"amplitude_um"`
}

// Measure is a parameter of texture by the name that its standard gives it:
// µm, mm, %, deg, or 1 for a number without unit.
type Measure struct {
	Name  string
	Value float64
	Unit  string
}

// Measures are in the order of the standard.
type Measures []Measure

// Get is the value of that name, and whether there is one.
func (m Measures) Get(name string) (float64, bool) {
	for _, v := range m {
		if v.Name == name {
			return v.Value, true
		}
	}
	return 0, false
}

// MarshalJSON writes one object, {"Ra":{"value":0.4,"unit":"µm"}, …}, in order.
func (m Measures) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, v := range m {
		if i > 0 {
			b.WriteByte(',')
		}
		d, err := json.Marshal(struct {
			Value float64 `json:"value"`
			Unit  string  `json:"unit"`
		}{v.Value, v.Unit})
		if err != nil {
			return nil, err
		}
		b.WriteString(strconv.Quote(v.Name) + ":")
		b.Write(d)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}
