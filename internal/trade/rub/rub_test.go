package rub

import (
	"math"
	"strconv"
	"testing"

	"fettle"
)

// grit makes a paper with the roughness fitted to ground austenitic stainless
// steel, across the lay (Lexikon der Pharmatechnologie, 2013: Ra from 4.5 µm at
// K30 to 0.20 µm at K360), with the grain of its P number after ISO 6344.
func grit(number int, grain float64) fettle.Grit {
	return fettle.Grit{
		Name: "P" + strconv.Itoa(number), Scale: fettle.ScaleP, Number: number, GrainUM: grain,
		RaUM: fettle.Exactly(0.00407*math.Pow(grain, 1.116), "fit"),
		RzUM: fettle.Exactly(0.00523*math.Pow(grain, 1.335), "fit"),
	}
}

// The base time is a starting guess, but the ratios between grits are what the
// laws must bring out: a finer pair takes about 0.8 of it, a first grit on
// cusps about twice as long, soft metals half. Half the depth of furrows comes off
// on average, and a third of the height of parabolic cusps.
func TestTimesAgainstCommonPractice(t *testing.T) {
	flat := Face{AreaMM2: 1e4, Class: fettle.ClassMildSteel, Wet: true}
	furrows := func(g fettle.Grit) (depth, mean float64) { return g.RzUM.Value, g.RzUM.Value / 2 }
	depth, mean := furrows(grit(240, 58.5))
	base := Minutes(flat, grit(320, 46.2), StiffBlock, depth, mean)
	if base < 5.4 || base > 8 {
		t.Errorf("P320 on the scratches of P240, 100 cm² of steel: %.1f min, want about 6", base)
	}
	depth, mean = furrows(grit(400, 35))
	if r := Minutes(flat, grit(600, 25.8), StiffBlock, depth, mean) / base; r < 0.65 || r > 1 {
		t.Errorf("P600 after P400 takes %.2f of the base time, want about 0.8", r)
	}
	cusps := Minutes(flat, grit(240, 58.5), StiffBlock, 5, 5./3)
	if r := cusps / base; r < 1.5 || r > 2.6 {
		t.Errorf("P240 on 5 µm cusps takes %.2f of the base time, want about 2", r)
	}
	brass := flat
	brass.Class = fettle.ClassBrass
	if r := Minutes(brass, grit(240, 58.5), StiffBlock, 5, 5./3) / cusps; math.Abs(r-0.5) > 0.05 {
		t.Errorf("brass takes %.2f of steel's time, want 0.5", r)
	}
	curved, corners := flat, flat
	curved.Curved, corners.CornerShare = true, 1
	for name, c := range map[string]struct {
		f    Face
		want float64
	}{"curved": {curved, 1.5}, "inside corners": {corners, 3}} {
		if r := Minutes(c.f, grit(240, 58.5), StiffBlock, 5, 5./3) / cusps; math.Abs(r-c.want) > 1e-9 {
			t.Errorf("%s: %.2f of a flat face's time, want %g", name, r, c.want)
		}
	}
}

// A paper of ground stainless steel leaves what its table says there, a third more
// in soft metals and less in hardened ones.
func TestRoughnessByMetal(t *testing.T) {
	g := grit(240, 58.5)
	if s, b, h := Ra(g, fettle.ClassStainless).Value, Ra(g, fettle.ClassBrass).Value, Ra(g, fettle.ClassHardened).Value; s != g.RaUM.Value || math.Abs(b/s-1.3) > 1e-9 || math.Abs(h/s-0.8) > 1e-9 {
		t.Errorf("stainless %.3f, brass %.3f, hardened %.3f", s, b, h)
	}
}
