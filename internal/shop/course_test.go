package shop_test

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/shop"
)

// The curve is R(t) = RL + (R0 − RL)·e^(−t/T) (F. Hashimoto, CIRP Annals 45 (1996) 303; the
// form from memory), and what comes off is linear, with the numbers that stand beside it.
func TestCourse(t *testing.T) {
	s := open(t)
	for _, from := range []float64{3, 0.05} {
		c, err := s.Course(t.Context(), shop.CourseAsk{Media: "ceramic-fine-5", Vessel: "wet barrel", Material: "naval brass", FromUM: from})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Hours) < 20 || len(c.RaUM) != len(c.Hours) || len(c.RemovedUM) != len(c.Hours) || c.Hours[0] != 0 || len(c.Readings) != 0 {
			t.Fatalf("%d hours, %d and %d points, %d readings", len(c.Hours), len(c.RaUM), len(c.RemovedUM), len(c.Readings))
		}
		rl, tc := c.LimitRaUM.Value, c.TimeConstantH.Value
		for i, h := range c.Hours {
			if from > rl { // finer than the limit it roughens, on a time of its own
				close2(t, "Ra", c.RaUM[i].Value, rl+(from-rl)*math.Exp(-h/tc), 1e-9)
			} else if v := c.RaUM[i].Value; v < from || v > rl {
				t.Errorf("roughening from %g towards %g, at %g h it is %g", from, rl, h, v)
			}
			if h > 0 {
				close2(t, "removed", c.RemovedUM[i].Value, c.RemovalUMH.Value*h, 1e-9)
				if !(c.RaUM[i].Low < c.RaUM[i].Value && c.RaUM[i].Value < c.RaUM[i].High) {
					t.Errorf("no band at %g h: %+v", h, c.RaUM[i])
				}
			}
		}
	}
	for _, bad := range []shop.CourseAsk{
		{Media: "gravel", Vessel: "wet barrel", Material: "naval brass"}, {Media: "cob-2", Vessel: "bucket", Material: "naval brass"},
		{Media: "cob-2", Vessel: "dry barrel", Material: "cheese"}, {Media: "cob-2", Vessel: "dry barrel", Material: "6061", FromUM: math.NaN()},
	} {
		if _, err := s.Course(t.Context(), bad); fettle.CodeOf(err) != fettle.NotFound && fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

// Readings of a charge lie where the curve passes the roughness that the charge began
// with, and keep their hours and heights from there on.
func TestCourseReadings(t *testing.T) {
	s := open(t)
	log := func(metal, vessel string, readings ...fettle.Reading) string {
		t.Helper()
		r := mustMake(t, s, fettle.Record{Kind: fettle.KeptRun, Body: body(t, fettle.Run{Day: "2026-03-01", Kind: fettle.StepTumble, Material: metal, Media: "ceramic-fine-5", Vessel: vessel, AreaMM2: 5000})})
		for _, rd := range readings {
			if _, err := s.AddReading(t.Context(), "hand", "", r.ID, rd); err != nil {
				t.Fatal(err)
			}
		}
		return r.ID
	}
	ra := func(h, v float64) fettle.Reading { return fettle.Reading{Kind: fettle.ReadRa, AtH: h, Value: v} }
	first := log("naval brass", "wet barrel", ra(0, 2), ra(4, 0.8), ra(10, 0.4), fettle.Reading{Kind: fettle.ReadGrams, AtH: 10, Value: 0.21})
	second := log("C36000", "wet barrel", ra(1, 1), ra(5, 0.5)) // brass too
	log("6061", "wet barrel", ra(0, 2), ra(4, 0.7))             // another class
	log("naval brass", "bowl", ra(0, 2), ra(4, 0.4))            // another vessel
	smooth := log("naval brass", "wet barrel", ra(0, 0.02), ra(4, 0.05))
	c, err := s.Course(t.Context(), shop.CourseAsk{Media: "ceramic-fine-5", Vessel: "wet barrel", Material: "naval brass"})
	if err != nil {
		t.Fatal(err)
	}
	close2(t, "the roughest start", c.FromUM, 2, 1e-9)
	rl, tc := c.LimitRaUM.Value, c.TimeConstantH.Value
	got := map[string][]shop.CourseReading{}
	for _, r := range c.Readings {
		got[r.Run] = append(got[r.Run], r)
	}
	if len(got) != 2 || len(got[first]) != 4 || len(got[second]) != 2 || len(got[smooth]) != 0 || len(c.LeftOut) != 1 {
		t.Fatalf("%+v; left out %q", c.Readings, c.LeftOut)
	}
	for i, h := range []float64{0, 4, 10} {
		if r := got[first][i]; math.Abs(r.OnH-h) > 1e-9 || r.Of != "ra" {
			t.Errorf("%+v, want it at %g h", r, h)
		}
	}
	// 0.21 g over 5000 mm² at 8.41 g/cm³.
	grams := got[first][3]
	close2(t, "removed", grams.UM.Value, 0.21/8.41*1000/5000*1000, 1e-6)
	a, b := got[second][0], got[second][1]
	close2(t, "where the second begins", rl+(2-rl)*math.Exp(-a.OnH/tc), 1, 1e-9)
	close2(t, "between its readings", b.OnH-a.OnH, 4, 1e-9)
	if b.UM.Value != 0.5 {
		t.Errorf("a reading of 0.5 µm stands at %g", b.UM.Value)
	}
}
