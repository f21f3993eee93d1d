package demo

import (
	"math"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
)

// The escutcheon's drawing, in millimetres. Its outline is an ellipse; over it
// heights depend on the share s of the way from the middle to the rim:
//
//	s ≤ domeEnd            a dome, thick − fall·s²
//	domeEnd ≤ s ≤ coveEnd  a hollow cove, rim + cove·(coveEnd − s)²
//	beyond                 a level land at the rim's height
//
// The slopes agree where dome and cove meet, and the cove runs out level.
const (
	plateWide, plateHigh = 42.0, 68.0
	plateThick, plateRim = 7.0, 4.1
	domeEnd, coveEnd     = 0.86, 0.95
	domeFall             = (plateThick - plateRim) / (domeEnd * coveEnd)
	coveRise             = domeFall * domeEnd / (coveEnd - domeEnd)

	keyY, keyRound, keySlot, keyReach = 5.0, 9.0, 3.6, 15.0

	screwY, screwHole, screwMouth = 24.0, 4.0, 7.2 // 90° countersink

	recessWide, recessHigh, recessDeep, recessCorner = 22.0, 32.0, 2.5, 1.2
)

// plateTop is the height of the show face.
func plateTop(x, y float64) float64 {
	s := math.Hypot(2*x/plateWide, 2*y/plateHigh)
	switch {
	case s <= domeEnd:
		return plateThick - domeFall*s*s
	case s <= coveEnd:
		return plateRim + coveRise*(coveEnd-s)*(coveEnd-s)
	}
	return plateRim
}

// Escutcheon is the plate round a keyhole.
func Escutcheon(f Fineness) Part {
	b := &form.Builder{}
	half := r2.Vec{X: plateWide / 2, Y: plateHigh / 2}
	n := form.Chords(half.Y, f.ChordMM)
	oval := func(s float64) []r2.Vec {
		loop := form.Circle(r2.Vec{}, 2*s, n)
		for i, p := range loop {
			loop[i] = r2.Vec{X: p.X * half.X, Y: p.Y * half.Y}
		}
		return loop
	}

	// Side, land and cove, from the back's edge inwards.
	back := b.Ring(oval(1), 0)
	last := b.Ring(oval(1), plateRim)
	b.Wall(back, last)
	rows := int(math.Ceil((coveEnd - domeEnd) / math.Sqrt(2*f.ChordMM/coveRise)))
	for i := range rows + 1 {
		s := coveEnd - (coveEnd-domeEnd)*float64(i)/float64(rows)
		ring := b.RingOn(oval(s), plateTop)
		b.Wall(last, ring)
		last = ring
	}

	// An equilateral grid of side L leaves κL²/6 under a dome of curvature κ; three
	// quarters of that side allow for the triangles along the rims, which are not.
	side := 0.75 * math.Sqrt(6*f.ChordMM*half.X*half.X/(2*domeFall))

	key := keyholeLoop(f, side)
	keyTop, keyFloor := b.RingOn(key, plateTop), b.Ring(key, recessDeep)
	b.Wall(keyTop, keyFloor)
	holes, backs := []form.Ring{keyTop}, []form.Ring{}
	for _, y := range []float64{-screwY, screwY} {
		mouth, throat := screwLoops(f, y)
		top := b.RingOn(mouth, plateTop)
		mid, low := b.Ring(throat, throatZ(y)), b.Ring(throat, 0)
		b.Wall(top, mid)
		b.Wall(mid, low)
		holes, backs = append(holes, top), append(backs, low)
	}
	b.Lifted(form.Up, side, plateTop, last, holes...)

	recess := form.Rectangle(r2.Vec{}, recessWide, recessHigh, recessCorner, form.Chords(recessCorner, f.ChordMM)/4)
	recess = form.Subdivide(recess, f.SideMM)
	edge, floor := b.Ring(recess, 0), b.Ring(recess, recessDeep)
	b.Wall(floor, edge)
	b.Flat(form.Down, f.SideMM, floor, keyFloor)
	b.Flat(form.Down, f.SideMM, back, append(backs, edge)...)

	return Part{
		ID: "escutcheon", Title: "Escutcheon plate", FileName: "escutcheon.3mf",
		Says: "A domed plate round a keyhole, 42 × 68 × 7 mm, that a cove runs round; two countersunk " +
			"screws hold it, and a recess in its back clears the lock.",
		Mesh: b.Mesh(),
		Brief: fettle.Brief{
			Material: "naval brass", Finish: "satin", Lot: 12, ModelUnits: "mm", Up: [3]float64{0, 0, 1},
			Title: "Escutcheon plate", Shop: Shop,
			Notes: "The grain runs the long way. Keep the edge of the keyhole crisp.",
		},
		Truth: escutcheonTruth(),
	}
}

func keyholeLoop(f Fineness, side float64) []r2.Vec {
	loop := form.Keyhole(r2.Vec{Y: keyY}, keyRound, keySlot, keyReach, form.Chords(keyRound/2, f.ChordMM))
	return form.Subdivide(loop, side)
}

// throatZ is the height at which the countersink's cone meets the screw hole.
func throatZ(y float64) float64 { return plateTop(0, y) - (screwMouth-screwHole)/2 }

// screwLoops are the mouth of a countersink, where its upright cone meets the
// dome, and the hole below it, corner under corner.
func screwLoops(f Fineness, y float64) (mouth, throat []r2.Vec) {
	n := form.Chords(screwMouth/2, f.ChordMM)
	c := r2.Vec{Y: y}
	throat = form.Circle(c, screwHole, n)
	for _, p := range throat {
		d := r2.Unit(r2.Sub(p, c))
		mouth = append(mouth, r2.Add(c, r2.Scale(mouthRadius(y, d), d)))
	}
	return mouth, throat
}

// mouthRadius is how far from its axis a countersink meets the dome in the
// direction d: the cone widens by 1 mm per mm, and the dome slopes far less, so
// that halving finds the one place.
func mouthRadius(y float64, d r2.Vec) float64 {
	lo, hi := screwHole/2, screwMouth
	for range 60 {
		r := (lo + hi) / 2
		if throatZ(y)+r-screwHole/2 < plateTop(r*d.X, y+r*d.Y) {
			lo = r
		} else {
			hi = r
		}
	}
	return lo
}

func escutcheonTruth() Truth {
	recessed := func(x, y float64) bool {
		dx, dy := math.Abs(x)-recessWide/2+recessCorner, math.Abs(y)-recessHigh/2+recessCorner
		return dx <= recessCorner && dy <= recessCorner && (dx <= 0 || dy <= 0 || math.Hypot(dx, dy) <= recessCorner)
	}
	open := func(x, y float64) bool {
		end := keyY - keyReach + keySlot/2
		return math.Hypot(x, y-keyY) < keyRound/2 || math.Hypot(x, y-end) < keySlot/2 ||
			(math.Abs(x) < keySlot/2 && y > end && y < keyY)
	}
	thick := func(x, y float64) float64 {
		if math.Hypot(2*x/plateWide, 2*y/plateHigh) > 1 || open(x, y) {
			return 0
		}
		top, bottom := plateTop(x, y), 0.0
		if recessed(x, y) {
			bottom = recessDeep
		}
		at := math.Copysign(screwY, y)
		if r := math.Hypot(x, y-at); r < screwHole/2 {
			return 0
		} else if r < screwMouth {
			top = min(top, throatZ(at)+r-screwHole/2)
		}
		return top - bottom
	}
	// The middle of the keyhole's mouth, taken as the middle of its box.
	midY := keyY + (keyRound/2-keyReach)/2
	screw := func(id string, y float64) fettle.Opening {
		up, down := mouthRadius(y, r2.Vec{Y: 1}), mouthRadius(y, r2.Vec{Y: -1})
		z := plateTop(0, y)
		return fettle.Opening{
			ID: id, Kind: fettle.Hole, Through: true, Form: "countersunk",
			WidthMM: screwHole, WidestMM: up + down, LengthMM: screwHole, DepthMM: z,
			At: [3]float64{0, y, z}, Axis: [3]float64{0, 0, 1}, InsideMM: screwHole / 2,
		}
	}
	return Truth{
		SizeMM:      [3]float64{plateWide, plateHigh, keyRimZ()},
		ToleranceMM: 0.5,
		ThickZ:      thick,
		Openings: []fettle.Opening{
			screw("hole-1", screwY), screw("hole-2", -screwY),
			{
				ID: "slot-1", Kind: fettle.Slot, Through: true, Form: "keyhole",
				WidthMM: keySlot, WidestMM: keyRound, LengthMM: keyReach + keyRound/2,
				DepthMM: plateTop(0, midY) - recessDeep,
				At:      [3]float64{0, midY, plateTop(0, midY)}, Axis: [3]float64{0, 0, 1}, InsideMM: keySlot / 2,
			},
			{
				ID: "pocket-1", Kind: fettle.Pocket, WidthMM: recessWide, WidestMM: recessWide, LengthMM: recessHigh,
				DepthMM: recessDeep, Axis: [3]float64{0, 0, -1}, InsideMM: recessCorner,
			},
		},
	}
}

// keyRimZ is the plate's highest place: the dome's summit is cut away by the
// keyhole, and what is left of it is highest beside the slot.
func keyRimZ() float64 { return plateTop(keySlot/2, 0) }
