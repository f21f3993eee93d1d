package words

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fettle"
)

// at is a moment of December 2026 by the shop's clock; the 4th is a Friday.
func at(day, hour, minute int) time.Time {
	return time.Date(2026, time.December, day, hour, minute, 0, 0, time.FixedZone("shop", -5*3600))
}

func samplePromise() *fettle.Promise {
	return &fettle.Promise{
		From: at(4, 8, 0), Likely: at(7, 14, 30), Safe: at(8, 11, 0), Day: "2026-12-08",
		Steps: []fettle.PromiseStep{
			{Step: 0, Key: "pass ball-6", Name: "Last pass over the show face", Resource: "mill bench mill", From: at(4, 8, 0), To: at(4, 12, 0)},
			{Step: 1, Key: "tumble", Name: "Tumble in fine ceramic", Resource: "vessel bowl", Number: 1, Load: 2, From: at(4, 12, 0), To: at(7, 9, 0),
				Looks: []time.Time{at(7, 8, 30), at(4, 15, 0)}, Waits: "the bowl is free at 12:00"},
			{Step: 2, Name: "Inspect", Resource: "person", From: at(8, 10, 0), To: at(8, 11, 0)},
		},
		Chain: []string{"The mill is taken by the hinge until Fri 4 Dec 08:00.", "two loads of 12 mm media run one after the other."},
		Moves: []fettle.Move{{What: "a second bowl", Ready: at(7, 16, 0), Days: 1}, {What: "half of the lot", Ready: at(7, 12, 0), Days: 0.8, Says: "half of the lot is ready on Mon 7 Dec"}},
		Basis: "there is one person",
	}
}

// The calendar of December 2026: the 4th is a Friday, the 8th a Tuesday (any printed
// calendar).
func TestPromisePage(t *testing.T) {
	want := `Promise it for Tuesday 8 December 2026.
If all goes as it mostly does, it is ready on Monday 7 December 2026, 14:30.
If every step takes as long as it well may, it is ready on Tuesday 8 December
2026, 11:00.
This holds if work may begin on Friday 4 December 2026, 08:00.

Why not sooner
  1. The mill is taken by the hinge until Fri 4 Dec 08:00.
  2. Two loads of 12 mm media run one after the other.

What would move it
  - With a second bowl it is ready on Monday 7 December 2026, 16:00, 1 day
    sooner.
  - Half of the lot is ready on Mon 7 Dec.

When to look
  - Friday 4 December 2026, 15:00: Tumble in fine ceramic, load 2.
  - Monday 7 December 2026, 08:30: Tumble in fine ceramic, load 2.

The work in its order, if all takes long
  - Friday 4 December 2026, 08:00 to 12:00: Last pass over the show face
    (bench mill).
  - Friday 4 December 2026, 12:00 to Monday 7 December 2026, 09:00: Tumble in
    fine ceramic, load 2 (bowl, number 2). The bowl is free at 12:00.
  - Tuesday 8 December 2026, 10:00 to 11:00: Inspect (a person).

How it was reckoned
  - There is one person.
`
	if diff := cmp.Diff(want, Promise(samplePromise(), fettle.Metric)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(want, Promise(samplePromise(), fettle.Inch)); diff != "" {
		t.Errorf("media keep the size they are sold by: %s", diff)
	}
	for _, empty := range []*fettle.Promise{nil, {}} {
		if text := Promise(empty, fettle.Metric); text != "No day was worked out for this lot.\n" {
			t.Errorf("%q", text)
		}
	}
	same := samplePromise()
	same.Likely, same.Chain, same.Moves, same.Steps, same.Basis = same.Safe, nil, nil, nil, ""
	if text := Promise(same, fettle.Metric); text != "Promise it for Tuesday 8 December 2026.\nIt is ready on Tuesday 8 December 2026, 11:00.\nThis holds if work may begin on Friday 4 December 2026, 08:00.\n" {
		t.Errorf("%q", text)
	}
}

func TestMoves(t *testing.T) {
	for days, want := range map[float64]string{1: "1 day sooner.", 2.5: "2.5 days sooner.", -1: "1 day later.", -3: "3 days later.", 0: "no sooner and no later."} {
		got := metric.move(fettle.Move{What: "a night more", Ready: at(7, 9, 0), Days: days})
		if want = "With a night more it is ready on Monday 7 December 2026, 09:00, " + want; got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func sampleAcceptance() *fettle.Acceptance {
	p := func(v float64) *float64 { return &v }
	yes, no := true, false
	return &fettle.Acceptance{
		Look: "satin", Sample: "0198f3c2-0000-7000-8000-00000012ab34", Day: "2026-12-04",
		Limits: []fettle.AcceptLimit{
			{Kind: fettle.ReadRa, Place: "the show face", Unit: "µm", Sample: 0.5, N: 4, Low: p(0.3), High: p(0.8), Basis: "the look's band"},
			{Kind: fettle.ReadJammed, N: 1, Says: "no piece holds media", Basis: "no piece leaves with media in it"},
		},
		Sampling: fettle.SamplingPlan{Lot: 500, Level: "II", AQL: 1, Letter: "H", Size: 50, Accept: 1, Reject: 2, Says: "a lot with 3 % bad is refused 44 times in 100", Source: "ISO 2859-1, table 2-A."},
		First: []fettle.FirstArticle{
			{Number: 1, What: "width", Name: "slot 1", Wanted: "3.60 mm", Measured: p(3.62), Unit: "mm", Right: &yes},
			{Number: 2, What: "depth", Wanted: "2.50 mm", Measured: p(2.4), Unit: "mm", Right: &no},
			{Number: 3, What: "Ra", Wanted: "0.80 µm", Measured: p(0.5), Unit: "µm"},
			{Number: 4, What: "look"},
		},
		Notes: []string{"the customer asked for no mark at the rim"},
	}
}

func TestAcceptancePage(t *testing.T) {
	want := `What right means for satin. The customer signed off the sample of run 12ab34
on 2026-12-04.

What a piece is held to
  - Ra on the show face: from 0.3 µm to 0.8 µm. The sample read 0.50 µm, the
    mean of 4 readings. The width is from the look's band.
  - No piece holds media. The width is from no piece leaves with media in it.

How many to look at
  - Look at 50 pieces of the 500, drawn at random. Take the lot if no more
    than one of them fails; refuse it if more do.
  - A lot with 3 % bad is refused 44 times in 100.
  - The plan is from ISO 2859-1, table 2-A.

First article
  - 1. width, slot 1: 3.60 mm is wanted; it measures 3.62 mm, which is right.
  - 2. depth: 2.50 mm is wanted; it measures 2.40 mm, which is NOT right.
  - 3. Ra: 0.80 µm is wanted; it measures 0.50 µm.
  - 4. look; not measured yet.

Notes
  - The customer asked for no mark at the rim.
`
	if diff := cmp.Diff(want, Acceptance(sampleAcceptance(), fettle.Metric)); diff != "" {
		t.Error(diff)
	}
	// 0.3 µm are 11.8 µin, 3.62 mm 0.143 in (1 in is 25.4 mm, exactly).
	inch := flatten(Acceptance(sampleAcceptance(), fettle.Inch))
	for _, w := range []string{"from 11.8 µin to 31.5 µin", "The sample read 20 µin", "0.142 in is wanted; it measures 0.143 in"} {
		if !strings.Contains(inch, w) {
			t.Errorf("no %q in %s", w, inch)
		}
	}
	for _, empty := range []*fettle.Acceptance{nil, {}} {
		if text := Acceptance(empty, fettle.Metric); text != "Nothing was agreed on that a lot could be held to.\n" {
			t.Errorf("%q", text)
		}
	}
	for want, s := range map[string]fettle.SamplingPlan{
		"Look at all 8 pieces of the lot.": {Lot: 8, Size: 8, All: true}, "Look at the one piece.": {Lot: 1, Size: 1},
		"Look at 5 pieces of the 1,200, drawn at random. Take the lot if none of them fails; refuse it if one does.":         {Lot: 1200, Size: 5, Reject: 1},
		"Look at 80 pieces of the 900, drawn at random. Take the lot if 2 or fewer of them fail; refuse it if more do.":      {Lot: 900, Size: 80, Accept: 2, Reject: 3},
		"Look at 80 pieces of the 900, drawn at random. Take the lot if 2 or fewer of them fail, refuse it if 5 or more do.": {Lot: 900, Size: 80, Accept: 2, Reject: 5},
	} {
		if got := metric.samplingPlan(s); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
