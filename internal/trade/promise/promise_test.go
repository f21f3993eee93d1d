package promise

import (
	"context"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"fettle"

	"github.com/google/go-cmp/cmp"
)

func sure(v float64) fettle.Estimate { return fettle.Exactly(v, "agreed") }

func row(key string, attended, alone float64) fettle.PriceLine {
	return fettle.PriceLine{Key: key, Name: key, AttendedMin: sure(attended), AloneMin: sure(alone)}
}

func step(kind fettle.StepKind, name string, attended, alone float64) fettle.Step {
	return fettle.Step{Key: name, Name: name, Kind: kind, MinutesAttended: sure(attended), MinutesAlone: sure(alone)}
}

// barrel is a charge whose minutes at hand fall into 6 to load, 6 to unload and 3 for
// each look, as the plan's own do.
func barrel(name, vessel string, loads int, hours float64, looks ...float64) fettle.Step {
	n := float64(loads)
	s := step(fettle.StepTumble, name, n*(12+3*float64(len(looks))), n*hours*60)
	s.Charge = &fettle.Charge{Vessel: vessel, Loads: loads, Hours: sure(hours), LooksH: looks}
	return s
}

func week(zone string) fettle.Calendar {
	c := fettle.Calendar{}.Usual()
	c.Zone = zone
	return c
}

// escutcheon is a small lot of escutcheon plates.
func escutcheon() Input {
	plan := &fettle.Plan{
		Brief: fettle.Brief{Lot: 10}, Mill: fettle.Machine{Name: "knee mill"},
		Price: fettle.Price{LotPrice: fettle.LotPrice{Lines: []fettle.PriceLine{
			row(fettle.LineProgram, 120, 0), row(fettle.LineSetup, 60, 0), row(fettle.LineStock, 0, 0),
			row(fettle.LineSaw, 30, 0), row(fettle.LineShape, 20, 100),
		}}},
		Route: fettle.Route{
			step(fettle.StepSurface, "pass", 0, 60),
			step(fettle.StepRub, "rub", 300, 0),
			barrel("cob", "dry barrel", 1, 10, 4, 10),
			step(fettle.StepWash, "wash", 15, 0),
			step(fettle.StepInspect, "inspect", 36, 0),
		},
	}
	return Input{
		Plan: plan, Rates: fettle.Rates{Calendar: week("Europe/Berlin")},
		Vessels: []fettle.Vessel{{Name: "dry barrel", Title: "dry barrel"}},
		From:    time.Date(2026, 11, 30, 7, 0, 0, 0, time.UTC), // Monday, 08:00 in Berlin
		Job:     "J7", Title: "Escutcheon plates",
	}
}

// tester is a test or a check of rapid's.
type tester interface {
	Helper()
	Fatal(args ...any)
}

func of(t tester, in Input) *fettle.Promise {
	t.Helper()
	p, err := Of(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Worked by hand: eight hours a day, all at it, nothing else in the shop.
//
//	Mon 08:00  programming 120 min               to Mon 10:00
//	           setting up 60                     to Mon 11:00
//	           sawing 30                         to Mon 11:30
//	           milling, 10 min a piece: somebody
//	           stays, 100 + 20                   to Mon 13:30
//	           pass 60                           to Mon 14:30
//	           rubbing 300: 90 on Monday         to Mon 16:00
//	Tue 08:00  and 210 on Tuesday                to Tue 11:30
//	           loading 6                         to Tue 11:36
//	           running 4 h                       to Tue 15:36
//	           a look of 3                       to Tue 15:39
//	           running 6 h at night              to Tue 21:39
//	Wed 08:00  a last look and unloading 3 + 6   to Wed 08:09
//	           washing 15                        to Wed 08:24
//	           inspecting 36                     to Wed 09:00
func TestWorkedByHand(t *testing.T) {
	p := of(t, escutcheon())
	var got []string
	for _, s := range p.Steps {
		got = append(got, s.Key+" "+s.From.Format("Mon 15:04")+" – "+s.To.Format("Mon 15:04"))
		for _, l := range s.Looks {
			got = append(got, "look "+l.Format("Mon 15:04"))
		}
	}
	want := []string{
		"program Mon 08:00 – Mon 10:00", "setup Mon 10:00 – Mon 11:00", "saw Mon 11:00 – Mon 11:30", "shape Mon 11:30 – Mon 13:30",
		"pass Mon 13:30 – Mon 14:30", "rub Mon 14:30 – Tue 11:30", "cob Tue 11:30 – Wed 08:09", "look Tue 15:36",
		"wash Wed 08:09 – Wed 08:24", "inspect Wed 08:24 – Wed 09:00",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if p.Day != "2026-12-02" || !p.Safe.Equal(time.Date(2026, 12, 2, 8, 0, 0, 0, time.UTC)) || !p.Likely.Equal(p.Safe) {
		t.Errorf("day %s, safe %s, likely %s", p.Day, p.Safe, p.Likely)
	}
	t.Log(strings.Join(p.Chain, "\n"))
	for _, m := range p.Moves {
		t.Log(m.Says)
	}
	t.Log(p.Basis)
}
