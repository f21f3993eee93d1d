package closeup

import (
	"math"

	"fettle"
	"fettle/internal/shape/relief"
)

// Across samples a map along the line through its middle cell at right angles to
// the lay, as a stylus would be drawn: heights in µm over the map's zero, dx mm apart
// (the smaller side of a cell), NaN where there are none; heights between cells
// are interpolated. layDeg counts counter-clockwise from X. lengthMM of 0, or
// more than there is, means the whole line. The error is fettle.Invalid for a
// map without cells and a line shorter than two samples.
func Across(m *relief.Map, layDeg, lengthMM float64) (z []float64, dx float64, err error) {
	if err := checkMap(m); err != nil {
		return nil, 0, err
	}
	if math.IsNaN(layDeg) || math.IsInf(layDeg, 0) || !(lengthMM >= 0) {
		return nil, 0, fettle.Errorf(fettle.Invalid, "a trace at %g° over %g mm cannot be drawn; give the lay in degrees and a length above 0", layDeg+90, lengthMM)
	}
	sy, sx := math.Sincos((layDeg + 90) * math.Pi / 180)
	if sx < -1e-12 || math.Abs(sx) <= 1e-12 && sy < 0 { // towards +X, or up
		sx, sy = -sx, -sy
	}
	dx = min(m.DX, m.DY)
	// The middle is the centre of a cell: a line along rows or columns then reads
	// heights as they are. From there to where it leaves the outermost centres.
	cx, cy := float64((m.W-1)/2), float64((m.H-1)/2)
	half := math.Inf(1)
	for _, a := range [2][2]float64{{sx, cx * m.DX}, {sy, cy * m.DY}} {
		if c := math.Abs(a[0]); c > 1e-12 {
			half = min(half, a[1]/c)
		}
	}
	if lengthMM > 0 {
		half = min(half, lengthMM/2)
	}
	n := 2*int(half/dx+1e-9) + 1
	if n < 2 {
		return nil, 0, fettle.Errorf(fettle.Invalid, "the surface is too narrow for a trace at %.0f°; choose another direction", layDeg+90)
	}
	z = make([]float64, n)
	for k := range z {
		s := float64(k-n/2) * dx
		h := height(m, tapAt(cx+s*sx/m.DX, m.W), tapAt(cy+s*sy/m.DY, m.H))
		z[k] = (m.Base + h) * 1000
	}
	return z, dx, nil
}
