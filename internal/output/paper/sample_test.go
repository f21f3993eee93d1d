package paper

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
)

// dense puts points about 1 mm apart on a loop, so that its rim follows a dome.
func dense(loop []r2.Vec) []r2.Vec {
	var out []r2.Vec
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		n := max(1, int(math.Hypot(q.X-p.X, q.Y-p.Y)))
		for k := range n {
			out = append(out, r2.Add(p, r2.Scale(float64(k)/float64(n), r2.Sub(q, p))))
		}
	}
	return out
}

// plate is a domed escutcheon plate of 42 × 68 × 7 mm with a keyhole, two
// countersunk screw holes and a pocket in the back.
func plate(t testing.TB) *mesh.Mesh {
	t.Helper()
	var b form.Builder
	dome := func(x, y float64) float64 { return 7 - 2*max(0, (x*x)/(21*21)+(y*y)/(34*34)-0.2) }
	outline := dense(form.Rectangle(r2.Vec{}, 42, 68, 6, 12))
	low, rim := b.Ring(outline, 0), b.RingOn(outline, dome)
	b.Wall(low, rim)
	key := form.Keyhole(r2.Vec{Y: 3}, 9, 4, 15, 40)
	top, bottom := b.RingOn(key, dome), b.Ring(key, 2)
	b.Wall(top, bottom) // the wall of a hole looks inwards
	pocket := form.Rectangle(r2.Vec{Y: -1}, 22, 30, 3, 8)
	floor, mouth := b.Ring(pocket, 2), b.Ring(pocket, 0)
	b.Wall(floor, mouth)
	b.Region(form.Down, floor, bottom)
	above, below := []form.Ring{top}, []form.Ring{mouth}
	for _, y := range []float64{26, -26} {
		wide, hole := form.Circle(r2.Vec{Y: y}, 8.4, 48), form.Circle(r2.Vec{Y: y}, 4.2, 48)
		m, h, e := b.RingOn(wide, dome), b.Ring(hole, 3), b.Ring(hole, 0)
		b.Wall(m, h)
		b.Wall(h, e)
		above, below = append(above, m), append(below, e)
	}
	b.Lifted(form.Up, 1.5, dome, rim, above...)
	b.Region(form.Down, low, below...)
	m := b.Mesh()
	if !mesh.NewTopology(m).Closed() {
		t.Fatal("the sample plate is not closed")
	}
	return m
}

// drawnPlate is the plate where there is time to draw it, else nil.
func drawnPlate(t testing.TB) *mesh.Mesh {
	if testing.Short() {
		return nil
	}
	return plate(t)
}

func guess(v, lo, hi float64) fettle.Estimate { return fettle.Guess(v, lo, hi, fettle.BasisGuess) }

// samplePlan is a job of a small invented shop: twelve escutcheon plates in
// naval brass, satin.
func samplePlan() *fettle.Plan {
	const shop = "Tern Lane Small Metals"
	marks := func(ms ...fettle.Mark) []fettle.Mark { return ms }
	cusps := func(left float64) fettle.Mark {
		return fettle.Mark{Cause: "cusps", Zone: "show", WavelengthMM: 0.2, Lay: "along X", HeightUM: guess(1.7, 1.5, 2.2), RqUM: 0.5, DepthUM: guess(1.7, 1.5, 2.2), Left: left}
	}
	p := &fettle.Plan{
		Title: "Escutcheon plate, front door", Shop: shop,
		Brief:    fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 12, Up: [3]float64{0, 0, 1}, Title: "Escutcheon plate, front door", Shop: shop, Notes: "The customer has one old plate; match its edge by eye."},
		Material: fettle.Material{Name: "naval brass", Title: "Naval brass C46400", Class: fettle.ClassBrass, Density: 8.41},
		Look:     fettle.Look{Name: "satin", Title: "Satin", RaUM: guess(0.5, 0.3, 0.8)},
		Survey: fettle.Survey{
			File: "escutcheon-plate.3mf", SHA256: "9f2c4e81d07ab3356e14c0aa5d2be7f1027c6a9be4a1d35f8b90c2e76d184f03",
			VolumeMM3: 14200, AreaMM2: 7900, SizeMM: [3]float64{42, 68, 7}, Closed: true, Bodies: 1,
			Openings: []fettle.Opening{
				{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: 4.2, WidestMM: 8.4, LengthMM: 4.2, DepthMM: 5.7, At: [3]float64{0, 26, 5.7}, Axis: [3]float64{0, 0, 1}, Form: "countersunk"},
				{ID: "hole-2", Kind: fettle.Hole, Through: true, WidthMM: 4.2, WidestMM: 8.4, LengthMM: 4.2, DepthMM: 5.7, At: [3]float64{0, -26, 5.7}, Axis: [3]float64{0, 0, 1}, Form: "countersunk"},
				{ID: "slot-1", Kind: fettle.Slot, Through: true, WidthMM: 4, WidestMM: 9, LengthMM: 19.5, DepthMM: 5, At: [3]float64{0, 0, 7}, Axis: [3]float64{0, 0, 1}, Form: "keyhole"},
				{ID: "pocket-1", Kind: fettle.Pocket, WidthMM: 22, WidestMM: 22, LengthMM: 30, DepthMM: 2, At: [3]float64{0, -1, 0}, Axis: [3]float64{0, 0, -1}},
			},
		},
		Zones: []fettle.Zone{
			{ID: "show", Name: "Show face", Class: fettle.Show, Up: [3]float64{0, 0, 1}},
			{ID: "sides", Name: "Sides", Class: fettle.Plain},
			{ID: "back", Name: "Back", Class: fettle.Hidden, Up: [3]float64{0, 0, -1}},
			{ID: "openings", Name: "Openings", Class: fettle.Hidden},
		},
		Stock: fettle.Stock{SizeMM: [3]float64{48, 74, 13}, Kg: 0.388, Says: "saw 12 blanks of 48 × 74 × 13 mm, two to spare"},
		Mill:  fettle.Machine{Name: "bench-mill", Title: "Bench mill"},
		AllowanceUM: map[string]fettle.Estimate{
			"show": guess(8.5, 5, 16), "sides": guess(3.1, 1.2, 8), "back": guess(3.1, 1.2, 8), "openings": guess(1, 0.3, 3),
		},
		Cautions: []fettle.Caution{
			{ID: "spindle", Says: "a spindle catches gloves, sleeves and paper: no gloves near it, guards shut", Defer: "the mill's manual and the local rule for machine guarding", Steps: []string{"Last pass over the show face with a 6 mm ball"}},
			{ID: "barrel", Says: "a turning barrel draws in hands and cloth, and a full one is heavy: stop it and pull the plug before the lid is touched, lift with two", Defer: "the machine's manual", Steps: []string{"Tumble in plastic cones"}},
			{ID: "sludge", Says: "brass fines in the rinse water may not go down the drain everywhere: let them settle and ask", Defer: "40 CFR 403 or the local rule for waste water", Steps: []string{"Tumble in plastic cones", "Wash and dry"}},
		},
		Warnings: []string{"hours in the barrel are a starting guess until this shop has run these media", "the back and the walls of openings are left as cut and tumbled"},
		LeftOut:  []string{"steel-pins-1.2: pins of 1.2 mm bridge in hole-1 and hole-2 when new"},
		Verdict:  "yes: it should come out at Ra 0.46 µm (0.28–0.75), wanted 0.30 µm to 0.80 µm for satin",
		Meets:    true,
		Price: fettle.Price{Currency: "USD", LotPrice: fettle.LotPrice{Lot: 12,
			Lines: []fettle.PriceLine{{Name: "Set-up", Cost: fettle.CostOf(guess(120, 80, 180), "USD"), Says: "two set-ups of the mill and the program, once"}},
			Cost:  fettle.CostOf(guess(610, 450, 860), "USD"), Price: fettle.CostOf(guess(870, 640, 1230), "USD"), Each: fettle.CostOf(guess(72.5, 53, 103), "USD")}},
	}
	p.Route = fettle.Route{
		{Name: "Last pass over the show face with a 6 mm ball", Kind: fettle.StepSurface, Zone: "show",
			MinutesAttended: guess(20, 12, 35), MinutesAlone: guess(170, 140, 215), RaUM: guess(0.55, 0.4, 0.9), Marks: marks(cusps(1)),
			EdgeRadiusUM: guess(15, 5, 40),
			Caution:      "guards shut, no gloves or loose sleeves near the spindle, eye protection; a computed holding force is advice, never permission",
			Do:           "finish the show face with ball-6, passes 0.20 mm apart along X, from the keyhole outwards; leave the allowance on",
			Look:         "an even lay with no witness lines where regions meet, no chatter, no burr pushed over the keyhole's edge",
			Why:          []string{"the largest ball that gets into the dome's edge; a 3 mm ball would take 1.4 times as long for the same cusps"},
			Pass:         &fettle.Pass{Cutter: "ball-6", StepoverMM: 0.2, CuspUM: 1.7, FeedMarkUM: 0.4, FacetMM: 0.31, FacetDeg: 0.6, SpindleRPM: 9500, FeedMMMin: 1140, Reach: 0.97}},
		{Name: "Deburr by hand", Kind: fettle.StepDeburr, Zone: "show", MinutesAttended: guess(36, 24, 60), EdgeRadiusUM: guess(60, 30, 120), Marks: marks(cusps(1)),
			Caution: "burrs cut; brass splinters stay in a finger: eye protection, and no bare thumb along the edge",
			Do:      "take the burr off every edge with a scraper, one light stroke each; the keyhole from both sides", Look: "no edge that catches a cotton thread"},
		{Name: "Rub P240, wet, on a formed block", Kind: fettle.StepRub, Zone: "show", MinutesAttended: guess(66, 40, 110), RaUM: guess(0.9, 0.6, 1.5), RemovedUM: guess(4.3, 2.5, 8),
			EdgeRadiusUM: guess(70, 35, 130), Marks: marks(cusps(0), fettle.Mark{Cause: "P240 scratches", Zone: "show", WavelengthMM: 0.06, Lay: "along X", HeightUM: guess(5, 3, 9), Left: 1}),
			Caution: "brass dust: wet, not dry; wash hands before food",
			Do:      "rub the dome with P240 on the printed block, wet, long strokes along X, until no cusp is seen under a low light",
			Look:    "one even scratch, no shine left from the cutter",
			Rub:     &fettle.Rub{Grit: "P240", Block: "formed block", Wet: true, TakeOffUM: guess(4.3, 2.5, 8), PaperCM2: guess(40, 25, 70)}},
		{Name: "Rub P400, wet", Kind: fettle.StepRub, Zone: "show", MinutesAttended: guess(48, 30, 80), RaUM: guess(0.5, 0.33, 0.83), RemovedUM: guess(3.4, 2, 6),
			EdgeRadiusUM: guess(80, 40, 150), Marks: marks(fettle.Mark{Cause: "P400 scratches", Zone: "show", WavelengthMM: 0.035, Lay: "along Y", HeightUM: guess(2.6, 1.6, 4.6), Left: 1}),
			Do: "turn the stroke by a right angle and rub until the P240 scratch is gone", Look: "no scratch along X",
			Rub: &fettle.Rub{Grit: "P400", Block: "formed block", Wet: true, TakeOffUM: guess(3.4, 2, 6), PaperCM2: guess(30, 20, 55), StrokeDeg: 90}},
		{Name: "Tumble in plastic cones", Kind: fettle.StepTumble, Zone: "show", MinutesAttended: guess(25, 15, 40), MinutesAlone: guess(95, 60, 150), RaUM: guess(0.46, 0.28, 0.75),
			RemovedUM: guess(0.8, 0.3, 2.2), EdgeRadiusUM: guess(110, 60, 210), Marks: marks(fettle.Mark{Cause: "P400 scratches", Zone: "show", WavelengthMM: 0.035, Lay: "along Y", HeightUM: guess(2.6, 1.6, 4.6), Left: 0.35}),
			Caution: "stop and unplug before the lid is touched; guard what turns; lift with two. Wet floor and mains: residual-current device on the socket, cables off the floor",
			Do:      "load media, parts, water and compound in that order, close, turn; look when the first look is due and every half hour from then",
			Look:    "an even, slightly softened satin; inside corners of the pocket no longer bright",
			Charge: &fettle.Charge{Step: 4, Vessel: "Rotary barrel 15 l", Media: "Plastic cones 10 mm, fine", Loads: 1, PartsPerLoad: 12, MediaToParts: 10, FillShare: 0.55, MediaL: 7.5, MediaKg: 7.1,
				WaterL: guess(1.6, 1, 2.4), CompoundML: guess(40, 20, 70), Compound: "burnishing compound", RPM: 21, CriticalRPM: 78, Froude: 0.072, Hours: guess(1.6, 1, 2.5), FirstLookH: 0.8, VentEveryH: 4, ChangeLiquidH: 2,
				LooksH: []float64{0.8, 1.2, 1.6}, WaterLevel: "a finger below the top of the load", Apart: "at least 10 times as much media as parts", LastLoadParts: 12,
				Tones:   []fettle.ToneChoice{{Tone: fettle.ToneDark, WaterL: guess(1, 0.6, 1.5), CompoundML: guess(20, 10, 35), Hours: guess(2, 1.2, 3), Says: "less water keeps fines in the load: slower, and darker"}},
				HoursTo: []fettle.LookHours{{Look: "matte", Hours: guess(1.1, 0.7, 1.8)}, {Look: "mirror", Never: true, Says: "this charge stays rougher than mirror"}},
				Jams:    []fettle.Jam{{Opening: "slot-1", Media: "plastic-cone-10", State: "worn", Ratio: 1.2, Chance: fettle.Chance{Word: "slight", P: 0.06}}}}},
		{Name: "Wash and dry", Kind: fettle.StepWash, MinutesAttended: guess(15, 10, 25), MinutesAlone: guess(60, 40, 100),
			Do: "rinse twice in clean water, dry in warm cob or with a cloth at once, so that no water spot sets", Look: "no film when a white cloth is drawn over the back"},
		{Key: "buff loose cotton", Name: "Brighten the rim on a loose cotton mop", Kind: fettle.StepBuff, Zone: "sides", MinutesAttended: guess(14, 8, 30), RaUM: guess(0.1, 0.06, 0.2), RemovedUM: guess(0.1, 0.05, 0.3), EdgeRadiusUM: guess(120, 60, 220),
			Marks:   marks(fettle.Mark{Cause: "feed marks", Zone: "sides", WavelengthMM: 0.4, Lay: "along X", HeightUM: guess(2, 1.5, 3), Left: 0.6, Seen: fettle.Chance{Word: "real", P: 0.4}, Says: "feed marks this long follow the mop and stay"}),
			Caution: "a wheel snatches a part at an edge: below the middle, edge trailing, face shield",
			Do:      "charge the mop, work across the last lay and then along it", Look: "no grey haze", Buff: &fettle.Buff{Mop: "loose cotton", OpenShare: 0.82}},
		{Name: "Inspect and pack", Kind: fettle.StepInspect, MinutesAttended: guess(30, 20, 45), Do: "measure the list below, compare the face with the signed sample under the same lamp, wrap each plate by itself", Look: "a face like the sample's; edges that do not catch"},
	}
	return p
}
