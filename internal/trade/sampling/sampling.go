// Package sampling says what "right" means for a lot and how many of its pieces are
// looked at: single plans by attributes ([Plan]) with what they can see
// ([PassChance]), the limits that a signed-off sample sets ([Accept], [Judge]), and
// the record of the first article ([Record]).
//
// The plans are those of ISO 2859-1:1999 and ANSI/ASQ Z1.4, whose tables of single
// plans for normal and tightened inspection are those of MIL-STD-105E (1989, public
// domain). Reduced inspection is left out: there the editions differ.
package sampling

// Inspection that a plan is for.
const (
	Normal    = "normal"
	Tightened = "tightened"
	// Discontinued is no plan: no lot is taken until the cause was found.
	Discontinued = "discontinued"
)

// What is taken where nothing is said: the usual level, and an AQL for a surface
// that a customer looks at.
const (
	UsualLevel = "II"
	UsualAQL   = 1.0
)

// Source names the tables.
const Source = "ISO 2859-1:1999, tables 1, 2-A and 2-B (single plans, as MIL-STD-105E)"
