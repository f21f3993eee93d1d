package promise

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fettle"

	"github.com/google/go-cmp/cmp"
)

func berlin(day, clock string) time.Time {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		panic(err)
	}
	t, err := time.ParseInLocation("2006-01-02 15:04", day+" "+clock, zone)
	if err != nil {
		panic(err)
	}
	return t
}

func taken(job, title, resource string, number int, from, to time.Time) fettle.Booking {
	return fettle.Booking{Job: job, Title: title, Resource: resource, Number: number, From: from, To: to}
}

// Three other jobs are in the way. Worked by hand:
//
//	Mon 08:00–11:30  programming, setting up, sawing
//	    11:30–12:00  milling; 12:00–13:00 the mill is the latches'
//	    13:00–14:00  set up again; 14:00–15:00 milling, 30 min are left
//	    15:00        the knobs have the person until Tue 12:00, 1 h + 4 h of it working hours
//	Tue 12:00–12:30  milling; 12:30–13:30 pass; 13:30–16:00 rubbing, 150 of 300 min
//	Wed 08:00–10:30  rubbing; the barrel is the hinges' until Thu 10:00
//	Thu 10:00–10:06  loading; 8 h to 18:06, when nobody is in
//	Fri 08:00–08:03  a look; 6 h to 14:03, a look to 14:06; to 16:00 of 16 h, 14 h 6 min left
//	Mon 08:00        and on, to 22:06; the weekend may not be run through
//	Tue 08:00–08:09  out; 51 min of washing and inspecting to 09:00
func TestChain(t *testing.T) {
	in := escutcheon()
	in.Booked = []fettle.Booking{
		taken("J3", "Brass knobs", "person", 0, berlin("2026-11-30", "15:00"), berlin("2026-12-01", "12:00")),
		taken("J4", "Hinges", "vessel dry barrel", 0, berlin("2026-12-01", "08:00"), berlin("2026-12-03", "10:00")),
		taken("J5", "Latches", "mill knee mill", 0, berlin("2026-11-30", "12:00"), berlin("2026-11-30", "13:00")),
		taken("J7", "Escutcheon plates", "person", 0, berlin("2026-11-30", "08:00"), berlin("2026-12-30", "16:00")), // its own
		taken("J8", "Caps", "vessel wet barrel", 0, berlin("2026-11-30", "08:00"), berlin("2026-12-30", "16:00")),   // not in the way
		taken("J9", "Feet", "mill other mill", 0, berlin("2026-11-30", "08:00"), berlin("2026-12-30", "16:00")),
	}
	in.Plan.Route[2] = barrel("cob", "dry barrel", 1, 30, 8, 14, 30)
	p := of(t, in)
	want := []string{
		"“programming”, “setting up the mill”, “sawing” and “milling to shape” follow one another, 5 h 30 min of work, from Mon 30 Nov 08:00 to Tue 1 Dec 12:30.",
		"In between, others come first: “Brass knobs” for 5 h and “Latches” for 60 min. The mill is set up again after “Latches”, on Mon 30 Nov 13:00.",
		"“pass” and “rub” follow one another, 6 h of work, from Tue 1 Dec 12:30 to Wed 2 Dec 10:30.",
		"The charge of “cob” goes into the dry barrel on Thu 3 Dec 10:00, because the dry barrel is taken by “Hinges” until then.",
		"It runs 30 h, 8.2 h of it while nobody is in, and is done on Mon 7 Dec 22:06.",
		"Its timer stops it on Thu 3 Dec 18:06 until somebody looks into it on Fri 4 Dec 08:00.",
		"It stands from Fri 4 Dec 16:00 to Mon 7 Dec 08:00, because nothing may run then.",
		"It is taken out on Tue 8 Dec 08:00, because nobody is in until then.",
		"“wash” and “inspect” follow one another, 51 min of work, from Tue 8 Dec 08:09 to 09:00.",
	}
	if d := cmp.Diff(want, p.Chain); d != "" {
		t.Error(d)
	}
	in.Plan.Route = append(in.Plan.Route[:2:2], in.Plan.Route[3:]...)
	in.Booked = nil
	if c, want := of(t, in).Chain, "8 steps follow one another, the first “programming” and the last “inspect”, 12 h of work, from Mon 30 Nov 08:00 to Tue 1 Dec 12:21."; len(c) != 1 || c[0] != want {
		t.Errorf("%q, want %q", c, want)
	}
	// Without the hinges it goes in on Wed 10:30: looks at Wed 18:36, so Thu 08:00, then
	// Thu 14:03, and 16 h more are over at Fri 06:06: out at 08:00, ready at 09:00, just
	// as with a second barrel.
	moves := map[string]string{
		"one more dry barrel":     "With one more dry barrel it is ready on Fri 4 Dec 09:00, 4 days sooner.",
		"“Hinges” out of the way": "With “Hinges” out of the way it is ready on Fri 4 Dec 09:00, 4 days sooner.",
		// On Saturday 16 h + 8 h of Friday night are over: Sat 06:06.
		"work on Saturdays": "With work on Saturdays it is ready on Sat 5 Dec 09:00, 3 days sooner.",
	}
	for _, m := range p.Moves {
		if says, ok := moves[m.What]; ok && says != m.Says {
			t.Errorf("%s", cmp.Diff(says, m.Says))
		}
		delete(moves, m.What)
		if strings.Contains(m.What, "Caps") || strings.Contains(m.What, "Feet") || strings.Contains(m.What, "Escutcheon") {
			t.Errorf("%s was never in the way", m.What)
		}
	}
	if len(moves) > 0 {
		t.Errorf("not told: %v", moves)
	}
	if !slices.IsSortedFunc(p.Moves, func(a, b fettle.Move) int { return a.Ready.Compare(b.Ready) }) || len(p.Moves) > mostMoves {
		t.Errorf("moves out of order: %+v", p.Moves)
	}
	if w := p.Steps[6].Waits; w != "It waits until Thu 3 Dec 10:00, because the dry barrel is taken by “Hinges” until then." {
		t.Error(w)
	}
}

// A change of the clocks in a night makes a barrel's hours an hour longer or shorter by
// the clock on the wall: 10 h from Saturday 22:00 are over on Sunday 09:00 where clocks
// go forward in between and on 07:00 where they go back.
func TestClocksChangeWhileItRuns(t *testing.T) {
	for _, c := range []struct{ zone, from, want string }{
		{"Europe/Berlin", "2026-03-28T21:00:00Z", "2026-03-29 09:06"},
		{"Europe/Berlin", "2026-10-24T20:00:00Z", "2026-10-25 07:06"},
		{"Europe/Berlin", "2026-07-18T20:00:00Z", "2026-07-19 08:06"},
		{"America/New_York", "2026-03-08T03:00:00Z", "2026-03-08 09:06"},
		{"America/New_York", "2026-11-01T02:00:00Z", "2026-11-01 07:06"},
	} {
		from, err := time.Parse(time.RFC3339, c.from)
		if err != nil {
			t.Fatal(err)
		}
		cal := fettle.Calendar{Zone: c.zone, Nights: true, Week: []fettle.WorkDay{{Day: "sat", From: "08:00", To: "23:00"}, {Day: "sun", From: "06:00", To: "20:00"}}}
		in := bowlInput(cal, from, nil, 1, 1, 10, 10)
		p := of(t, in)
		at := p.Safe.Add(-9 * time.Minute) // a last look and unloading
		if got := at.Format("2006-01-02 15:04"); got != c.want {
			t.Errorf("%s from %s: done at %s, want %s", c.zone, c.from, got, c.want)
		}
	}
}

// A closed span holds up hands, and vessels that may not run over days without work.
func TestClosedSpanBetween(t *testing.T) {
	cal := week("Europe/Berlin")
	cal.Closed = []string{"2026-12-24/2027-01-03"}
	in := bowlInput(cal, berlin("2026-12-23", "15:00"), nil, 1, 1, 20, 20)
	p := of(t, in) // 54 min on Wednesday, 8 h on Monday and its night, 3 h 6 min on Tuesday
	if want := berlin("2027-01-05", "08:09"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
	in.Rates.Calendar.Weekends = true // 20 h are over on the 24th; somebody is in on the 4th
	if p, want := of(t, in), berlin("2027-01-04", "08:09"); !p.Safe.Equal(want) {
		t.Errorf("ready %s, want %s", p.Safe, want)
	}
	if !strings.Contains(strings.Join(p.Chain, " "), "It stands from Wed 23 Dec 16:00 to Mon 4 Jan 2027 08:00, because nothing may run then.") {
		t.Errorf("%q", p.Chain)
	}
}
