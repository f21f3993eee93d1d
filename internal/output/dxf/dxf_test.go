package dxf

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"

	"fettle"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
)

// entities reads the pairs of the ENTITIES section back, as the DXF reference
// says: a group code on one line, its value on the next.
func entities(t *testing.T, data string) []map[int]string {
	t.Helper()
	lines := strings.Split(data, "\r\n")
	var out []map[int]string
	section := ""
	for i := 0; i+1 < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		if err != nil {
			t.Fatalf("line %d is no group code: %q", i+1, lines[i])
		}
		v := lines[i+1]
		switch {
		case code == 2 && i >= 2 && lines[i-1] == "SECTION":
			section = v
		case section == "ENTITIES" && code == 0 && v != "ENDSEC" && v != "EOF":
			out = append(out, map[int]string{0: v})
		case section == "ENTITIES" && code != 0:
			out[len(out)-1][code] = v
		}
	}
	return out
}

func TestLinesArcsAndCircles(t *testing.T) {
	half := func(from, to float64) fettle.PlanEdge {
		return fettle.PlanEdge{From: [2]float64{from, 0}, To: [2]float64{to, 0}, RadiusMM: 2, Left: true}
	}
	var b bytes.Buffer
	err := Write(&b, "plate", []Layer{
		{Name: "part depth 4050 µm", Color: 5, Loops: [][]fettle.PlanEdge{
			{{From: [2]float64{0, 0}, To: [2]float64{10, 0}}, {From: [2]float64{10, 0}, To: [2]float64{0, 10}, RadiusMM: 10, Left: true}, {From: [2]float64{0, 10}, To: [2]float64{0, 0}}},
			{half(2, -2), half(-2, 2)},
			{{From: [2]float64{10, 0}, To: [2]float64{0, 10}, RadiusMM: 10}},
		}},
		{Name: "old", Dashed: true, Notes: []Note{{At: r2.Vec{X: 1, Y: 2}, Height: 3, Says: "Ø 4 × 90°"}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	const layer = "PART_DEPTH_4050__M"
	zero := "0.000000"
	want := []map[int]string{
		{0: "LINE", 8: layer, 10: zero, 20: zero, 30: zero, 11: "10.000000", 21: zero, 31: zero},
		{0: "ARC", 8: layer, 10: zero, 20: zero, 30: zero, 40: "10.000000", 50: zero, 51: "90.000000"},
		{0: "LINE", 8: layer, 10: zero, 20: "10.000000", 30: zero, 11: zero, 21: zero, 31: zero},
		{0: "CIRCLE", 8: layer, 10: zero, 20: zero, 30: zero, 40: "2.000000"},
		// Clockwise from 0° to 90° is anticlockwise from 90° to 0°.
		{0: "ARC", 8: layer, 10: zero, 20: zero, 30: zero, 40: "10.000000", 50: "90.000000", 51: zero},
		{0: "TEXT", 8: "OLD", 10: "1.000000", 20: "2.000000", 30: zero, 40: "3.000000", 1: "%%c 4 x 90%%d"},
	}
	if diff := cmp.Diff(want, entities(t, b.String())); diff != "" {
		t.Errorf("the drawing reads back otherwise (-want +got):\n%s", diff)
	}
}

func TestNotFinite(t *testing.T) {
	err := Write(&bytes.Buffer{}, "bad", []Layer{{Name: "x", Loops: [][]fettle.PlanEdge{{{To: [2]float64{math.NaN(), 0}}}}}})
	if err == nil || !strings.Contains(err.Error(), "finite") {
		t.Errorf("a drawing with NaN in it gave %v", err)
	}
}

func TestLayerNames(t *testing.T) {
	for in, want := range map[string]string{
		"part depth 4.05": "PART_DEPTH_4_05", "": "0", strings.Repeat("a", 40): strings.Repeat("A", 31), "OLD-1$": "OLD-1$",
	} {
		if got := LayerName(in); got != want {
			t.Errorf("layer %q became %q, want %q", in, got, want)
		}
	}
}
