package promise

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"fettle"

	"github.com/google/go-cmp/cmp"
)

// Of a day of eight hours four are at it: two hours of work are four by the clock. On
// a short Friday nobody works faster.
func TestWorkIsStretched(t *testing.T) {
	in := escutcheon()
	in.Plan.Price.Lines = []fettle.PriceLine{row(fettle.LineStock, 0, 0)}
	in.Plan.Route = fettle.Route{step(fettle.StepRub, "rub", 120, 0)}
	in.Rates.DayH = 4
	if p, want := of(t, in), berlin("2026-11-30", "12:00"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
	in.Rates.Calendar.Week[4].To = "10:00"
	in.From = berlin("2026-12-04", "08:00") // Friday: 2 h, and 2 h on Monday
	if p, want := of(t, in), berlin("2026-12-07", "10:00"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
}

// The likely time takes medians, the safe one upper bounds: 60 and 100 min.
func TestMediansAndBounds(t *testing.T) {
	in := escutcheon()
	in.Plan.Price.Lines = []fettle.PriceLine{row(fettle.LineStock, 0, 0)}
	in.Plan.Route = fettle.Route{{Key: "rub", Name: "rub", Kind: fettle.StepRub, MinutesAttended: fettle.Guess(60, 40, 100, "agreed")}}
	in.From = berlin("2026-11-30", "14:30").Add(20 * time.Second) // so from 14:31
	p := of(t, in)
	if a, b := berlin("2026-11-30", "15:31"), berlin("2026-12-01", "08:11"); !p.Likely.Equal(a) || !p.Safe.Equal(b) || p.Day != "2026-12-01" {
		t.Errorf("likely %s, safe %s, day %s; want %s and %s", p.Likely, p.Safe, p.Day, a, b)
	}
	want := []fettle.Booking{
		{Job: "J7", Title: "Escutcheon plates", Resource: "person", From: berlin("2026-11-30", "14:31"), To: berlin("2026-11-30", "16:00"), What: "rub"},
		{Job: "J7", Title: "Escutcheon plates", Resource: "person", From: berlin("2026-12-01", "08:00"), To: berlin("2026-12-01", "08:11"), What: "rub"},
	}
	if d := cmp.Diff(want, p.Bookings, cmp.Comparer(time.Time.Equal)); d != "" {
		t.Error(d)
	}
}

// A closed barrel that is vented every 3 h is opened at 3, 4 (a look), 7 and 10 h of
// 11: the times from one opening to the next are no longer than 3 h.
func TestVentsAreLooks(t *testing.T) {
	cal := fettle.Calendar{Week: []fettle.WorkDay{{Day: "mon", From: "00:00", To: "24:00"}}}
	in := bowlInput(cal, time.Date(2026, 11, 30, 0, 0, 0, 0, time.UTC), nil, 1, 1, 11, 4, 11)
	in.Plan.Route[0].Charge.VentEveryH = 3
	p := of(t, in)
	var got []string
	for _, l := range p.Steps[0].Looks {
		got = append(got, l.Format("15:04"))
	}
	// Loading takes 6 min and each opening 3.
	if d := cmp.Diff([]string{"03:06", "04:09", "07:12", "10:15"}, got); d != "" {
		t.Error(d)
	}
	if p.Safe.Format("15:04") != "11:27" { // 10:18 and 1 h, and 9 min
		t.Errorf("out at %s", p.Safe)
	}
}

// A mill that runs for long has a person only at each visit: two pieces of 60 min, with
// 10 min of handling each. Another job has the person from 08:30 to 09:00, while it
// runs. A mill that runs 15 min a piece keeps the person, and waits.
func TestVisitsToTheMill(t *testing.T) {
	in := escutcheon()
	in.Plan.Brief.Lot = 2
	in.Plan.Route = fettle.Route{}
	in.Booked = []fettle.Booking{taken("J2", "Caps", "person", 0, berlin("2026-11-30", "08:30"), berlin("2026-11-30", "09:00"))}
	in.Plan.Price.Lines = []fettle.PriceLine{row(fettle.LineShape, 20, 120)}
	if p, want := of(t, in), berlin("2026-11-30", "10:20"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
	in.Plan.Price.Lines = []fettle.PriceLine{row(fettle.LineShape, 20, 30)}
	p := of(t, in)
	if want := berlin("2026-11-30", "09:20"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
	if p.Chain[1] != "In between, others come first: “Caps” for 30 min." {
		t.Errorf("%q", p.Chain)
	}
}

// The shelf says that the barrel is free in 30 h: at 14:00 of the next day. A start one
// day later does not move that.
func TestFreeInHours(t *testing.T) {
	in := bowlInput(week("Europe/Berlin"), berlin("2026-11-30", "08:00"), nil, 1, 1, 1, 1)
	in.Vessels[0].FreeInH = 30
	p := of(t, in)
	if want := berlin("2026-12-01", "15:15"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
	if w := p.Steps[0].Waits; w != "It waits until Tue 1 Dec 14:00, because the bowl is taken, as the shelf says, until then." {
		t.Error(w)
	}
	for _, m := range p.Moves {
		if strings.Contains(m.What, "later") {
			t.Errorf("%s", m.Says)
		}
		if m.What == "one more bowl" && !m.Ready.Equal(berlin("2026-11-30", "09:15")) {
			t.Error(m.Says)
		}
	}
}

// A plan without keys: 10 h attended are 2 of programming, 1 of set-up, 4 of the route
// and so 3 of handling; 6 h alone are 1 of the route and so 5 of milling.
func TestOlderPlan(t *testing.T) {
	in := escutcheon()
	in.Rates.ProgramH, in.Rates.SetupMin = sure(2), sure(60)
	in.Plan.Price = fettle.Price{LotPrice: fettle.LotPrice{AttendedH: sure(10), AloneH: sure(6)}}
	in.Plan.Route = fettle.Route{step(fettle.StepSurface, "pass", 0, 60), step(fettle.StepRub, "rub", 240, 0)}
	p := of(t, in)
	// 2 + 1 + (3 + 5) + 1 + 4 = 16 h: two days
	if want := berlin("2026-12-01", "16:00"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
	if !strings.Contains(p.Basis, "older than its list of minutes") {
		t.Error(p.Basis)
	}
	in.Plan.Price, in.Rates = fettle.Price{}, fettle.Rates{}
	if p := of(t, in); !strings.Contains(p.Basis, "are not in it") || !strings.Contains(p.Basis, "has no calendar") {
		t.Error(p.Basis)
	}
}

func TestWhatCannotBePromised(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Input)
		code   fettle.Code
		want   string
	}{
		"too many": {func(in *Input) { in.Plan.Route[2] = barrel("cob", "dry barrel", 1000, 14, 14) }, fettle.No, `"cob"`},
		"nobody":   {func(in *Input) { in.Rates.Calendar.Closed = []string{"2026-11-01/2030-01-01"} }, fettle.No, "programming"},
		"long loading": {func(in *Input) {
			in.Plan.Route[2].MinutesAttended = sure(30 * 60)
		}, fettle.No, "without a break"},
		"an age":      {func(in *Input) { in.Plan.Route[2].Charge.Hours = sure(1e5) }, fettle.No, `"cob"`},
		"no vessel":   {func(in *Input) { in.Vessels[0].Name = "bowl" }, fettle.NotFound, `"dry barrel"`},
		"no number":   {func(in *Input) { in.Plan.Route[1].MinutesAttended.High = math.NaN() }, fettle.Invalid, "rub"},
		"below zero":  {func(in *Input) { in.Plan.Route[1].MinutesAttended = sure(-1) }, fettle.Invalid, "rub"},
		"no end":      {func(in *Input) { in.Plan.Route[2].Charge.Hours = sure(math.Inf(1)) }, fettle.Invalid, "cob"},
		"no calendar": {func(in *Input) { in.Rates.Calendar.Zone = "Nowhere" }, fettle.Invalid, "Nowhere"},
	} {
		in := escutcheon()
		c.change(&in)
		_, err := Of(context.Background(), in)
		if fettle.CodeOf(err) != c.code || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v (%s), want %s with %q", name, err, fettle.CodeOf(err), c.code, c.want)
		}
	}
	done, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Of(done, escutcheon()); err != context.Canceled {
		t.Errorf("cancelled: %v", err)
	}
}

// Nothing to do is ready at once, and bookings that cannot be are passed over.
func TestNothingToDo(t *testing.T) {
	in := Input{Plan: &fettle.Plan{}, From: berlin("2026-11-28", "12:00"), Booked: []fettle.Booking{
		taken("", "turned round", "person", 0, berlin("2026-12-01", "08:00"), berlin("2026-11-01", "08:00")), {}, {Resource: "vessel nowhere", Number: -4, To: berlin("2027-01-01", "08:00")},
	}}
	if p := of(t, in); !p.Safe.Equal(in.From) || p.Steps == nil || p.Chain == nil || p.Moves == nil || p.Bookings == nil {
		t.Errorf("%+v", p)
	}
}
