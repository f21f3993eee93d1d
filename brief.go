package fettle

import "math"

// Brief is what the customer wants of a part, and what the shop was told about
// it. It is what a brief file holds.
type Brief struct {
	Material string `json:"material"`
	Finish   string `json:"finish"`
	Lot      int    `json:"lot"`
	// Units of the model file where it does not say ("mm", "inch", "m").
	ModelUnits string `json:"model_units,omitempty"`
	// Body of the model file where it holds several, by its name or number.
	Body string `json:"body,omitempty"`
	// Up is the direction the show face looks towards; zero means the program
	// proposes one.
	Up [3]float64 `json:"up,omitzero"`
	// Show, Plain and Hidden override the class of zones by id.
	Show   []string `json:"show,omitempty"`
	Plain  []string `json:"plain,omitempty"`
	Hidden []string `json:"hidden,omitempty"`
	// RaMaxUM and RzMaxUM are limits from the drawing; they win over the look.
	RaMaxUM float64 `json:"ra_max_um,omitempty"`
	RzMaxUM float64 `json:"rz_max_um,omitempty"`
	// EdgeMaxUM is the largest edge radius the drawing allows.
	EdgeMaxUM float64 `json:"edge_max_um,omitempty"`
	// ToleranceUM is the CAM chord tolerance of the finishing pass.
	ToleranceUM float64 `json:"tolerance_um,omitempty"`
	// Aim is what the route is chosen for; empty means least money.
	Aim Aim `json:"aim,omitempty"`
	// Steps keep, drop or replace steps; the rest is solved again.
	Steps []StepWish `json:"steps,omitempty"`
	// SetAside names rules of the trade that shall not hold here, by id.
	SetAside []string `json:"set_aside,omitempty"`
	// Learning is the rate of learning by hand over this lot, in the place of the
	// shop's; 1 for none, 0 for the shop's.
	Learning float64 `json:"learning,omitempty"`
	// Tone asks for brighter or darker charges than the finish's own.
	Tone    Tone   `json:"tone,omitempty"`
	Title   string `json:"title,omitempty"` // the job's name on paper
	Shop    string `json:"shop,omitempty"`
	Contact string `json:"contact,omitempty"` // of the shop: an e-mail address or a telephone number
	Display System `json:"display,omitempty"`
	// Language of papers and pages, a BCP 47 tag; empty means English.
	Language string `json:"language,omitempty"`
	Notes    string `json:"notes,omitempty"`
}

// Validate checks the brief on its own, without the shelf.
func (b Brief) Validate() error {
	switch {
	case b.Material == "":
		return Errorf(Invalid, "the brief names no material; give --material, for example --material \"naval brass\"")
	case b.Finish == "":
		return Errorf(Invalid, "the brief names no finish; give --finish, for example --finish satin")
	case b.Lot < 1 || b.Lot > 1_000_000:
		return Errorf(Invalid, "a lot of %d pieces cannot be planned; give --lot between 1 and 1000000", b.Lot)
	case b.Display != "" && b.Display != Metric && b.Display != Inch:
		return Errorf(Invalid, "display units %q are not known; choose metric or inch", b.Display)
	}
	switch b.Aim {
	case "", LeastMoney, Soonest, Surest:
	default:
		return Errorf(Invalid, "the aim %q is not known; choose %s, %s or %s", b.Aim, LeastMoney, Soonest, Surest)
	}
	switch b.Tone {
	case ToneUsual, ToneBright, ToneDark:
	default:
		return Errorf(Invalid, "the tone %q is not known; choose %s or %s, or leave it out", b.Tone, ToneBright, ToneDark)
	}
	if !(b.Learning == 0 || b.Learning > leastLearning && b.Learning <= 1) {
		return Errorf(Invalid, "learning in the brief is %g; it must be above 0.5 and up to 1, or be left out for the shop's own", b.Learning)
	}
	for _, q := range []struct {
		name string
		v    float64
	}{
		{"ra_max_um", b.RaMaxUM}, {"rz_max_um", b.RzMaxUM}, {"edge_max_um", b.EdgeMaxUM}, {"tolerance_um", b.ToleranceUM},
		{"up x", math.Abs(b.Up[0])}, {"up y", math.Abs(b.Up[1])}, {"up z", math.Abs(b.Up[2])},
	} {
		if math.IsNaN(q.v) || math.IsInf(q.v, 0) || q.v < 0 {
			return Errorf(Invalid, "%s in the brief is %g; it must be zero (not given) or positive", q.name, q.v)
		}
	}
	return nil
}
