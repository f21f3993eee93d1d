package stock

import "fettle"

// mops are wheels of a bench polisher, each with the bar that belongs to it. All of
// their numbers are starting guesses: no table of what a mop leaves, or when, was
// found in print.
func mops() []fettle.Mop {
	return []fettle.Mop{
		{
			Name: "sisal", Title: "Sisal wheel with cutting bar", Wheel: "sisal", Compound: "cutting bar",
			ContactMM: 20, LimitRaUM: guessed(0.15, 0.08, 0.3), MinPer100CM2: guessed(3, 1.2, 8), CutUMMin: guessed(0.4, 0.15, 1),
			StartRaUM: 0.8, BarCost: about(6, 2), Basis: guess,
		},
		{
			Name: "sewn cotton", Title: "Sewn cotton mop with cut-and-colour bar", Wheel: "sewn cotton", Compound: "cut-and-colour bar",
			ContactMM: 12, LimitRaUM: guessed(0.06, 0.03, 0.12), MinPer100CM2: guessed(3, 1.2, 8), CutUMMin: guessed(0.15, 0.05, 0.4),
			StartRaUM: 0.3, BarCost: about(5, 2), Basis: guess,
		},
		{
			Name: "loose cotton", Title: "Loose cotton mop with fine colour bar", Wheel: "loose cotton", Compound: "fine colour bar",
			ContactMM: 8, LimitRaUM: guessed(0.015, 0.008, 0.03), MinPer100CM2: guessed(2, 0.8, 5), CutUMMin: guessed(0.03, 0.01, 0.1),
			StartRaUM: 0.12, BarCost: about(5, 2), Basis: guess,
		},
	}
}
