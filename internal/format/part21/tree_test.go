package part21

import (
	"testing"

	"fettle/internal/format/step/steptest"

	"github.com/google/go-cmp/cmp"
)

// A stand of a top and two feet, each foot of a block and a pin: solids in the
// order in which the assembly places them.
func TestPlaced(t *testing.T) {
	var f steptest.File
	unit := [3]float64{1, 1, 1}
	top := f.Part("top", f.Box("", [3]float64{}, unit))
	foot := f.Part("foot", f.Box("block", [3]float64{}, unit), f.Box("pin", [3]float64{}, unit))
	feet, stand := f.Product("feet", "SHAPE_REPRESENTATION"), f.Product("stand", "SHAPE_REPRESENTATION")
	f.Place(stand, top, [3]float64{})
	f.Place(stand, feet, [3]float64{})
	f.Place(feet, foot, [3]float64{})
	f.Place(feet, foot, [3]float64{5, 0, 0})
	got := must(t, f.Bytes()).Placed
	in := []string{"stand", "feet"}
	want := []Placed{
		{Product: "top", In: in[:1], Faces: 6},
		{Body: "block", Product: "foot", In: in, Faces: 6}, {Body: "pin", Product: "foot", In: in, Faces: 6},
		{Body: "block", Product: "foot", In: in, Faces: 6}, {Body: "pin", Product: "foot", In: in, Faces: 6},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	f.Place(feet, stand, [3]float64{}) // the stand in its own feet
	if got := must(t, f.Bytes()).Placed; got != nil {
		t.Errorf("an assembly in itself: %+v", got)
	}
}
