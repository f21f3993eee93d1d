// Package stock is the shelf that serves until a shop has entered its own:
// [Shelf] returns alloys, cutters, jaws, grits, media, barrels, mills, finishes
// and rates of the kinds that a small shop has.
//
// Every number carries its basis, and the basis says how far to trust it: a
// published table that was read, a trade reference, a handbook value from
// memory, or a starting guess. Guesses are wide on purpose. No table of how
// fast a barrel smooths could be found in print, so those numbers are guesses
// to the last one; a shop's first measured charge is worth more than all of
// them.
//
// Intervals run from the 10 % to the 90 % point and are read as log-normal.
package stock

import "fettle"

// The bases that recur on this shelf.
const (
	guess    = fettle.BasisGuess
	memory   = "from memory"
	trade    = "trade reference, read"
	kienzle  = "catalogue after VDI 3323 (2017), alloy mapping ours"
	sample   = "agreed by sample; the band is a starting guess"
	supplier = "starting guess on suppliers' rows, read"
)

// Currency is what the shelf's prices are in.
const Currency = "USD"

// Shelf returns a new copy of the built-in shelf, which the caller may change.
func Shelf() *fettle.Shelf {
	return &fettle.Shelf{
		Materials: alloys(),
		Looks:     looks(),
		Cutters:   cutters(),
		Jaws:      jaws(),
		Softs:     softs(),
		Grits:     grits(),
		Mops:      mops(),
		Media:     media(),
		Vessels:   vessels(),
		Machines:  mills(),
		Rates:     rates(),
	}
}

func guessed(median, low, high float64) fettle.Estimate {
	return fettle.Guess(median, low, high, guess)
}

// about is a guess that is as likely to be out by a factor of f either way.
func about(median, f float64) fettle.Estimate { return guessed(median, median/f, median*f) }

// looks are finishes as this shop might agree them with a customer, by sample: no
// standard defines any of the names, and every number may be changed. The chance
// of an older mark that each allows is a starting guess; the brighter the face, the
// more a mark is looked for. That bright finishes run wetter is common practice.
func looks() []fettle.Look {
	band := func(aim, low, high float64) fettle.Estimate { return fettle.Guess(aim, low, high, sample) }
	return []fettle.Look{
		{
			Name: "as machined", Title: "As machined", Lay: fettle.LayAny, CuspsMayShow: true,
			Says: "The cutter's own fine pattern, with burrs taken off by hand where they would cut a finger.",
			RaUM: band(1.6, 0.8, 3.2), EdgeUM: band(50, 20, 150), MarkChance: 1, Basis: sample,
		},
		{
			Name: "deburred", Title: "Deburred", Lay: fettle.LayAny, CuspsMayShow: true,
			Says: "The cutter's pattern, slightly softened, with every edge broken evenly by tumbling.",
			RaUM: band(1.2, 0.6, 2.4), EdgeUM: band(100, 50, 250), MarkChance: 1, Basis: sample,
		},
		{
			Name: "satin", Title: "Satin", Lay: fettle.LayOne,
			Says: "A fine even grain in one direction that catches the light softly.",
			RaUM: band(0.4, 0.2, 0.8), EdgeUM: band(100, 40, 200), MarkChance: 0.25, Basis: sample,
		},
		{
			Name: "matte", Title: "Matte", Lay: fettle.LayNone,
			Says: "Even and quiet from every side, without direction or shine.",
			RaUM: band(0.7, 0.4, 1.2), EdgeUM: band(120, 60, 300), MarkChance: 0.15, Basis: sample,
		},
		{
			Name: "stonewash", Title: "Stonewashed", Lay: fettle.LayNone,
			Says: "Tumbled to a lively, slightly worn face with soft edges; scratches of use hardly show on it.",
			RaUM: band(0.55, 0.3, 1.0), EdgeUM: band(150, 80, 400), MarkChance: 0.25, Basis: sample,
		},
		{
			Name: "bright", Title: "Bright", Lay: fettle.LayNone,
			Says: "Shiny, with softened reflections; marks of tools are gone.",
			RaUM: band(0.15, 0.08, 0.25), EdgeUM: band(150, 80, 400), MarkChance: 0.1, Tone: fettle.ToneBright, Basis: sample,
		},
		{
			Name: "mirror", Title: "Mirror", Lay: fettle.LayNone,
			Says: "Reflections with clear outlines; every earlier mark would show, so none may be left.",
			RaUM: band(0.015, 0.006, 0.03), EdgeUM: band(150, 80, 400), MarkChance: 0.05, Specular: 0.85, Tone: fettle.ToneBright, Basis: sample,
		},
	}
}

func rates() fettle.Rates {
	return fettle.Rates{
		Currency:     Currency,
		PersonPerH:   guessed(35, 20, 60),
		MarginShare:  0.25,
		ScrapShare:   0.05,
		ProgramH:     guessed(2, 0.8, 5),
		SetupMin:     guessed(30, 15, 60),
		SampleLoops:  1,
		HandlingMin:  guessed(1.5, 0.7, 3),
		RoughMinCM3:  guessed(0.8, 0.3, 2),
		StockOverMM:  2,
		DayH:         7, // of eight: the rest goes to the telephone and the broom
		CompoundPerL: guessed(9, 4, 20),
		// Work by hand goes to 0.85 to 0.95 at a doubling in common practice; these pieces
		// are small and much of their time is the paper's, not the hand's.
		Learning:  fettle.Learning{Rate: 0.95, Until: 200, Basis: "starting guess within common practice (0.85–0.95)"},
		SawMin:    guessed(1.5, 0.7, 3),
		KerfMM:    2,
		DropShare: 0.5, // half of what is left of a bar is used some day
		// Filament or resin, the printer's hours and the failed ones.
		PrintPerCM3: guessed(0.10, 0.04, 0.25),
		JawsEach:    guessed(18, 9, 36),
		JawMin:      guessed(30, 15, 60),
		Calendar:    calendar(),
		Basis:       guess,
	}
}

// calendar is a week of five days, with barrels left running from one to the next.
func calendar() fettle.Calendar {
	c := fettle.Calendar{Nights: true, Basis: guess}
	for _, day := range []string{"mon", "tue", "wed", "thu", "fri"} {
		c.Week = append(c.Week, fettle.WorkDay{Day: day, From: "08:00", To: "16:30"})
	}
	return c
}
