package work

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/output/dxf"
	"fettle/internal/trade/hold"

	"gonum.org/v1/gonum/spatial/r2"
)

// Colours of layers, by the form's own list.
const (
	black = 7
	blue  = 5
	red   = 1
	green = 3
)

// jawLayers are what is drawn of a pocket for cutting it: each depth on a layer
// that names it in micrometres, the jaws and what is cut in them beside it.
func jawLayers(made *hold.Made) []dxf.Layer {
	p := made.Doc
	out := []dxf.Layer{jawOutline(made.Pair, p.Pose)}
	relief := 0
	for _, l := range p.Levels {
		name, color := "PART", blue
		if l.Relief {
			relief++
			name, color = "RELIEF", red
		}
		out = append(out, dxf.Layer{Name: fmt.Sprintf("%s_DEPTH_%dUM", name, int(math.Round(l.DepthMM*1000))), Color: color, Loops: l.Edges})
	}
	if older := hold.OlderEdges(made.Pair, p.Pose); len(older) > 0 {
		out = append(out, dxf.Layer{Name: "CUT_BEFORE", Color: green, Dashed: true, Loops: older})
	}
	return out
}

// jawOutline is both jaws from above, with their screws' place.
func jawOutline(j fettle.Jaws, pose fettle.PocketPose) dxf.Layer {
	l := dxf.Layer{Name: "JAWS", Color: black}
	for _, sign := range []float64{1, -1} {
		near, far := sign*pose.GapMM/2, sign*(pose.GapMM/2+j.ThickMM)
		c := [][2]float64{{-j.WidthMM / 2, near}, {j.WidthMM / 2, near}, {j.WidthMM / 2, far}, {-j.WidthMM / 2, far}}
		var loop []fettle.PlanEdge
		for i := range c {
			loop = append(loop, fettle.PlanEdge{From: c[i], To: c[(i+1)%4]})
		}
		l.Loops = append(l.Loops, loop)
		name := "FIXED JAW"
		if sign < 0 {
			name = "MOVING JAW"
		}
		l.Notes = append(l.Notes, dxf.Note{At: r2.Vec{X: -j.WidthMM/2 + 2, Y: (near+far)/2 - 1}, Height: 2, Says: name})
	}
	return l
}
