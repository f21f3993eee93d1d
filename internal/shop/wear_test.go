package shop_test

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/store"
	"fettle/internal/shop"
)

// foreseen is a shop with one open job, whose plan has these openings and this step.
func foreseen(t *testing.T, change func(*fettle.Plan)) (s *shop.Shop, job, plan string) {
	t.Helper()
	st, err := store.Open(t.Context(), store.Options{Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	s = shop.New(shop.Options{Store: st, Program: "test", Now: func() time.Time { return noon }})
	if err := s.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	p := plated(t, "satin")
	change(p)
	b, err := st.PutBlob(t.Context(), bytes.NewReader(body(t, p)), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	part := mustMake(t, s, fettle.Record{Kind: fettle.KeptPart, Body: body(t, fettle.Part{Name: "plate"})})
	model, err := s.AddFile(t.Context(), "owner", "", part.ID, "plate.stl", strings.NewReader("one"))
	if err != nil {
		t.Fatal(err)
	}
	j := mustMake(t, s, fettle.Record{Kind: fettle.KeptJob, Links: map[string]string{"file": model.ID}, Body: body(t, fettle.Job{Title: "Escutcheon plate", Brief: p.Brief})})
	r := mustMake(t, s, fettle.Record{
		Kind: fettle.KeptPlan, Name: "plan", Links: map[string]string{"job": j.ID, "file": model.ID}, Files: map[string]string{"plan": b.SHA256},
		Body: body(t, fettle.PlanSheet{}),
	})
	return s, j.ID, r.ID
}

func mustMake(t *testing.T, s *shop.Shop, r fettle.Record) fettle.Record {
	t.Helper()
	r, err := s.Make(t.Context(), "owner", "", r)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func close2(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > share*math.Abs(want) {
		t.Errorf("%s is %.6g, want %.6g", what, got, want)
	}
}

func holes(p *fettle.Plan) {
	p.Survey.Openings = []fettle.Opening{
		{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: 4, WidestMM: 9, LengthMM: 4, DepthMM: 6, Form: "countersunk"},
		{ID: "hole-2", Kind: fettle.Hole, Through: true, WidthMM: 6, WidestMM: 6, LengthMM: 6, DepthMM: 6},
		{ID: "hole-3", Kind: fettle.Hole, Through: true, WidthMM: 3, WidestMM: 3, LengthMM: 3, DepthMM: 6},
	}
}

// A piece loses 3·(1 − share)/rate hours on its way to a share of its size (the rate of
// weight when new: size falls linearly). The fine ceramic of 5 mm that loses 0.15 % an
// hour in a bowl goes into 4 mm after 3·0.2/0.0015 = 400 h, goes into 6 mm already, and is
// thrown out at 79.4 % before it comes to 3 mm.
func TestWear(t *testing.T) {
	s, job, _ := foreseen(t, holes)
	fine := func() shop.MediaWear {
		t.Helper()
		w, err := s.Wear(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range w.Media {
			if m.Name == "ceramic-fine-5" {
				return m
			}
		}
		t.Fatal("the fine ceramic is not told of")
		return shop.MediaWear{}
	}
	m := fine()
	if len(m.Into) != 2 || m.Into[0].Opening != "hole-1" || m.Into[0].When != "later" || m.Into[1].Opening != "hole-2" || m.Into[1].When != "already" || m.Into[1].Hours != nil {
		t.Fatalf("%+v", m.Into)
	}
	in := m.Into[0]
	close2(t, "hours in a bowl", in.Hours.Value, 400, 1e-9)
	close2(t, "at the faster wear of 0.3 %", in.Hours.Low, 200, 1e-9)
	close2(t, "at the slower wear of 0.06 %", in.Hours.High, 1000, 1e-9)
	close2(t, "hours to where it is thrown out", m.Discard.Hours.Value, 3*(1-0.794)/0.0015, 1e-9)
	if in.Job != job || in.Title != "Escutcheon plate" || in.WidthMM != 4 || !in.Hours.Valid() || in.Day != "" || m.HoursAWeek != nil {
		t.Errorf("%+v", in)
	}
	if in.Chance.P < 0.5 {
		t.Errorf("a piece that just goes in stays with a chance of %g", in.Chance.P)
	}

	// 24 h in a bowl within eight weeks, in a log that began before: 3 h a week.
	run := func(day, vessel string, h float64) {
		mustMake(t, s, fettle.Record{Kind: fettle.KeptRun, Body: body(t, fettle.Run{Day: day, Kind: fettle.StepTumble, Material: "naval brass", Media: "Ceramic fine-5", Vessel: vessel, HoursRun: h})})
	}
	run(noon.AddDate(-1, 0, 0).Format(time.DateOnly), "bowl", 100)
	run(noon.AddDate(0, 0, -20).Format(time.DateOnly), "bowl", 24)
	m = fine()
	if m.HoursAWeek == nil || *m.HoursAWeek != 3 {
		t.Fatalf("hours a week: %v", m.HoursAWeek)
	}
	if want := noon.Add(time.Duration(400.0 / 3 * 7 * 24 * float64(time.Hour))).Format(time.DateOnly); m.Into[0].Day != want {
		t.Errorf("the day is %s, want %s", m.Into[0].Day, want)
	}
	if !(m.Into[0].Early < m.Into[0].Day && m.Into[0].Day < m.Into[0].Late) {
		t.Errorf("%+v", m.Into[0].WearWhen)
	}

	// Now mostly in a barrel, where it loses 0.03 % an hour: 3·0.2/0.0003 = 2000 h.
	run(noon.AddDate(0, 0, -6).Format(time.DateOnly), "wet barrel", 40)
	if m = fine(); !strings.Contains(m.Into[0].Hours.Basis, "barrel") || !strings.Contains(m.Uses, "64 h") {
		t.Errorf("%s; %s", m.Into[0].Hours.Basis, m.Uses)
	}
	close2(t, "hours in a barrel", m.Into[0].Hours.Value, 2000, 1e-9)
}

// A measured bag wins over the shelf's hours: 4.5 mm of 5 are 0.9; 10 h in a bowl since
// leave 3·(0.9 − 0.8)/0.0015 − 10 = 190 h to 4 mm.
func TestWearMeasured(t *testing.T) {
	s, _, _ := foreseen(t, holes)
	r, err := s.Named(t.Context(), fettle.KeptMedia, "ceramic-fine-5")
	if err != nil {
		t.Fatal(err)
	}
	shelf, err := s.Shelf(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	m, err := shelf.MediaNamed("ceramic-fine-5")
	if err != nil {
		t.Fatal(err)
	}
	on := noon.AddDate(0, 0, -10)
	m.HoursRun = 700 // would have worn it out
	m.Lots = []fettle.MediaLot{
		{Name: "old", MeasuredMM: [2]float64{3, 5}, MeasuredOn: on.AddDate(0, -6, 0).Format(time.DateOnly)},
		{Name: "bag 2", MeasuredMM: [2]float64{4.5, 7.5}, MeasuredOn: on.Format(time.DateOnly)},
	}
	r.Body = body(t, m)
	if _, err := s.Alter(t.Context(), "owner", r); err != nil {
		t.Fatal(err)
	}
	for _, days := range []int{-10, -3} { // on the day itself it ran before it was measured
		mustMake(t, s, fettle.Record{Kind: fettle.KeptRun, Body: body(t, fettle.Run{Day: noon.AddDate(0, 0, days).Format(time.DateOnly), Kind: fettle.StepTumble, Material: "naval brass", Media: m.Name, Vessel: "bowl", HoursRun: 10})})
	}
	w, err := s.Wear(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, one := range w.Media {
		if one.Name != m.Name {
			continue
		}
		close2(t, "share now", one.NowShare.Value, 0.9-10*0.15/300, 1e-9)
		close2(t, "size now", one.NowMM[0], 5*(0.9-10*0.15/300), 1e-9)
		close2(t, "hours", one.Into[0].Hours.Value, 190, 1e-9)
		if !strings.Contains(one.NowShare.Basis, "bag 2") || !one.NowShare.Valid() {
			t.Errorf("%+v", one.NowShare)
		}
	}
}

// What a plan says and what a run measured, at the start, on the way and at the end.
func TestCompare(t *testing.T) {
	s, job, plan := foreseen(t, func(p *fettle.Plan) {
		ra := func(v, k float64) fettle.Estimate { return fettle.Guess(v, v/k, v*k, "test") }
		p.Route[0].RaUM, p.Route[0].RemovedUM = ra(0.5, 1.5), ra(5, 2)
		p.Route = append(fettle.Route{{Key: "pass", Name: "Cut", Kind: fettle.StepSurface, Zone: "show", RaUM: ra(1.6, 1.2)}}, p.Route...)
	})
	links := map[string]string{"job": job, "plan": plan}
	run := mustMake(t, s, fettle.Record{Kind: fettle.KeptRun, Links: links, Body: body(t, fettle.Run{
		Day: "2026-03-20", Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic-fine-5", Vessel: "wet barrel", Step: "tumble", HoursRun: 18, AreaMM2: 7500,
	})})
	for _, r := range []fettle.Reading{
		{Kind: fettle.ReadRa, AtH: 0, Value: 2.5},
		{Kind: fettle.ReadRa, AtH: 20, Value: 0.6},
		{Kind: fettle.ReadGrade, AtH: 20, Value: 5}, // N5 is 0.4 µm (ISO 1302:1992, annex)
		{Kind: fettle.ReadGrams, AtH: 10, Value: 0.2},
		{Kind: fettle.ReadJammed, AtH: 20, Value: 1, Place: "hole-1"},
	} {
		if _, err := s.AddReading(t.Context(), "hand", "", run.ID, r); err != nil {
			t.Fatal(err)
		}
	}
	c, err := s.Compare(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	// Grams: half of 5 µm on 7500 mm² of 8.41 g/cm³ are 0.0025 mm · 7500 mm² = 18.75 mm³, 0.1577 g.
	want := []struct {
		kind                string
		predicted, measured float64
		inside              bool
	}{{"hours", 20, 18, false}, {"ra", 1.6, 2.5, false}, {"ra", 0.5, 0.6, true}, {"grade", 0.5, 0.4, true}, {"grams", 0.15769, 0.2, true}}
	if len(c.Numbers) != len(want) || c.Inside != 3 {
		t.Fatalf("%d numbers, %d inside: %+v", len(c.Numbers), c.Inside, c.Numbers)
	}
	for i, w := range want {
		n := c.Numbers[i]
		if n.Kind != w.kind || n.Inside != w.inside || n.Run != run.ID || n.Job != job || n.Day != "2026-03-20" {
			t.Errorf("%+v", n)
		}
		close2(t, w.kind+" predicted", n.Predicted.Value, w.predicted, 1e-4)
		close2(t, w.kind+" measured", n.Measured, w.measured, 1e-9)
	}
}
