package hold

import (
	"context"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/trade/stock"
)

// TestMountedAsAsked: the pocket goes in jaws that stand as asked, whatever else would
// be better, and what is better is among what was tried.
func TestMountedAsAsked(t *testing.T) {
	in := inputOf(form.Box(30, 24, 14))
	in.Mounted = Mounting{Fixed: fettle.EndForEnd, Moving: fettle.UpsideDown, Kept: true}
	m := made(t, in)
	if p := m.Doc.Pose; p.Fixed != fettle.EndForEnd || p.Moving != fettle.UpsideDown || p.Swapped {
		t.Errorf("mounted %+v", p)
	}
	if first := m.Doc.Tried[0].Pose; first.Fixed != fettle.AsNew || first.Moving != fettle.AsNew {
		t.Errorf("of jaws that are alike whichever way they stand, %+v came first", first)
	}
	looksRight(t, in, m)

	// What is kept is in each jaw's own frame: laid again as it was, it is in the same place.
	j := m.Pair
	j.Cuts = m.Cuts
	for i, o := range OlderCuts(j, m.Doc.Pose) {
		var top float64
		for _, loop := range o.Edges {
			for _, e := range loop {
				top = math.Max(top, math.Abs(e.From[0]))
			}
		}
		near(t, "half the length of the pocket", top, 15.03, 0.01)
		near(t, "its depth", -o.LowMM, m.Doc.Levels[len(m.Doc.Levels)-1].DepthMM, 1e-6)
		if o.HighMM != 0 || o.Jaw != []int{fettle.FixedJaw, fettle.MovingJaw}[i] {
			t.Errorf("jaw %d reaches up to %g", o.Jaw, o.HighMM)
		}
	}
	// Mounted as new, the moving jaw's half lies at its foot.
	for _, o := range OlderCuts(j, fettle.PocketPose{Fixed: fettle.AsNew, Moving: fettle.AsNew, GapMM: m.Doc.Pose.GapMM}) {
		if o.Jaw == fettle.MovingJaw && math.Abs(o.LowMM+j.HeightMM) > 1e-6 {
			t.Errorf("it lies %g to %g below the top", -o.LowMM, -o.HighMM)
		}
	}
	if n := len(Bores(j, m.Doc.Pose)); n != 12 { // two jaws, two holes, a recess in either face
		t.Errorf("%d bores", n)
	}
}

// TestNotMounted: what cannot be is said in one sentence.
func TestNotMounted(t *testing.T) {
	box := form.Box(30, 24, 14)
	for want, change := range map[string]func(*Input){
		"stands out of the face": func(in *Input) {
			in.Mounted.Fixed = fettle.EndForEnd
			for i := range in.Pairs {
				holes := append([]fettle.JawHole{}, in.Pairs[i].Holes...)
				for k := range holes {
					holes[k].BothFaces = false
				}
				in.Pairs[i].Holes = holes
			}
		},
		"no jaw can be mounted": func(in *Input) { in.Mounted.Moving = "sideways" },
		"in their own places":   func(in *Input) { in.Mounted = Mounting{Swapped: true, Kept: true} },
		"past the end of soft-": func(in *Input) { s := 120.0; in.ShiftMM = &s },
	} {
		in := inputOf(box)
		in.Pairs = append([]fettle.Jaws{}, stock.Shelf().Jaws...)
		change(&in)
		_, err := Make(context.Background(), in)
		if err == nil || fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
