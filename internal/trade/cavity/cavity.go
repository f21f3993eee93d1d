// Package cavity finds openings from the void: where a sphere that rolls round
// the part does not get in, and how wide what is left is along its depth.
package cavity

import "fettle/internal/shape/field"

// Void is the space round a part, measured.
type Void struct {
	*field.Field
	// Opening is the index of the survey's opening that each cell lies in, −1 for
	// none.
	Opening []int32
	// Passage is the radius of the largest sphere that can come to each cell of the
	// void from far outside, mm; 0 in the material.
	Passage []float32
}
