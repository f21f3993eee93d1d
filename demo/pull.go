package demo

import (
	"math"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
)

// The pull's drawing, in millimetres: one profile carried round a straight core
// along X, with a slot over the core from end to end. Two tapped holes in the
// foot stand at the ends of the core.
const (
	pullCore             = 64.0 // between the screws
	pullDome             = 30.0 // radius of the crowned top
	slotWide, slotDeep   = 1.6, 9.0
	pullTap, pullTapDeep = 3.3, 8.0 // drilled for M4
)

var pullNeck = neck{waist: 4.5, waistZ: 8, hollow: 12, turn: 38.7 * math.Pi / 180, lip: 3, footZ: 1.5}

// Pull is the drawer pull.
func Pull(f Fineness) Part {
	domeZ, meet := crown(pullDome, pullNeck.lip, pullNeck.lipCentre())
	mouth := math.Acos(slotWide / 2 / pullDome)
	p := profile{chord: f.ChordMM}
	pullNeck.draw(&p, meet)
	p.arc(r2.Vec{Y: domeZ}, pullDome, meet, mouth)
	rim := p.pts[len(p.pts)-1]
	p.line(rim.X, rim.Y-slotDeep)

	// The loops at all heights have equal counts: round ends about the core, and
	// straight sides in short pieces.
	ends := form.Chords(pullNeck.lipCentre().X+pullNeck.lip, f.ChordMM) / 2
	sides := int(math.Ceil(pullCore / f.SideMM))
	around := func(r float64) []r2.Vec {
		loop := form.Obround(r2.Vec{}, pullCore+2*r, 2*r, 0, ends)
		var out []r2.Vec
		for i, q := range loop {
			out = append(out, q)
			if i != ends && i != len(loop)-1 {
				continue
			}
			d := r2.Sub(loop[(i+1)%len(loop)], q)
			for k := 1; k < sides; k++ {
				out = append(out, r2.Add(q, r2.Scale(float64(k)/float64(sides), d)))
			}
		}
		return out
	}
	b := &form.Builder{}
	foot, floor := skin(b, p.pts, around)
	b.Flat(form.Up, slotWide/3, floor)

	var taps []form.Ring
	for _, x := range []float64{-pullCore / 2, pullCore / 2} {
		loop := form.Circle(r2.Vec{X: x}, pullTap, form.Chords(pullTap/2, f.ChordMM))
		edge, end := b.Ring(loop, 0), b.Ring(loop, pullTapDeep)
		b.Wall(end, edge)
		b.Flat(form.Down, pullTap/4, end)
		taps = append(taps, edge)
	}
	b.Flat(form.Down, f.SideMM, foot, taps...)

	return Part{
		ID: "pull", Title: "Drawer pull", FileName: "pull.3mf",
		Says: "A titanium drawer pull 80 mm long with a waist for the fingers and a slot 1.6 mm wide and " +
			"9 mm deep along its top; media that lodge in the slot are its trouble.",
		Mesh: b.Mesh(),
		Brief: fettle.Brief{
			Material: "Ti-6Al-4V", Finish: "stonewash", Lot: 6, ModelUnits: "mm", Up: [3]float64{0, 0, 1},
			Title: "Drawer pull", Shop: Shop,
			Notes: "The slot takes a strip of inlay after finishing: keep its width.",
		},
		Truth: pullTruth(domeZ, rim.Y),
	}
}

func pullTruth(domeZ, rimZ float64) Truth {
	lip := pullNeck.lipCentre()
	wide := 2 * (lip.X + pullNeck.lip)
	thick := func(x, y float64) float64 {
		r := math.Hypot(max(0, math.Abs(x)-pullCore/2), y)
		if r > wide/2 {
			return 0
		}
		_, meet := crown(pullDome, pullNeck.lip, lip)
		var top float64
		switch {
		case r < slotWide/2:
			top = rimZ - slotDeep
		case r < pullDome*math.Cos(meet):
			top = domeZ + math.Sqrt(pullDome*pullDome-r*r)
		default:
			top = lip.Y + math.Sqrt(max(0, pullNeck.lip*pullNeck.lip-(r-lip.X)*(r-lip.X)))
		}
		t := top - pullNeck.under(r)
		if math.Hypot(math.Abs(x)-pullCore/2, y) < pullTap/2 {
			t -= pullTapDeep
		}
		return t
	}
	tap := func(id string, x float64) fettle.Opening {
		return fettle.Opening{
			ID: id, Kind: fettle.Hole, WidthMM: pullTap, WidestMM: pullTap, LengthMM: pullTap, DepthMM: pullTapDeep,
			At: [3]float64{x, 0, 0}, Axis: [3]float64{0, 0, -1}, InsideMM: pullTap / 2,
		}
	}
	return Truth{
		SizeMM:      [3]float64{pullCore + wide, wide, rimZ},
		ToleranceMM: 0.02,
		ThickZ:      thick,
		Openings: []fettle.Opening{
			tap("hole-1", pullCore/2), tap("hole-2", -pullCore/2),
			{
				ID: "slot-1", Kind: fettle.Slot, WidthMM: slotWide, WidestMM: slotWide,
				LengthMM: pullCore + slotWide, DepthMM: slotDeep,
				At: [3]float64{0, 0, rimZ}, Axis: [3]float64{0, 0, 1}, InsideMM: slotWide / 2,
			},
		},
	}
}
