package promise

import (
	"fmt"
	"testing"
	"time"

	"fettle"

	"pgregory.net/rapid"
)

// drawCalendar is any week with whole hours, some of its days around a change of the
// clocks.
func drawCalendar(t *rapid.T) (fettle.Calendar, time.Time) {
	c := fettle.Calendar{
		Zone:   rapid.SampledFrom([]string{"UTC", "Europe/Berlin", "America/New_York"}).Draw(t, "zone"),
		Nights: rapid.Bool().Draw(t, "nights"), Weekends: rapid.Bool().Draw(t, "weekends"),
	}
	for i, d := range []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"} {
		if i > 0 && rapid.IntRange(0, 3).Draw(t, "free "+d) == 0 {
			continue
		}
		from := rapid.IntRange(0, 20).Draw(t, "from")
		to := rapid.IntRange(from+2, min(from+12, 24)).Draw(t, "to")
		hour := func(h int) string { return fmt.Sprintf("%02d:00", h) }
		if to-from > 4 && rapid.Bool().Draw(t, "break") {
			c.Week = append(c.Week, fettle.WorkDay{Day: d, From: hour(from), To: hour(from + 2)}, fettle.WorkDay{Day: d, From: hour(from + 3), To: hour(to)})
			continue
		}
		c.Week = append(c.Week, fettle.WorkDay{Day: d, From: hour(from), To: hour(to)})
	}
	day := rapid.SampledFrom([]string{"2026-03-06", "2026-03-27", "2026-10-23", "2026-10-30", "2026-07-15", "2026-12-30"}).Draw(t, "day")
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		t.Fatal(err)
	}
	switch rapid.IntRange(0, 2).Draw(t, "closed") {
	case 1:
		c.Closed = []string{at.AddDate(0, 0, 2).Format(time.DateOnly)}
	case 2:
		c.Closed = []string{at.AddDate(0, 0, 1).Format(time.DateOnly) + "/" + at.AddDate(0, 0, 4).Format(time.DateOnly)}
	}
	return c, at.Add(time.Duration(rapid.IntRange(0, 95).Draw(t, "quarter")) * 15 * time.Minute)
}

// drawBooked takes person, mill and vessels here and there.
func drawBooked(t *rapid.T, from time.Time, vessels, most int) []fettle.Booking {
	var out []fettle.Booking
	for i := range rapid.IntRange(0, most).Draw(t, "bookings") {
		b := fettle.Booking{Job: fmt.Sprintf("B%d", i), Title: fmt.Sprintf("knobs %d", i)}
		b.Resource = rapid.SampledFrom([]string{"person", "mill knee mill", "vessel bowl"}).Draw(t, "resource")
		if b.Resource == "vessel bowl" {
			b.Number = rapid.IntRange(0, vessels-1).Draw(t, "number")
		}
		b.From = from.Add(time.Duration(rapid.IntRange(-8, 400).Draw(t, "begins")) * 15 * time.Minute)
		b.To = b.From.Add(time.Duration(rapid.IntRange(1, 96).Draw(t, "takes")) * 15 * time.Minute)
		out = append(out, b)
	}
	return out
}

// bowlInput is a job of one charge in a bowl.
func bowlInput(cal fettle.Calendar, from time.Time, booked []fettle.Booking, vessels, loads int, hours float64, looks ...float64) Input {
	return Input{
		Plan: &fettle.Plan{
			Brief: fettle.Brief{Lot: 1}, Mill: fettle.Machine{Name: "knee mill"},
			Price: fettle.Price{LotPrice: fettle.LotPrice{Lines: []fettle.PriceLine{row(fettle.LineStock, 0, 0)}}},
			Route: fettle.Route{barrel("bowl", "bowl", loads, hours, looks...)},
		},
		Rates:   fettle.Rates{Calendar: cal, DayH: 24},
		Vessels: []fettle.Vessel{{Name: "bowl", Title: "bowl", Count: vessels}},
		Booked:  booked, From: from,
	}
}

// One charge in one of several vessels is out at the first minute that trying every
// minute finds.
func TestOneChargeIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal, from := drawCalendar(t)
		vessels := rapid.IntRange(1, 3).Draw(t, "vessels")
		hours := float64(rapid.IntRange(1, 60).Draw(t, "quarters run")) / 4
		looks := []float64{hours}
		if rapid.Bool().Draw(t, "look") {
			looks = []float64{hours / 2, hours}
		}
		in := bowlInput(cal, from, drawBooked(t, from, vessels, 8), vessels, 1, hours, looks...)
		p := of(t, in)
		c := newClockwork(in, p)
		c.load, c.look, c.unload = 6, 3, 6
		for _, h := range looks {
			c.openings = append(c.openings, whole(h*60))
		}
		want := c.first()
		if got := c.minute(p.Safe); got != want {
			t.Fatalf("out at %s, minute %d; trying every minute finds %d\n%v", p.Safe, got, want, p.Chain)
		}
		checkBookings(t, c, in, p)
	})
}

// Loads one after the other in one vessel are out as soon as they can be: no order and
// no waiting does better.
func TestOneVesselIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal, from := drawCalendar(t)
		hours := float64(rapid.IntRange(1, 12).Draw(t, "hours"))
		in := bowlInput(cal, from, drawBooked(t, from, 1, 6), 1, 2, hours, hours)
		p := of(t, in)
		c := newClockwork(in, p)
		c.load, c.look, c.unload, c.openings = 6, 3, 6, []int{int(hours) * 60}
		if want := c.two(c.minute(p.Safe) + 1); c.minute(p.Safe) != want {
			t.Fatalf("out at minute %d; trying finds %d", c.minute(p.Safe), want)
		}
		checkBookings(t, c, in, p)
	})
}

// Work by hand is done when minute after minute of it is, and work of the mill as soon
// as any way of going on and standing finds, set up again after other jobs.
func TestHandAndMillAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal, from := drawCalendar(t)
		booked := drawBooked(t, from, 1, 8)
		in := bowlInput(cal, from, booked, 1, 1, 1)
		n := rapid.IntRange(1, 240).Draw(t, "minutes")
		in.Plan.Route = fettle.Route{step(fettle.StepRub, "rub", float64(n), 0)}
		p := of(t, in)
		c := newClockwork(in, p)
		if want := c.hand(0, n); c.minute(p.Safe) != want {
			t.Fatalf("by hand: minute %d; minute by minute it is %d", c.minute(p.Safe), want)
		}
		checkBookings(t, c, in, p)

		setUp := rapid.IntRange(1, 40).Draw(t, "set-up")
		attended := rapid.Bool().Draw(t, "attended")
		in.Plan.Price.Lines = []fettle.PriceLine{row(fettle.LineSetup, float64(setUp), 0)}
		in.Plan.Route = fettle.Route{step(fettle.StepSurface, "pass", 0, float64(n))}
		if attended {
			in.Plan.Route = fettle.Route{step(fettle.StepSurface, "pass", float64(n), 0)}
		}
		p = of(t, in)
		c = newClockwork(in, p)
		if want := c.milling(c.minute(p.Steps[0].To), setUp, n, attended); c.minute(p.Safe) != want {
			t.Fatalf("milling: minute %d; trying finds %d", c.minute(p.Safe), want)
		}
		checkBookings(t, c, in, p)
	})
}

// checkBookings holds what is taken to the house rules: nothing twice, nothing that was
// taken before, and a person only while somebody is in.
func checkBookings(t *rapid.T, c *clockwork, in Input, p *fettle.Promise) {
	for _, b := range p.Bookings {
		if !b.From.Before(b.To) {
			t.Fatalf("%s takes no time at %s", b.What, b.From)
		}
		if b.Resource == "person" || b.Resource == "mill knee mill" {
			for m := c.minute(b.From); m < c.minute(b.To); m++ {
				if !c.open[m] {
					t.Fatalf("%s has %s while nobody is in", b.What, b.Resource)
				}
			}
		}
		if !c.free(b) {
			t.Fatalf("%s has %s from %s to %s, which is taken", b.What, b.Resource, b.From, b.To)
		}
	}
	if p.Likely.After(p.Safe) {
		t.Fatalf("likely at %s, after safe at %s", p.Likely, p.Safe)
	}
}
