package demo

import (
	"math"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
)

// The knob's drawing, in millimetres: a turned part with the axis Z. Over the
// neck's lip its side stands upright, with a square groove in it, and rounds
// over into a crowned top.
const (
	knobSide             = 4.0 // height of the upright side
	grooveWide, grooveIn = 1.2, 0.9
	knobEdge             = 2.5 // radius of the rounded top edge
	knobDome             = 30.0
	knobTap, knobTapDeep = 4.2, 14.0 // drilled for M5
)

var knobNeck = neck{waist: 6.5, waistZ: 9.5, hollow: 8, turn: 70 * math.Pi / 180, lip: 2.2, footZ: 3}

// Knob is the turned knob.
func Knob(f Fineness) Part {
	lip := knobNeck.lipCentre()
	radius := lip.X + knobNeck.lip
	edge := r2.Vec{X: radius - knobEdge, Y: lip.Y + knobSide}
	domeZ, meet := crown(knobDome, knobEdge, edge)
	grooveZ := lip.Y + (knobSide-grooveWide)/2

	p := profile{chord: f.ChordMM}
	knobNeck.draw(&p, 0)
	p.line(radius, grooveZ)
	p.line(radius-grooveIn, grooveZ)
	p.line(radius-grooveIn, grooveZ+grooveWide)
	p.line(radius, grooveZ+grooveWide)
	p.arc(edge, knobEdge, 0, meet)

	n := form.Chords(radius, f.ChordMM)
	b := &form.Builder{}
	foot, top := skin(b, p.pts, func(r float64) []r2.Vec { return form.Circle(r2.Vec{}, 2*r, n) })
	dome := func(x, y float64) float64 { return domeZ + math.Sqrt(knobDome*knobDome-x*x-y*y) }
	b.Lifted(form.Up, math.Sqrt(6*f.ChordMM*knobDome), dome, top)

	loop := form.Circle(r2.Vec{}, knobTap, form.Chords(knobTap/2, f.ChordMM))
	mouth, end := b.Ring(loop, 0), b.Ring(loop, knobTapDeep)
	b.Wall(end, mouth)
	b.Flat(form.Down, knobTap/4, end)
	b.Flat(form.Down, f.SideMM, foot, mouth)

	return Part{
		ID: "knob", Title: "Knob", FileName: "knob.3mf",
		Says: "An aluminium knob of revolution with a hollow neck, a groove round its head and a hole to be tapped in " +
			"its foot.",
		Mesh: b.Mesh(),
		Brief: fettle.Brief{
			Material: "6061-T6", Finish: "bright", Lot: 40, ModelUnits: "mm", Up: [3]float64{0, 0, 1},
			Title: "Knob", Shop: Shop,
			Notes: "The groove stays crisp.",
		},
		Truth: knobTruth(radius, domeZ, meet, edge),
	}
}

func knobTruth(radius, domeZ, meet float64, edge r2.Vec) Truth {
	thick := func(x, y float64) float64 {
		r := math.Hypot(x, y)
		if r > radius {
			return 0
		}
		top := domeZ + math.Sqrt(knobDome*knobDome-r*r)
		if r > knobDome*math.Cos(meet) {
			top = edge.Y + math.Sqrt(max(0, knobEdge*knobEdge-(r-edge.X)*(r-edge.X)))
		}
		t := top - knobNeck.under(r)
		if r > radius-grooveIn {
			t -= grooveWide
		}
		if r < knobTap/2 {
			t -= knobTapDeep
		}
		return t
	}
	return Truth{
		SizeMM:      [3]float64{2 * radius, 2 * radius, domeZ + knobDome},
		ToleranceMM: 0.02,
		ThickZ:      thick,
		Openings: []fettle.Opening{{
			ID: "hole-1", Kind: fettle.Hole, WidthMM: knobTap, WidestMM: knobTap, LengthMM: knobTap,
			DepthMM: knobTapDeep, Axis: [3]float64{0, 0, -1}, InsideMM: knobTap / 2,
		}},
	}
}
