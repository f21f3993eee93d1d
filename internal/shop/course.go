package shop

import (
	"context"
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/tumble"
)

// Course is what media really do to a face, hour by hour, by the shelf and the log.
type Course struct {
	Media    string               `json:"media"`
	Title    string               `json:"title"`
	Vessel   string               `json:"vessel"`
	Material string               `json:"material"`
	Class    fettle.HardnessClass `json:"class"`
	Tone     fettle.Tone          `json:"tone"`
	FromUM   float64              `json:"from_um"` // Ra that the curve begins with
	// The numbers of the law Ra(t) = RL + (R0 − RL)·e^(−t/T), and removal of an open face.
	TimeConstantH fettle.Estimate `json:"time_constant_h"`
	LimitRaUM     fettle.Estimate `json:"limit_ra_um"`
	RemovalUMH    fettle.Estimate `json:"removal_um_h"`
	// The curve: at each of the hours Ra and what has come off, µm.
	Hours     []float64         `json:"hours"`
	RaUM      []fettle.Estimate `json:"ra_um"`
	RemovedUM []fettle.Estimate `json:"removed_um"`
	// Readings of charges of these media in this vessel on this class of metal.
	Readings []CourseReading `json:"readings"`
	LeftOut  []string        `json:"left_out"` // what could not be laid on the curve, with why
}

// CourseReading is a reading, laid on the curve.
type CourseReading struct {
	Run  string             `json:"run"`
	Day  string             `json:"day"`
	Part string             `json:"part"`
	Kind fettle.ReadingKind `json:"kind"`
	Read float64            `json:"read"`
	AtH  float64            `json:"at_h"`
	// Of says which curve: "ra" or "removed". UM is the reading in µm of that, with the
	// interval of how it was read.
	Of string          `json:"of" enum:"ra,removed"`
	UM fettle.Estimate `json:"um"`
	// OnH is the hour of the curve that it belongs to: a run that began with another
	// roughness is on the same curve, earlier or later.
	OnH float64 `json:"on_h"`
}

// CourseAsk is what to ask a course of.
type CourseAsk struct {
	Media, Vessel, Material string
	Tone                    fettle.Tone
	FromUM                  float64 // 0: the roughest start that was read, or what is usual
}

// usualStart is a face as a cutter leaves it, where nothing says more: Ra in µm.
const usualStart = 1.6

// coursePoints is how many points a curve has.
const coursePoints = 49

// Course works out the curve of media in a vessel on a metal.
func (s *Shop) Course(ctx context.Context, ask CourseAsk) (*Course, error) {
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return nil, err
	}
	m, err := shelf.MediaNamed(ask.Media)
	if err != nil {
		return nil, err
	}
	v, err := shelf.Vessel(ask.Vessel)
	if err != nil {
		return nil, err
	}
	mt, err := shelf.Material(ask.Material)
	if err != nil {
		return nil, err
	}
	if !(ask.FromUM >= 0 && ask.FromUM <= 100) {
		return nil, fettle.Errorf(fettle.Invalid, "from_um is %g; give the Ra that the curve begins with, up to 100 µm", ask.FromUM)
	}
	log, err := s.Teaching(ctx)
	if err != nil {
		return nil, err
	}
	b, err := learn.Read(ctx, log, shelf)
	if err != nil {
		return nil, err
	}
	p := b.Process(m, v, mt, ask.Tone)
	c := &Course{
		Media: m.Name, Title: m.Title, Vessel: v.Name, Material: mt.Name, Class: mt.Class, Tone: ask.Tone, FromUM: ask.FromUM,
		TimeConstantH: p.TimeConstantH, LimitRaUM: p.LimitRaUM, RemovalUMH: p.RemovalUMH, Readings: []CourseReading{}, LeftOut: []string{},
	}
	var runs []fettle.Run
	for _, r := range log.Runs {
		if r.Kind != fettle.StepTumble || fettle.FoldName(r.Media) != fettle.FoldName(m.Name) || fettle.FoldName(r.Vessel) != fettle.FoldName(v.Name) || r.Tone != ask.Tone {
			continue
		}
		if of, err := shelf.Material(r.Material); err != nil || of.Class != mt.Class {
			continue
		}
		runs = append(runs, r)
	}
	if c.FromUM == 0 {
		for _, r := range runs {
			if _, ra, ok := firstRa(r); ok {
				c.FromUM = math.Max(c.FromUM, ra)
			}
		}
		if c.FromUM == 0 {
			c.FromUM = usualStart
		}
	}
	last := 3 * p.TimeConstantH.Value
	for _, r := range runs {
		last = math.Max(last, c.lay(r, p.Rates(), shelf))
	}
	start := fettle.Exactly(c.FromUM, "as asked")
	for i := range coursePoints {
		// Close together where the curve is steep.
		x := float64(i) / (coursePoints - 1)
		h := fettle.Exactly(last*x*x, "as asked")
		c.Hours = append(c.Hours, h.Value)
		c.RaUM = append(c.RaUM, p.Ra(start, h))
		c.RemovedUM = append(c.RemovedUM, p.Removed(h))
	}
	return c, nil
}

// firstRa is the first roughness read on a run, as Ra in µm, and when.
func firstRa(r fettle.Run) (atH, ra float64, ok bool) {
	for _, rd := range r.Readings {
		if e, is := learn.AsRa(rd); is && (!ok || rd.AtH < atH) {
			atH, ra, ok = rd.AtH, e.Value, true
		}
	}
	return atH, ra, ok
}

// lay puts the readings of a run on the curve and returns the last hour of it that it
// needed. By the law a face that begins with R0 is where the curve has come to R0: its
// readings are moved by that time, not scaled.
func (c *Course) lay(r fettle.Run, rates tumble.Rates, shelf *fettle.Shelf) (last float64) {
	shift, why := 0.0, ""
	if at, ra, ok := firstRa(r); ok {
		shift = shiftTo(rates, c.FromUM, ra) - at
		if math.IsNaN(shift) {
			why = fmt.Sprintf("%s, %s: it began with Ra %.2g µm, which is not on the way from %.2g to %.2g µm", r.Day, called(r), ra, c.FromUM, rates.RL)
			c.LeftOut = append(c.LeftOut, why)
		}
	}
	for _, rd := range r.Readings {
		one := CourseReading{Run: r.ID, Day: r.Day, Part: r.Part, Kind: rd.Kind, Read: rd.Value, AtH: rd.AtH}
		if ra, ok := learn.AsRa(rd); ok {
			if one.OnH = rd.AtH + shift; why != "" || one.OnH < -1e-9 {
				continue
			}
			one.OnH = math.Max(0, one.OnH)
			one.Of, one.UM = "ra", ra
		} else if um, ok := tookOff(rd, r, shelf); ok {
			one.Of, one.UM, one.OnH = "removed", um, rd.AtH
		} else {
			continue
		}
		last = math.Max(last, one.OnH)
		c.Readings = append(c.Readings, one)
	}
	return last
}

// shiftTo is the hour at which the curve from one Ra passes another, below 0 where it is
// rougher than the curve's own start; NaN where no hour is.
func shiftTo(r tumble.Rates, from, ra float64) float64 {
	switch k := (ra - r.RL) / (from - r.RL); {
	case !(k > 0):
		return math.NaN() // on the other side of the limit
	case from > r.RL:
		return -r.T * math.Log(k)
	default:
		t := r.T
		if r.Roughen > 0 {
			t = r.Roughen
		}
		return -t * math.Log(k)
	}
}

// tookOff is what a weight or a micrometer says came off a face, µm.
func tookOff(rd fettle.Reading, r fettle.Run, shelf *fettle.Shelf) (fettle.Estimate, bool) {
	if rd.AtH == 0 || !(rd.Value > 0) {
		return fettle.Estimate{}, false
	}
	switch rd.Kind {
	case fettle.ReadGrams:
		mt, err := shelf.Material(r.Material)
		if err != nil || !(r.AreaMM2 > 0) {
			return fettle.Estimate{}, false
		}
		return fettle.Exactly(tumble.RemovalFromMass(rd.Value, r.AreaMM2, mt.Density), "grams over area and density"), true
	case fettle.ReadMicron:
		return fettle.Exactly(rd.Value/2, "half of what two faces lost"), true
	}
	return fettle.Estimate{}, false
}

// called names a run for people.
func called(r fettle.Run) string {
	if r.Part != "" {
		return r.Part
	}
	return r.Material
}
