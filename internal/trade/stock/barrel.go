package stock

import "fettle"

// halfVolume is the size at which a piece is down to half its volume, the cube
// root of one half: parts begin to hit each other in a charge so far gone.
const halfVolume = 0.794

// wearTable holds the share of weight lost in an hour, in per cent, in a
// vibratory bowl and in a rotary barrel.
var wearTable = map[fettle.MediaKind][2]fettle.Estimate{
	fettle.CeramicFast:    {fettle.Guess(0.9, 0.5, 1.8, trade), guessed(0.20, 0.06, 0.6)},
	fettle.CeramicGeneral: {fettle.Guess(0.5, 0.25, 0.9, trade), guessed(0.10, 0.03, 0.3)},
	fettle.CeramicFine:    {fettle.Guess(0.15, 0.06, 0.3, trade), guessed(0.03, 0.01, 0.1)},
	fettle.Porcelain:      {guessed(0.08, 0.02, 0.15), guessed(0.02, 0.005, 0.05)},
	fettle.PlasticGeneral: {guessed(1.2, 0.5, 3), guessed(0.25, 0.08, 0.8)},
	fettle.PlasticFine:    {guessed(1.2, 0.5, 3), guessed(0.25, 0.08, 0.8)},
	fettle.Steel:          {steelWear, steelWear},
	// Cob and walnut go by time: 40 to 100 hours a charge, taken here as the
	// hours in which a fifth of the weight has turned to dust.
	fettle.Cob:    {guessed(0.3, 0.2, 0.5), guessed(0.3, 0.2, 0.5)},
	fettle.Walnut: {guessed(0.3, 0.2, 0.5), guessed(0.3, 0.2, 0.5)},
}

var steelWear = fettle.Guess(0.0005, 0.0001, 0.005, "arithmetic on a trade reference, read")

// limitTable holds the roughness each kind tends to on mild steel, µm.
var limitTable = map[fettle.MediaKind]fettle.Estimate{
	fettle.CeramicFast:    guessed(0.8, 0.4, 1.6),
	fettle.CeramicGeneral: guessed(0.5, 0.25, 0.9),
	fettle.CeramicFine:    guessed(0.25, 0.12, 0.5),
	fettle.PlasticGeneral: guessed(0.4, 0.2, 0.8),
	fettle.PlasticFine:    guessed(0.2, 0.1, 0.4),
	fettle.Porcelain:      guessed(0.10, 0.05, 0.25),
	fettle.Steel:          guessed(0.12, 0.05, 0.3),
	fettle.Cob:            guessed(0.06, 0.03, 0.15),
	fettle.Walnut:         guessed(0.06, 0.03, 0.15),
}

// timeTable and cutTable compare each kind with general ceramic: its time
// constant and its removal.
var (
	timeTable = map[fettle.MediaKind]fettle.Estimate{
		fettle.CeramicFast:    about(0.6, 1.5),
		fettle.CeramicGeneral: fettle.Exactly(1, "by definition"),
		fettle.CeramicFine:    about(1.5, 1.6),
		fettle.PlasticGeneral: about(1.5, 1.6),
		fettle.PlasticFine:    about(2, 1.8),
		fettle.Porcelain:      about(3, 2),
		fettle.Steel:          about(1, 2.5),
		fettle.Cob:            about(5, 2.5),
		fettle.Walnut:         about(5, 2.5),
	}
	cutTable = map[fettle.MediaKind]fettle.Estimate{
		fettle.CeramicFast:    about(2, 1.5),
		fettle.CeramicGeneral: fettle.Exactly(1, "by definition"),
		fettle.CeramicFine:    about(0.4, 2),
		fettle.PlasticGeneral: guessed(0.42, 0.35, 0.5),
		fettle.PlasticFine:    guessed(0.25, 0.12, 0.5),
		fettle.Porcelain:      about(0.05, 2.5),
		fettle.Steel:          guessed(0.005, 0.001, 0.03),
		fettle.Cob:            guessed(0.005, 0.001, 0.03),
		fettle.Walnut:         guessed(0.007, 0.001, 0.04),
	}
)

// piece describes media by what a label says; the tables give the rest.
type piece struct {
	name, title string
	kind        fettle.MediaKind
	shape       fettle.MediaShape
	size        [2]float64
	bulk        float64
	price       float64
	onShelf     float64
}

func (p piece) media() fettle.Media {
	m := fettle.Media{
		Name: p.name, Title: p.title, Kind: p.kind, Shape: p.shape, SizeMM: p.size,
		Worn: halfVolume, OnShelfL: p.onShelf, BulkKgL: p.bulk,
		WearBowlPctH: wearTable[p.kind][0], WearBarrelPctH: wearTable[p.kind][1],
		LimitRaUM: limitTable[p.kind], TimeFactor: timeTable[p.kind], CutFactor: cutTable[p.kind],
		PricePerKg: about(p.price, 2),
		Basis:      "bulk density: trade reference, read; sizes as sold: from memory; behaviour: " + guess,
	}
	switch p.kind {
	case fettle.CeramicFast, fettle.CeramicGeneral, fettle.CeramicFine:
		m.Silica = true
	case fettle.Porcelain:
		m.Silica, m.StartRaUM = true, 0.5
	case fettle.Steel:
		// Burnishing brightens and does not level. The pieces hardly shrink.
		m.StartRaUM, m.Worn = 0.4, 0.95
	case fettle.Cob, fettle.Walnut:
		m.Dry, m.StartRaUM, m.Worn = true, 0.25, 0.8
		m.Basis = "bulk density and sizes as sold: from memory; behaviour: " + guess
	}
	return m
}

func media() []fettle.Media {
	pieces := []piece{
		{"ceramic-fast-15", "Fast-cut ceramic, angle-cut cylinder 15 × 15 mm", fettle.CeramicFast, fettle.AngleCut, [2]float64{15, 15}, 1.62, 5, 8},
		{"ceramic-fast-10", "Fast-cut ceramic, triangle 10 × 10 mm", fettle.CeramicFast, fettle.Triangle, [2]float64{10, 10}, 1.62, 5, 8},
		{"ceramic-general-8", "General ceramic, angle-cut cylinder 8 × 12 mm", fettle.CeramicGeneral, fettle.AngleCut, [2]float64{8, 12}, 1.60, 5, 8},
		{"ceramic-general-6", "General ceramic, triangle 6 × 6 mm", fettle.CeramicGeneral, fettle.Triangle, [2]float64{6, 6}, 1.60, 5, 8},
		{"ceramic-fine-5", "Fine ceramic, cylinder 5 × 8 mm", fettle.CeramicFine, fettle.Cylinder, [2]float64{5, 8}, 1.68, 7, 8},
		{"ceramic-fine-2", "Fine ceramic, cylinder 2 × 5 mm", fettle.CeramicFine, fettle.Cylinder, [2]float64{2, 5}, 1.68, 8, 8},
		{"plastic-cone-15", "Plastic cone 15 × 15 mm", fettle.PlasticGeneral, fettle.Cone, [2]float64{15, 15}, 1.15, 8, 8},
		{"plastic-triangle-10", "Plastic triangle 10 × 6 mm", fettle.PlasticGeneral, fettle.Triangle, [2]float64{10, 6}, 1.15, 8, 8},
		{"plastic-fine-cone-10", "Fine plastic cone 10 × 10 mm", fettle.PlasticFine, fettle.Cone, [2]float64{10, 10}, 1.10, 9, 8},
		{"plastic-fine-cone-20", "Fine plastic cone 20 × 20 mm", fettle.PlasticFine, fettle.Cone, [2]float64{20, 20}, 1.10, 9, 8},
		{"porcelain-ball-1.5", "Porcelain ball 1.5 mm", fettle.Porcelain, fettle.Sphere, [2]float64{1.5, 1.5}, 1.75, 11, 6},
		{"porcelain-ball-4", "Porcelain ball 4 mm", fettle.Porcelain, fettle.Sphere, [2]float64{4, 4}, 1.75, 9, 6},
		{"porcelain-cylinder-3", "Porcelain angle-cut cylinder 3 × 5 mm", fettle.Porcelain, fettle.AngleCut, [2]float64{3, 5}, 1.72, 9, 6},
		{"steel-pin-1", "Stainless pin 1 × 6 mm", fettle.Steel, fettle.Pin, [2]float64{1, 6}, 3.7, 16, 3},
		{"steel-ball-3", "Stainless ball 3 mm", fettle.Steel, fettle.Sphere, [2]float64{3, 3}, 4.8, 14, 3},
		{"cob-2", "Corn cob, 1–2 mm, with polishing paste", fettle.Cob, fettle.Grain, [2]float64{1, 2}, 0.45, 4, 8},
		{"cob-1", "Fine corn cob, 0.5–1 mm, with polishing paste", fettle.Cob, fettle.Grain, [2]float64{0.5, 1}, 0.48, 5, 8},
		{"walnut-1.5", "Walnut shell, 0.8–1.5 mm, with polishing paste", fettle.Walnut, fettle.Grain, [2]float64{0.8, 1.5}, 0.68, 4, 8},
	}
	out := make([]fettle.Media, 0, len(pieces))
	for _, p := range pieces {
		out = append(out, p.media())
	}
	return out
}

// Machines by how much faster they work than a vibratory bowl.
var (
	rotarySpeed      = guessed(0.2, 0.08, 0.4)
	vibratorySpeed   = fettle.Exactly(1, "by definition")
	centrifugalSpeed = fettle.Guess(5, 3, 8, "arithmetic on read working times")
)

func vessels() []fettle.Vessel {
	alone := guessed(2, 0.5, 5)
	return []fettle.Vessel{
		{
			Name: "wet barrel", Title: "Small rotary barrel, kept wet", Kind: fettle.Rotary,
			VolumeL: 4, DiameterMM: 180, RPMRange: [2]float64{15, 50}, MaxLoadKg: 8,
			Speedup: rotarySpeed, Wet: true, Closed: true, RatePerH: alone, Basis: guess,
		},
		{
			Name: "dry barrel", Title: "Small rotary barrel, kept dry for polishing", Kind: fettle.Rotary,
			VolumeL: 6, DiameterMM: 200, RPMRange: [2]float64{15, 50}, MaxLoadKg: 8,
			Speedup: rotarySpeed, Dry: true, Closed: true, RatePerH: alone, Basis: guess,
		},
		{
			Name: "bowl", Title: "Vibratory bowl, 10 litres", Kind: fettle.Vibratory,
			VolumeL: 10, DiameterMM: 320, MaxLoadKg: 18,
			Speedup: vibratorySpeed, Wet: true, Dry: true, RatePerH: guessed(3, 1, 7), Basis: guess,
		},
		{
			Name: "centrifugal barrel", Title: "Bench centrifugal barrel, one of four drums", Kind: fettle.Centrifugal,
			VolumeL: 1.5, DiameterMM: 120, RPMRange: [2]float64{120, 220}, MaxLoadKg: 3,
			Speedup: centrifugalSpeed, Wet: true, Dry: true, Closed: true, RatePerH: guessed(8, 3, 20), Basis: guess,
		},
	}
}
