package sampling

import (
	"math"
	"strings"
	"time"

	"fettle"
)

// AcceptInput is what an acceptance is made from.
type AcceptInput struct {
	Plan *fettle.Plan
	// Look is the finish that the customer agreed to; empty for the plan's.
	Look string
	// Sample is the run that made the signed-off sample, with what was read on it; nil
	// while there is none. SampleID names it, empty for the run's own id.
	Sample   *fettle.Run
	SampleID string
	Day      string // of the signature, an RFC 3339 full-date; empty without a sample
	Lot      int    // pieces; 0 for the brief's
	AQL      float64
	Level    string
	Severity string
	// General is the class of general tolerances that the drawing names (ISO 2768-1: "f",
	// "m", "c" or "v"); empty where it names none. A tolerance beside a size wins over it.
	General string
}

// Accept says what "right" means for a lot: the limits that the sample sets, the
// sampling plan and an empty record of the first article. The error is Invalid.
//
// # Width of a limit
//
// A limit holds where one further reading of the same face would fall 95 times in
// 100, for a logarithm of roughness or gloss with mean m of n readings:
//
//	m ± z·σ·√(1 + 1/n)                     n < 3, z = 1.96
//	m ± t(0.975; ν)·s·√(1 + 1/n)           n ≥ 3
//	s² = (3σ² + (n−1)·s₁²)/ν, ν = 3 + n − 1
//
// with the natural scatter σ of the kind of reading and the spread s₁ of the sample's
// own: a prediction interval for one future observation (G. J. Hahn and W. Q. Meeker,
// Statistical Intervals, 1991, section 4.7), whose spread counts the natural scatter
// as three readings (a scaled inverse χ² prior; A. Gelman et al., Bayesian Data
// Analysis, chapter 3). The drawing cuts it off, and so does the look's band while the
// sample lies within that.
func Accept(in AcceptInput) (fettle.Acceptance, error) {
	none := fettle.Acceptance{}
	if in.Plan == nil {
		return none, fettle.Errorf(fettle.Invalid, "an acceptance needs a plan; plan the part first")
	}
	p := in.Plan
	look := strings.TrimSpace(in.Look)
	if look == "" {
		look = p.Look.Name
	}
	if p.Look.Name != "" && !strings.EqualFold(look, p.Look.Name) && !strings.EqualFold(look, p.Look.Title) {
		return none, fettle.Errorf(fettle.Invalid, "the plan is for %s, not for %s; plan the part with the finish that was agreed to", p.Look.Name, look)
	}
	if err := checkPlan(p); err != nil {
		return none, err
	}
	if err := checkSample(in); err != nil {
		return none, err
	}
	if in.Lot < 0 {
		return none, fettle.Errorf(fettle.Invalid, "a lot of %d pieces cannot be accepted; give at least 1", in.Lot)
	}
	lot := in.Lot
	if lot == 0 {
		lot = max(1, p.Brief.Lot)
	}
	plan, err := Plan(lot, in.Level, in.AQL, in.Severity)
	if err != nil {
		return none, err
	}
	general, err := parseGeneral(in.General)
	if err != nil {
		return none, err
	}
	a := fettle.Acceptance{Look: look, Day: in.Day, Sampling: plan, Display: p.Brief.Display}
	if a.Display == "" {
		a.Display = fettle.Metric
	}
	if in.Sample != nil {
		a.Sample = in.Sample.ID
		if in.SampleID != "" {
			a.Sample = in.SampleID
		}
	}
	l := limiter{plan: p, sys: a.Display}
	if in.Sample != nil {
		l.readings = in.Sample.Readings
		if in.Sample.Material != "" && p.Material.Name != "" && !strings.EqualFold(in.Sample.Material, p.Material.Name) {
			l.note("The sample is of %s, the lot of %s: another metal takes another finish.", in.Sample.Material, p.Material.Name)
		}
	} else {
		l.note("No sample was signed off yet: the limits are those of the look and the drawing, and the customer has not seen them on metal.")
	}
	a.Limits = l.limits()
	f := firsts{plan: p, sys: a.Display, limits: a.Limits, general: general}
	a.First = f.lines()
	a.Notes = append(append(l.notes, f.notes...), seeing(plan)...)
	return a, nil
}

// checkSample refuses readings that cannot be.
func checkSample(in AcceptInput) error {
	if in.Day != "" {
		if _, err := time.Parse(time.DateOnly, in.Day); err != nil {
			return fettle.Errorf(fettle.Invalid, "the day %q is not a date; write it as 2006-01-02", in.Day)
		}
	}
	if in.Sample == nil {
		if in.SampleID != "" {
			return fettle.Errorf(fettle.Invalid, "the sample %s comes without the run that made it; give the run, or no sample", in.SampleID)
		}
		return nil
	}
	if in.Day == "" {
		return fettle.Errorf(fettle.Invalid, "a signed-off sample has a day; say on which it was signed")
	}
	return checkReadings(in.Sample.Readings)
}

// least and most are what a reading can be, by kind: outside them a slip of the pen is
// likelier than the thing.
var bounds = map[fettle.ReadingKind][2]float64{
	fettle.ReadRa: {0.001, 100}, fettle.ReadRz: {0.005, 1000}, fettle.ReadSq: {0.001, 200},
	fettle.ReadGrade: {1, 12}, fettle.ReadGloss: {0.1, 2000}, fettle.ReadGrams: {-1, 1e4},
	fettle.ReadMicron: {-20, 1e4}, fettle.ReadMarkGone: {0, 1}, fettle.ReadJammed: {0, 1e6},
	fettle.ReadMinutes: {0, 6000},
}

func checkReadings(rs []fettle.Reading) error {
	for i, r := range rs {
		b, known := bounds[r.Kind]
		switch {
		case !known:
			return fettle.Errorf(fettle.Invalid, "reading %d is of the kind %q, which is not known; look at its spelling", i+1, r.Kind)
		case !(r.Value >= b[0] && r.Value <= b[1]):
			return fettle.Errorf(fettle.Invalid, "reading %d, %s, is %g, and can only be %g to %g; read it again", i+1, r.Kind, r.Value, b[0], b[1])
		case !(r.AtH >= 0) || math.IsInf(r.AtH, 0):
			return fettle.Errorf(fettle.Invalid, "reading %d, %s, was taken after %g hours, which is no time", i+1, r.Kind, r.AtH)
		case !(r.Spread >= 0) || math.IsInf(r.Spread, 0):
			return fettle.Errorf(fettle.Invalid, "reading %d, %s, has a spread of %g; leave it out where it is not known", i+1, r.Kind, r.Spread)
		}
	}
	return nil
}

// checkPlan refuses numbers of a plan that limits cannot be made from.
func checkPlan(p *fettle.Plan) error {
	if err := checkNumbers("the brief's limits", p.Brief.RaMaxUM, p.Brief.RzMaxUM, p.Brief.EdgeMaxUM); err != nil {
		return err
	}
	if err := checkNumbers("the look's bands", p.Look.RaUM.Low, p.Look.RaUM.High, p.Look.EdgeUM.Low, p.Look.EdgeUM.High); err != nil {
		return err
	}
	if err := checkNumbers("the part's size", p.Survey.SizeMM[:]...); err != nil {
		return err
	}
	for _, o := range p.Survey.Openings {
		if err := checkNumbers("the size of "+o.ID, o.WidthMM, o.WidestMM, o.LengthMM, o.DepthMM); err != nil {
			return err
		}
	}
	return nil
}

func checkNumbers(what string, vs ...float64) error {
	for _, v := range vs {
		if !(v >= 0) || math.IsInf(v, 0) {
			return fettle.Errorf(fettle.Invalid, "%s hold %g; plan the part again", what, v)
		}
	}
	return nil
}

// seeing says plainly what a sample of so few can see.
func seeing(p fettle.SamplingPlan) []string {
	if p.All {
		return []string{"Every piece is looked at, so nothing rests on chance but the eye."}
	}
	return []string{"Looking at " + count(p.Size) + " of " + count(p.Lot) + " guards against a lot that went wrong as a whole; single bad pieces it finds by luck. Where one bad piece would hurt, look at all of them."}
}
