package price

import (
	"math"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

// byTheClock runs loads quarter hour by quarter hour: one is put in when the vessel is
// empty and somebody is in, and what ends at night is found in the morning.
func byTheClock(charges []runs, count, dayQ int) float64 {
	var queue []int
	for _, c := range charges {
		for range (c.loads + count - 1) / count {
			queue = append(queue, int(math.Round(c.hours.Value*4)))
		}
	}
	left := 0
	for q := 0; ; q++ {
		of := q % 96
		if left == 0 && len(queue) == 0 {
			return float64(q/96) + math.Min(1, float64(of)/float64(dayQ))
		}
		if left == 0 && of < dayQ {
			left, queue = queue[0], queue[1:]
		}
		if left > 0 {
			left--
		}
	}
}

func TestVesselDaysByTheClock(t *testing.T) {
	for _, c := range []struct {
		loads int
		hours float64
		count int
		days  float64
	}{
		{12, 14, 1, 12}, // a night each
		{12, 14, 2, 6},
		{2, 3.5, 1, 1},   // one after the other by day
		{3, 3.5, 1, 1.5}, // and the third next morning
		{6, 3, 1, 2},     // the third of each day is put in at 6 h and outlasts it
		{1, 30, 1, 1 + 6.0/7},
		{2, 30, 1, 3}, // the second is put in at 6 h of the second day and ends at 12 h of the third
		{1, 1.75, 1, 0.25},
		{2, 24, 1, 2},
	} {
		charges := []runs{{c.loads, sure(c.hours)}}
		if got := vesselDays(charges, c.count, 7, true); math.Abs(got-c.days) > 1e-9 {
			t.Errorf("%d loads of %g h in %d: %g days, by hand %g", c.loads, c.hours, c.count, got, c.days)
		}
	}
	if got := vesselDays([]runs{{3, sure(14)}}, 1, 7, false); got != 6 {
		t.Errorf("three loads of 14 h by day only take %g days of 7 h, want 6", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.IntRange(16, 40).Draw(t, "day in quarters")
		count := rapid.IntRange(1, 3).Draw(t, "count")
		var charges []runs
		for range rapid.IntRange(1, 3).Draw(t, "charges") {
			charges = append(charges, runs{rapid.IntRange(1, 12).Draw(t, "loads"), sure(float64(rapid.IntRange(1, 200).Draw(t, "quarters")) / 4)})
		}
		got, want := vesselDays(charges, count, float64(day)/4, true), byTheClock(charges, count, day)
		if math.Abs(got-want) > 1e-9 {
			t.Fatalf("%g days, by the clock %g", got, want)
		}
	})
}

// Twelve loads of 14 h in the one barrel: a night each, twelve days. The mill is at it
// for 2 × 30 min and 240 pieces of 4 + 2 × 0.5 min; a person for 2 h, 60 min, 240 × (2 ×
// 0.5 + 1) min and 12 × 20 min.
func TestBottleneckSaysWhatWaits(t *testing.T) {
	j := Job{
		Lot: 240, Mill: fettle.Machine{Name: "mill", RatePerH: sure(30)},
		Vessels: []fettle.Vessel{{Name: "bowl", RatePerH: sure(2)}, {Name: "dry barrel", RatePerH: sure(2)}},
		Rates: fettle.Rates{
			Currency: "USD", PersonPerH: sure(36), ProgramH: sure(2), SetupMin: sure(30), HandlingMin: sure(0.5),
			RoughMinCM3: sure(1), DayH: 7, Basis: "agreed",
		},
		Material: fettle.Material{PricePerKg: sure(1), Density: 1, KC11: mildSteel},
		PartMM:   [3]float64{10, 10, 100}, PartMM3: 6000, Setups: 2,
		Route: fettle.Route{
			{Key: "tumble", Kind: fettle.StepTumble, MinutesAttended: sure(240), MinutesAlone: sure(12 * 14 * 60), Charge: &fettle.Charge{Vessel: "dry barrel", Loads: 12, Hours: sure(14)}},
			{Key: "inspect", Kind: fettle.StepInspect, MinutesAttended: sure(240)},
		},
	}
	b := of(j, part{}).Bottleneck
	if want := "the dry barrel: 12 loads of 14 h, a night each: 12 days; the mill needs 3, a person 2.1"; b.Says != want {
		t.Errorf("it says %q,\nwant %q", b.Says, want)
	}
	if b.Kind != "vessel" || b.Name != "dry barrel" || b.Days != 12 || b.BusyH.Value != 168 {
		t.Errorf("%+v", b)
	}
	// With a calendar that lets nothing run at night the same loads are 168 h by day.
	j.Rates.Calendar = fettle.Calendar{Week: []fettle.WorkDay{{Day: "mon", From: "08:00", To: "16:30"}}}
	if b := of(j, part{}).Bottleneck; b.Days != 24 {
		t.Errorf("by day only: %g days, want 168/7", b.Days)
	}
	// Twelve barrels take one day, and the mill is left.
	j.Rates.Calendar.Nights, j.Vessels[1].Count = true, 12
	if b := of(j, part{}).Bottleneck; b.Kind != "mill" || math.Abs(b.Days-3) > 1e-9 || math.Abs(b.BusyH.Value-21) > 1e-9 {
		t.Errorf("%+v", b)
	}
}
