package promise

import (
	"math"

	"fettle"
)

// world is which of an estimate's numbers come true.
type world func(fettle.Estimate) float64

func medians(e fettle.Estimate) float64 { return e.Value }
func uppers(e fettle.Estimate) float64  { return math.Max(e.Value, e.High) }

// opKind is what an op needs.
type opKind int

const (
	byHand  opKind = iota // a person
	byMill                // the mill, and a person for handling
	settles               // person and mill to set up: from then on the mill is the job's
	charges
)

// op is a piece of work in minutes by the clock.
type op struct {
	kind      opKind
	step      int // of the route; -1 before it
	key, name string
	attended  int
	alone     int
	visits    int // how often the person comes to the mill
	// Of a charge: the vessel, loads, minutes of load, look and unload, and of run
	// before each opening, the last of them its end.
	vessel             int
	loads              int
	load, look, unload int
	openings           []int
}

// before are the lines of a price that come before the route, in their order.
var before = []struct {
	key, name string
	kind      opKind
}{
	{fettle.LineProgram, "programming", byHand},
	{fettle.LineFixtures, "making the fixtures", byMill},
	{fettle.LineSetup, "setting up the mill", settles},
	{fettle.LineSaw, "sawing", byHand},
	{fettle.LineShape, "milling to shape", byMill},
}

// ops are the plan's work in one world. Notes say what could not be known.
func (s *shop) ops(w world) (list []op, notes []string, err error) {
	lines := map[string]fettle.PriceLine{}
	for _, l := range s.in.Plan.Price.Lines {
		if l.Key != "" {
			lines[l.Key] = l
		}
	}
	if len(lines) == 0 {
		lines, notes = s.oldLines()
	}
	var bad error
	num := func(name string, e fettle.Estimate) float64 {
		v := w(e)
		if !(v >= 0 && v < 1e12) && bad == nil {
			bad = fettle.Errorf(fettle.Invalid, "%s takes %g minutes in this plan, which cannot be reckoned with; plan the job again", name, v)
		}
		return v
	}
	visits := s.lot
	if s.half {
		visits = (visits + 1) / 2
	}
	for _, b := range before {
		l, ok := lines[b.key]
		if !ok {
			continue
		}
		share := 1.0
		if s.half && (b.key == fettle.LineSaw || b.key == fettle.LineShape) {
			share = 0.5
		}
		o := op{kind: b.kind, step: -1, key: b.key, name: b.name, visits: 1}
		if b.key == fettle.LineShape {
			o.visits = visits
		}
		o.attended = s.hand(share * num(b.name, l.AttendedMin))
		o.alone = whole(share * num(b.name, l.AloneMin))
		if o.kind != byMill {
			o.attended, o.alone = o.attended+o.alone, 0 // somebody stands beside it
		}
		list = add(list, o)
	}
	for i, st := range s.in.Plan.Route {
		share := 1.0
		if s.half {
			share = 0.5
		}
		o := op{kind: byHand, step: i, key: st.Key, name: st.Name, visits: visits}
		if o.name == "" {
			o.name = st.Key
		}
		if st.Kind == fettle.StepTumble && st.Charge != nil {
			if o, err = s.charge(o, st, num); err != nil && bad == nil {
				return nil, nil, err
			}
			list = add(list, o)
			continue
		}
		if st.Kind == fettle.StepSurface {
			o.kind = byMill
		}
		o.attended, o.alone = s.hand(share*num(o.name, st.MinutesAttended)), whole(share*num(o.name, st.MinutesAlone))
		list = add(list, o)
	}
	return list, notes, bad
}

func add(list []op, o op) []op {
	if o.attended+o.alone == 0 && o.kind != charges {
		return list
	}
	return append(list, o)
}

// hand is so many minutes of a person by the clock.
func (s *shop) hand(minutes float64) int { return whole(minutes * s.stretch) }

// whole is the next whole minute; a millionth more is what is left of a sum.
func whole(minutes float64) int { return int(math.Ceil(math.Min(minutes, 1e9) - 1e-6)) }

// A look is to loading or unloading as 3 to 6 min; a charge's minutes are shared out so.
const (
	lookWeight = 3.0
	loadWeight = 6.0
)

// leastVent is how often at most a vessel is opened to let gas out, in minutes.
const leastVent = 30

// charge fills in the op of a charge.
func (s *shop) charge(o op, st fettle.Step, num func(string, fettle.Estimate) float64) (op, error) {
	ch := st.Charge
	o.kind, o.loads = charges, max(ch.Loads, 1)
	if o.vessel = s.vessel(ch.Vessel); o.vessel < 0 {
		return op{}, fettle.Errorf(fettle.NotFound, "%s runs in %q, which is not on the shelf any more; plan the job again", o.name, ch.Vessel)
	}
	perLoad := num(o.name, st.MinutesAttended) / float64(o.loads)
	weights := 2*loadWeight + lookWeight*float64(max(len(ch.LooksH), 1))
	o.load = max(s.hand(perLoad*loadWeight/weights), 1)
	o.unload = o.load
	o.look = max(s.hand(perLoad*lookWeight/weights), 1)
	if s.half {
		o.loads = (o.loads + 1) / 2
	}
	end := max(whole(60*num(o.name, ch.Hours)), 1)
	if end > horizonYears*366*24*60 {
		return op{}, s.tooLong(o.name)
	}
	at := 0
	vent := math.Inf(1)
	if ch.VentEveryH > 0 {
		vent = math.Max(60*ch.VentEveryH, leastVent)
	}
	open := func(m int) {
		for float64(m-at) > vent {
			at += int(vent)
			o.openings = append(o.openings, at)
		}
		if m > at {
			at = m
			o.openings = append(o.openings, at)
		}
	}
	for _, h := range ch.LooksH {
		if m := whole(60 * h); m < end {
			open(m)
		}
	}
	open(end)
	return o, nil
}

// oldLines are the lines that a plan without keys would have, as far as its sums and
// the rates of the shelf tell.
func (s *shop) oldLines() (map[string]fettle.PriceLine, []string) {
	p, r := s.in.Plan.Price, s.in.Rates
	lines := map[string]fettle.PriceLine{}
	if r.ProgramH.Value > 0 {
		lines[fettle.LineProgram] = fettle.PriceLine{AttendedMin: r.ProgramH.Scale(60)}
	}
	if r.SetupMin.Value > 0 {
		lines[fettle.LineSetup] = fettle.PriceLine{AttendedMin: r.SetupMin}
	}
	attended, alone := p.AttendedH.Scale(60), p.AloneH.Scale(60)
	less := func(e, f fettle.Estimate) fettle.Estimate {
		e.Value, e.Low, e.High = math.Max(e.Value-f.Value, 0), math.Max(e.Low-f.Low, 0), math.Max(e.High-f.High, 0)
		return e
	}
	for _, st := range s.in.Plan.Route {
		attended, alone = less(attended, st.MinutesAttended), less(alone, st.MinutesAlone)
	}
	attended = less(less(attended, lines[fettle.LineProgram].AttendedMin), lines[fettle.LineSetup].AttendedMin)
	lines[fettle.LineShape] = fettle.PriceLine{AttendedMin: attended, AloneMin: alone}
	if alone.Value > 0 {
		return lines, []string{"The plan is older than its list of minutes: milling and handling are what its sums of hours leave."}
	}
	return lines, []string{"The plan is older than its list of minutes: milling to shape and sawing are not in it."}
}
