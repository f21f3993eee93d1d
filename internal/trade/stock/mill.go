package stock

import (
	"fmt"
	"strconv"

	"fettle"
)

// Lengths follow the short and regular series that a small shop buys.
func cutters() []fettle.Cutter {
	num := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	ball := func(d, reach, flute, price float64) fettle.Cutter {
		return fettle.Cutter{
			Name: "ball-" + num(d), Title: num(d) + " mm ball, solid carbide", Shape: fettle.Ball,
			DiameterMM: d, CornerMM: d / 2, Flutes: 2, ReachMM: reach, FluteMM: flute,
			Price: about(price, 1.8), LifeH: about(4, 2.5), Basis: guess,
		}
	}
	bull := func(d, r, reach, flute, price float64) fettle.Cutter {
		return fettle.Cutter{
			Name: "bull-" + num(d) + "-r" + num(r), Title: fmt.Sprintf("%s mm end mill, corner radius %s mm, solid carbide", num(d), num(r)), Shape: fettle.Bull,
			DiameterMM: d, CornerMM: r, Flutes: 4, ReachMM: reach, FluteMM: flute,
			Price: about(price, 1.8), LifeH: about(5, 2.5), Basis: guess,
		}
	}
	flat := func(d float64, flutes int, reach, flute, price float64) fettle.Cutter {
		return fettle.Cutter{
			Name: "flat-" + num(d), Title: num(d) + " mm square end mill, solid carbide", Shape: fettle.Flat,
			DiameterMM: d, Flutes: flutes, ReachMM: reach, FluteMM: flute,
			Price: about(price, 1.8), LifeH: about(5, 2.5), Basis: guess,
		}
	}
	return []fettle.Cutter{
		ball(1, 4, 1.5, 24), ball(2, 8, 3, 24), ball(3, 12, 5, 26), ball(4, 16, 8, 28),
		ball(6, 20, 10, 32), ball(8, 25, 12, 42), ball(10, 30, 15, 55), ball(12, 36, 18, 75),
		bull(3, 0.2, 9, 6, 28), bull(6, 0.5, 20, 13, 36), bull(10, 1, 30, 22, 60), bull(12, 2, 36, 26, 80),
		flat(2, 2, 6, 4, 18), flat(3, 3, 9, 8, 20), flat(6, 3, 20, 16, 28), flat(10, 3, 30, 25, 48),
	}
}

func jaws() []fettle.Jaws {
	// Two screws with recessed heads, from both faces, halfway up: such a jaw can be
	// turned about all three ways, and gives four edges to cut.
	screws := func(apart, height, diameter, head, deep float64) []fettle.JawHole {
		hole := fettle.JawHole{XMM: -apart / 2, ZMM: -height / 2, DiameterMM: diameter, HeadMM: head, HeadDeepMM: deep, BothFaces: true}
		other := hole
		other.XMM = apart / 2
		return []fettle.JawHole{hole, other}
	}
	friction := guessed(0.15, 0.10, 0.22) // brass or steel on aluminium, wet with coolant
	return []fettle.Jaws{
		{
			Name: "soft-100", Title: "Pair of soft jaws, 100 mm", Metal: "6061-T6",
			WidthMM: 100, HeightMM: 32, ThickMM: 22, OpenMM: 80,
			Holes: screws(60, 32, 8.5, 14, 9), ClampN: guessed(8000, 4000, 14000), Friction: friction, Basis: guess,
		},
		{
			Name: "soft-150", Title: "Pair of tall soft jaws, 150 mm", Metal: "6061-T6",
			WidthMM: 150, HeightMM: 50, ThickMM: 32, OpenMM: 130,
			Holes: screws(95, 50, 13, 20, 13), ClampN: guessed(15000, 8000, 25000), Friction: friction, Basis: guess,
		},
	}
}

func mills() []fettle.Machine {
	return []fettle.Machine{
		{
			Name: "bench mill", Title: "Bench mill with a small control",
			TravelMM: [3]float64{300, 180, 250}, MaxRPM: 10000, MaxFeedMMMin: 2500,
			AccelXY:    fettle.Guess(0.4, 0.1, 1.0, "public machine settings, read"),
			AccelZ:     fettle.Guess(0.25, 0.05, 0.6, "public machine settings, read"),
			BlocksPerS: fettle.Guess(300, 100, 1000, memory),
			RatePerH:   guessed(30, 15, 60), Basis: guess,
		},
		{
			Name: "small machining centre", Title: "Small machining centre",
			TravelMM: [3]float64{500, 400, 400}, MaxRPM: 12000, MaxFeedMMMin: 12000,
			AccelXY:    guessed(3, 1.5, 6),
			AccelZ:     guessed(3, 1.5, 6),
			BlocksPerS: fettle.Guess(700, 250, 2000, memory),
			RatePerH:   fettle.Guess(63, 50, 80, "listing of three-axis mills (2026), read"), Basis: guess,
		},
	}
}
