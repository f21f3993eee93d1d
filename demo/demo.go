// Package demo is a small invented shop and three parts of its trade, made in
// code: an escutcheon plate in naval brass, a drawer pull in titanium with a
// thin slot, and a turned knob in aluminium. [Parts] gives them as closed meshes
// with what the customer asked for; [Part.Truth] holds what is known of them
// from the drawing, so that what is measured on the mesh can be compared with
// what was drawn.
//
// Nothing here belongs to anybody: shop, parts and customers are made up.
package demo

import (
	"fettle"
	"fettle/internal/shape/mesh"
)

// Shop is the invented shop's name as it stands on its papers.
const Shop = "Tern Lane Small Metals"

// Fineness says how closely a part's mesh follows its drawing.
type Fineness struct {
	ChordMM float64 // largest distance between a chord and its arc, about
	// SideMM bounds the triangles of level faces.
	SideMM float64
}

// The finenesses in use: Fine for the demo (2 µm), Coarse for quick checks.
var (
	Fine   = Fineness{ChordMM: 0.002, SideMM: 2}
	Coarse = Fineness{ChordMM: 0.05, SideMM: 5}
)

// Part is a sample part: its mesh in millimetres with the show face towards +Z,
// and the order for it.
type Part struct {
	ID       string // "escutcheon"
	Title    string // "Escutcheon plate"
	FileName string // of its model file, without a folder
	Says     string // one or two sentences for a person
	Mesh     *mesh.Mesh
	Brief    fettle.Brief
	Truth    Truth
}

// Truth is what the drawing says of a part.
type Truth struct {
	SizeMM [3]float64 // of the box
	// Openings as the survey should find them; a depth counts from the middle of
	// the mouth. Where a mouth lies on a curved face, its place and the depth
	// depend on where one takes the middle: compare those to ToleranceMM.
	Openings    []fettle.Opening
	ToleranceMM float64
	// ThickZ is the length of material above the place (x, y): what a volume is
	// the integral of.
	ThickZ func(x, y float64) float64
}

// Parts are the three sample parts at the demo's fineness.
func Parts() []Part { return PartsAt(Fine) }

// PartsAt are the three sample parts, as finely as asked.
func PartsAt(f Fineness) []Part {
	return []Part{Escutcheon(f), Pull(f), Knob(f)}
}
