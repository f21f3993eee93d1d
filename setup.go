package fettle

import (
	"math"
	"strconv"
	"strings"
)

// Setup is how a program is meant to run: which mill, which offset and where
// its zero lies on the part, what stock is in which jaws, and which cutter is
// behind which tool number. It is what a set-up file holds; every field may be
// left out, and then nothing is checked against it.
//
// "Program coordinates" are those of the work offset: what the readout shows.
type Setup struct {
	Title    string `json:"title,omitempty"`
	Mill     string `json:"mill,omitempty"`     // on the shelf; empty: the first
	Material string `json:"material,omitempty"` // on the shelf; empty: no cutting data
	// Offset is the work offset that was set: "G54", "G54.1 P3"; empty: any.
	Offset string `json:"offset,omitempty"`
	// Zero is the point of the model, in the model's own mm, that is the program's
	// zero.
	Zero [3]float64 `json:"zero_mm"`
	// Up is the direction of the model that looks at the spindle; zero means Z.
	Up [3]float64 `json:"up,omitzero"`
	// TurnDeg turns the part about the spindle's axis, anticlockwise as seen from
	// the spindle. At 0 the program's X lies along the model's X (along its Y
	// where up is X).
	TurnDeg float64     `json:"turn_deg,omitempty"`
	Stock   *SetupStock `json:"stock,omitempty"`
	Jaws    *SetupJaws  `json:"jaws,omitempty"`
	// Blocks are other things that stand on the table: stops, clamps, parallels.
	Blocks []SetupBlock `json:"blocks,omitempty"`
	// MachineZero is where the program's zero lies in the mill's travel, measured
	// from the lower end of each axis, mm.
	MachineZero *[3]float64 `json:"machine_zero_mm,omitempty"`
	// SafeZ is the height, in program coordinates, above which rapids are meant
	// to run.
	SafeZ *float64 `json:"safe_z_mm,omitempty"`
	// ToleranceMM is how far below the part a cutter may go before it counts as a
	// gouge; 0: 0.02.
	ToleranceMM float64 `json:"tolerance_mm,omitempty"`
	// Tools by their number: "T1", "T12".
	Tools map[string]SetupTool `json:"tools,omitempty"`
}

// SetupStock is the blank in program coordinates: either its box, or what it
// has over the part on each side. Saw-cut sides are longer still.
type SetupStock struct {
	Lo *[3]float64 `json:"lo_mm,omitempty"`
	Hi *[3]float64 `json:"hi_mm,omitempty"`
	// Over is the allowance over the part: x-, x+, y-, y+, z-, z+.
	Over *[6]float64 `json:"over_mm,omitempty"`
	// SawCutMM is what a sawn side really has beyond that, and Sawn the sides
	// ("x-", "x+", "y-", "y+"); none named means both ends of the longer side.
	SawCutMM float64  `json:"saw_cut_mm,omitempty"`
	Sawn     []string `json:"sawn,omitempty"`
}

// SetupJaws is a pair of jaws as they stand, in program coordinates.
type SetupJaws struct {
	Name string `json:"name,omitempty"` // on the shelf; gives width, height and thickness
	// Axis is the one that the jaws close along: "x" or "y" (the default).
	Axis      string     `json:"axis,omitempty"`
	OpeningMM float64    `json:"opening_mm"`         // between the jaws' faces
	Centre    [2]float64 `json:"centre_mm,omitzero"` // of the opening
	TopMM     float64    `json:"top_mm"`             // Z of their top
	WidthMM   float64    `json:"width_mm,omitempty"`
	HeightMM  float64    `json:"height_mm,omitempty"`
	ThickMM   float64    `json:"thick_mm,omitempty"`
}

// SetupBlock is a box that nothing may touch, in program coordinates.
type SetupBlock struct {
	Name string     `json:"name"`
	Lo   [3]float64 `json:"lo_mm"`
	Hi   [3]float64 `json:"hi_mm"`
}

// SetupTool is what is in the holder of one tool number.
type SetupTool struct {
	// Cutter is a name on the shelf ("ball-6") or sizes in mm: "ball:6",
	// "flat:10", "bull:10:1".
	Cutter   string  `json:"cutter"`
	H        int     `json:"h,omitempty"`            // length register; 0: the tool's number
	StickOut float64 `json:"stick_out_mm,omitempty"` // below the holder; 0: the cutter's reach
	HolderMM float64 `json:"holder_mm,omitempty"`    // diameter of the holder; 0: not checked
	Flutes   int     `json:"flutes,omitempty"`
	RPM      float64 `json:"rpm,omitempty"`         // expected; 0: any
	Feed     float64 `json:"feed_mm_min,omitempty"` // expected for cutting; 0: any
	// Plunges is true for a flat cutter whose teeth reach its centre.
	Plunges bool `json:"plunges,omitempty"`
}

// Validate checks a set-up on its own, without shelf, part and program.
func (s Setup) Validate() error {
	if err := finiteAll(s.Zero[0], s.Zero[1], s.Zero[2], s.Up[0], s.Up[1], s.Up[2], s.TurnDeg, s.ToleranceMM); err != nil {
		return Errorf(Invalid, "the set-up's zero, up, turn or tolerance: %w", err)
	}
	if s.ToleranceMM < 0 {
		return Errorf(Invalid, "tolerance_mm in the set-up is %g; leave it out or give a depth above zero", s.ToleranceMM)
	}
	if st := s.Stock; st != nil {
		if err := st.validate(); err != nil {
			return err
		}
	}
	if j := s.Jaws; j != nil {
		if err := finiteAll(j.OpeningMM, j.Centre[0], j.Centre[1], j.TopMM, j.WidthMM, j.HeightMM, j.ThickMM); err != nil {
			return Errorf(Invalid, "the set-up's jaws: %w", err)
		}
		if j.Axis != "" && j.Axis != "x" && j.Axis != "y" {
			return Errorf(Invalid, "the set-up's jaws close along %q; axis is \"x\" or \"y\"", j.Axis)
		}
		if !(j.OpeningMM > 0) || j.WidthMM < 0 || j.HeightMM < 0 || j.ThickMM < 0 {
			return Errorf(Invalid, "the set-up's jaws need opening_mm above zero; width_mm, height_mm and thick_mm may be left out where their name is on the shelf")
		}
	}
	for _, b := range s.Blocks {
		for k := range 3 {
			if !(b.Lo[k] < b.Hi[k]) || finiteAll(b.Lo[k], b.Hi[k]) != nil {
				return Errorf(Invalid, "block %q in the set-up needs lo_mm below hi_mm on every axis", b.Name)
			}
		}
	}
	for name, t := range s.Tools {
		if _, err := ToolNumber(name); err != nil {
			return err
		}
		if t.Cutter == "" {
			return Errorf(Invalid, "tool %s in the set-up has no cutter; give \"cutter\": \"ball:6\" or a name on the shelf", name)
		}
		if err := finiteAll(t.StickOut, t.HolderMM, t.RPM, t.Feed); err != nil || t.StickOut < 0 || t.HolderMM < 0 || t.RPM < 0 || t.Feed < 0 || t.Flutes < 0 || t.H < 0 {
			return Errorf(Invalid, "tool %s in the set-up has a number below zero or none at all; leave out what is not known", name)
		}
	}
	return nil
}

func (s SetupStock) validate() error {
	if (s.Lo == nil) != (s.Hi == nil) || (s.Lo == nil) == (s.Over == nil) {
		return Errorf(Invalid, "the set-up's stock needs lo_mm and hi_mm, or over_mm with six allowances over the part (x-, x+, y-, y+, z-, z+)")
	}
	if s.Lo != nil {
		for k := range 3 {
			if !(s.Lo[k] < s.Hi[k]) || finiteAll(s.Lo[k], s.Hi[k]) != nil {
				return Errorf(Invalid, "the set-up's stock runs from %g to %g mm on axis %c; lo_mm must be below hi_mm", s.Lo[k], s.Hi[k], 'X'+k)
			}
		}
	} else if err := finiteAll(s.Over[:]...); err != nil {
		return Errorf(Invalid, "the set-up's over_mm: %w", err)
	}
	if !(s.SawCutMM >= 0) || math.IsInf(s.SawCutMM, 0) {
		return Errorf(Invalid, "saw_cut_mm in the set-up is %g; leave it out or give a length", s.SawCutMM)
	}
	for _, side := range s.Sawn {
		switch side {
		case "x-", "x+", "y-", "y+":
		default:
			return Errorf(Invalid, "sawn side %q in the set-up is not known; use x-, x+, y- or y+", side)
		}
	}
	return nil
}

// ToolNumber reads "T1", "t01" or "1".
func ToolNumber(name string) (int, error) {
	n, err := strconv.Atoi(strings.TrimLeft(strings.TrimSpace(name), "Tt"))
	if err != nil || n < 0 || n > 99_999_999 {
		return 0, Errorf(Invalid, "tool %q has no number; name tools T1, T2 and so on", name)
	}
	return n, nil
}

// ParseCutter reads sizes in mm: "ball:6", "flat:10", "bull:10:1" (diameter,
// then corner radius). ok is false where the text has no colon and so must be a
// name on the shelf.
func ParseCutter(text string) (c Cutter, ok bool, err error) {
	shape, sizes, ok := strings.Cut(strings.TrimSpace(text), ":")
	if !ok {
		return Cutter{}, false, nil
	}
	bad := func() error {
		return Errorf(Invalid, "cutter %q is not understood; give ball:6, flat:10 or bull:10:1 (diameter and corner radius in mm)", text)
	}
	var v []float64
	for _, f := range strings.Split(sizes, ":") {
		x, err := strconv.ParseFloat(strings.TrimSpace(f), 64)
		if err != nil || !(x > 0) || x > 500 {
			return Cutter{}, true, bad()
		}
		v = append(v, x)
	}
	c = Cutter{Name: text, Title: text, Shape: CutterShape(strings.ToLower(strings.TrimSpace(shape))), DiameterMM: v[0], Basis: "given"}
	switch {
	case c.Shape == Ball && len(v) == 1:
		c.CornerMM = v[0] / 2
	case c.Shape == Flat && len(v) == 1:
	case c.Shape == Bull && len(v) == 2 && v[1] <= v[0]/2:
		c.CornerMM = v[1]
	default:
		return Cutter{}, true, bad()
	}
	return c, true, nil
}

func finiteAll(vs ...float64) error {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 1e6 {
			return Errorf(Invalid, "%g is not a length or angle of this world", v)
		}
	}
	return nil
}
