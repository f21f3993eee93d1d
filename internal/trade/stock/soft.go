package stock

import "fettle"

// softs are what plugs are made of. How much wider than its hole a plug is made
// goes with how soft it is; no table says, so these are starting guesses.
func softs() []fettle.Soft {
	return []fettle.Soft{
		{
			Name: "flex-95a", Title: "Flexible polyurethane filament, 95 Shore A", ShoreA: 95, Printed: true,
			Squeeze: guessed(0.03, 0.015, 0.05), LeastMM: 0.8,
			Says: "prints on most machines; stands water and soap; comes out again many times", Basis: guess,
		},
		{
			Name: "flex-85a", Title: "Soft polyurethane filament, 85 Shore A", ShoreA: 85, Printed: true,
			Squeeze: guessed(0.05, 0.03, 0.08), LeastMM: 1,
			Says: "prints slowly; closes rough bores better; stands water and soap", Basis: guess,
		},
		{
			Name: "silicone-50a", Title: "Silicone rubber, 50 Shore A, cast", ShoreA: 50,
			Squeeze: guessed(0.10, 0.06, 0.15), LeastMM: 1,
			Says: "cast it in a mould printed from the plug's negative; stands hot water and all compounds; tears at a nick", Basis: guess,
		},
	}
}
