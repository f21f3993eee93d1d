package promise

import (
	"context"
	"testing"
	"time"

	"fettle"

	"pgregory.net/rapid"
)

// drawRoute is a short route with every kind of work.
func drawRoute(t *rapid.T, in *Input, loads int) {
	minutes := func(name string) float64 { return float64(rapid.IntRange(0, 300).Draw(t, name)) }
	hours := float64(rapid.IntRange(1, 60).Draw(t, "quarters")) / 4
	in.Plan.Price.Lines = []fettle.PriceLine{
		row(fettle.LineProgram, minutes("program"), 0), row(fettle.LineSetup, minutes("set-up"), 0),
		row(fettle.LineSaw, minutes("saw"), 0), row(fettle.LineShape, minutes("handling"), minutes("shape")),
	}
	in.Plan.Route = fettle.Route{
		step(fettle.StepSurface, "pass", 0, minutes("pass")), step(fettle.StepRub, "rub", minutes("rub"), 0),
		barrel("bowl", "bowl", loads, hours, hours/3, hours), step(fettle.StepWash, "wash", minutes("wash"), 0),
		barrel("again", "bowl", loads, hours/2, hours/2), step(fettle.StepInspect, "inspect", minutes("inspect"), 0),
	}
	in.Plan.Brief.Lot = rapid.IntRange(1, 12).Draw(t, "lot")
	in.Rates.DayH = float64(rapid.IntRange(4, 8).Draw(t, "at it"))
}

// With one vessel of a kind, taking something from the shop never makes a job sooner.
func TestMoreBookingsNeverSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal, from := drawCalendar(t)
		more := drawBooked(t, from, 1, 10)
		in := bowlInput(cal, from, more[:rapid.IntRange(0, len(more)).Draw(t, "less")], 1, 1, 1)
		drawRoute(t, &in, rapid.IntRange(1, 3).Draw(t, "loads"))
		a := of(t, in)
		in.Booked = more
		if b := of(t, in); b.Safe.Before(a.Safe) {
			t.Fatalf("%s with fewer bookings, %s with more", a.Safe, b.Safe)
		}
	})
}

// One vessel more never makes a job later, whatever is booked of the others.
func TestMoreVesselsNeverLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal, from := drawCalendar(t)
		vessels := rapid.IntRange(1, 3).Draw(t, "vessels")
		in := bowlInput(cal, from, drawBooked(t, from, vessels, 8), vessels, 1, 1)
		drawRoute(t, &in, rapid.IntRange(1, 6).Draw(t, "loads"))
		a := of(t, in)
		c := newClockwork(in, a)
		checkBookings(t, c, in, a)
		in.Vessels[0].Count++
		if b := of(t, in); b.Safe.After(a.Safe) {
			t.Fatalf("%s with %d vessels, %s with one more", a.Safe, vessels, b.Safe)
		}
	})
}

// With one vessel, longer work and a later start never make a job sooner, and vessels
// that run at night or at weekends, and people who work longer, never later.
func TestLessWorkAndMoreHoursNeverLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal, from := drawCalendar(t)
		in := bowlInput(cal, from, drawBooked(t, from, 1, 8), 1, 1, 1)
		drawRoute(t, &in, rapid.IntRange(1, 3).Draw(t, "loads"))
		base := of(t, in)
		later := func(what string, change func(*Input)) {
			other := in
			plan := *in.Plan
			plan.Route = append(fettle.Route{}, plan.Route...)
			other.Plan = &plan
			change(&other)
			if p := of(t, other); p.Safe.Before(base.Safe) {
				t.Fatalf("%s: %s instead of %s", what, p.Safe, base.Safe)
			}
		}
		k := rapid.IntRange(0, len(in.Plan.Route)-1).Draw(t, "step")
		later("longer work", func(o *Input) {
			s := &o.Plan.Route[k]
			if s.Charge != nil {
				ch := *s.Charge
				ch.Hours = ch.Hours.Scale(1.3)
				s.Charge = &ch
				return
			}
			s.MinutesAttended, s.MinutesAlone = s.MinutesAttended.Plus(sure(17)), s.MinutesAlone.Scale(1.2)
		})
		later("a later start", func(o *Input) { o.From = o.From.Add(37 * time.Minute) })
		later("no nights", func(o *Input) { o.Rates.Calendar.Nights = false })
		later("no weekends", func(o *Input) { o.Rates.Calendar.Weekends = false })
		later("less at it", func(o *Input) { o.Rates.DayH *= 0.8 })
		in.Rates.DayH = 24 // at it all day, however long the longest day is
		if base = of(t, in); len(cal.Week) > 1 {
			later("a day off", func(o *Input) { o.Rates.Calendar.Week = cal.Week[1:] })
		}
	})
}

// Several loads in several vessels: what is promised can be done, and is no later than
// with one of the vessels alone.
func TestSeveralVesselsDoNoWorseThanOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal, from := drawCalendar(t)
		loads := rapid.IntRange(2, 5).Draw(t, "loads")
		hours := float64(rapid.IntRange(1, 60).Draw(t, "quarters")) / 4
		in := bowlInput(cal, from, drawBooked(t, from, 3, 8), 3, loads, hours, hours/3, hours)
		p := of(t, in)
		c := newClockwork(in, p)
		checkBookings(t, c, in, p)
		var first []fettle.Booking
		for _, b := range in.Booked {
			if b.Number == 0 {
				first = append(first, b)
			}
		}
		in.Booked, in.Vessels[0].Count = first, 1
		if one := of(t, in); one.Safe.Before(p.Safe) {
			t.Fatalf("%s with three vessels, %s with one", p.Safe, one.Safe)
		}
	})
}

func BenchmarkThousandLoads(b *testing.B) {
	in := escutcheon()
	in.Plan.Brief.Lot = 20000
	in.Plan.Route = fettle.Route{barrel("bowl", "dry barrel", 1000, 1, 0.5, 1)}
	in.Vessels[0].Count = 3
	for b.Loop() {
		if _, err := Of(context.Background(), in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSmallLot(b *testing.B) {
	in := escutcheon()
	for b.Loop() {
		if _, err := Of(context.Background(), in); err != nil {
			b.Fatal(err)
		}
	}
}
