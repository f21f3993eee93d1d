package demo

import "fettle"

// Logbook is some runs of the invented shop, with what was read on them: charges
// of which one will not follow any single exponential, weighings, a count of jams,
// and minutes by hand. The numbers are made up, about processes that work a
// little faster than a beginner would guess, and scatter as readings do.
func Logbook() fettle.Logbook {
	ra := func(h, um float64) fettle.Reading { return fettle.Reading{Kind: fettle.ReadRa, AtH: h, Value: um} }
	charge := func(id, day, part, metal, media, vessel string, area float64, readings ...fettle.Reading) fettle.Run {
		return fettle.Run{
			ID: id, Day: day, Part: part, Material: metal, Kind: fettle.StepTumble, Media: media, Vessel: vessel,
			AreaMM2: area, Pieces: 12, Readings: readings,
		}
	}
	log := fettle.Logbook{Shop: Shop, Runs: []fettle.Run{
		charge("plates-1", "2026-02-12", "escutcheon", "naval brass", "ceramic-fine-5", "wet barrel", 7500,
			ra(0, 1.5), ra(1, 1.02), ra(3, 0.71), ra(8, 0.35), ra(12, 0.27),
			fettle.Reading{Kind: fettle.ReadGrams, AtH: 12, Value: 0.43}),
		charge("plates-2", "2026-03-05", "escutcheon", "naval brass", "ceramic-fine-5", "wet barrel", 7500,
			fettle.Reading{Kind: fettle.ReadGrade, AtH: 0, Value: 7},
			fettle.Reading{Kind: fettle.ReadGrade, AtH: 4, Value: 6},
			fettle.Reading{Kind: fettle.ReadGrade, AtH: 8, Value: 5},
			fettle.Reading{Kind: fettle.ReadGrams, AtH: 8, Value: 0.27},
			fettle.Reading{Kind: fettle.ReadMarkGone, AtH: 8, Value: 1, DepthUM: 2.5},
			fettle.Reading{Kind: fettle.ReadJammed, AtH: 8, Value: 1, Place: "slot-1"}),
		charge("knobs-1", "2026-03-18", "knob", "6061", "plastic-cone-15", "wet barrel", 4200,
			ra(0, 0.92), ra(1, 0.70), ra(2, 0.66), ra(4, 0.50)),
		charge("plates-3", "2026-04-02", "escutcheon", "naval brass", "cob-2", "dry barrel", 7500,
			ra(0, 0.34), ra(4, 0.15), ra(12, 0.08),
			fettle.Reading{Kind: fettle.ReadGloss, AtH: 12, Value: 430}),
		charge("brackets-1", "2026-04-20", "bracket", "1018", "ceramic-general-8", "wet barrel", 6000,
			ra(0, 2.4), ra(0.5, 1.47), ra(1, 1.17), ra(2, 1.03), ra(4, 0.90), ra(8, 0.73), ra(12, 0.60), ra(16, 0.51)),
	}}
	log.Runs[4].Notes = "new media, first time in the barrel"
	for _, h := range []struct {
		id, day, metal, grit string
		area, size, min      float64
	}{
		{"hand-1", "2026-02-09", "naval brass", "P240", 2600, 68, 4.1},
		{"hand-2", "2026-02-09", "naval brass", "P400", 2600, 68, 3.4},
		{"hand-3", "2026-02-23", "naval brass", "P400", 1100, 40, 2.2},
		{"hand-4", "2026-03-02", "naval brass", "P400", 5200, 110, 4.9},
		{"hand-5", "2026-03-02", "naval brass", "P240", 5200, 110, 6.3},
		{"hand-6", "2026-03-11", "naval brass", "P400", 3000, 75, 3.9},
		{"hand-7", "2026-04-07", "6061", "P400", 1800, 36, 2.1},
		{"hand-8", "2026-04-07", "6061", "P240", 1800, 36, 2.7},
		{"hand-9", "2026-04-14", "naval brass", "P240", 1100, 40, 2.4},
		{"hand-10", "2026-04-14", "6061", "P400", 4000, 90, 4.4},
	} {
		log.Runs = append(log.Runs, fettle.Run{
			ID: h.id, Day: h.day, Material: h.metal, Kind: fettle.StepRub, Grit: h.grit, AreaMM2: h.area, SizeMM: h.size,
			Readings: []fettle.Reading{{Kind: fettle.ReadMinutes, Value: h.min}},
		})
	}
	return log
}
