package cusp

import (
	"context"

	"fettle"
)

// Row is one ball of the shelf on a plain face.
type Row struct {
	Cutter string `json:"cutter"`
	Result
	Minutes    float64 `json:"minutes"`
	SpindleRPM float64 `json:"spindle_rpm"`
	FeedMMMin  float64 `json:"feed_mm_min"`
}

// Compare asks the same question of every ball among the cutters, on a face of
// length × width mm, with the minutes that a mill takes over it. Balls that
// cannot enter the hollow, or whose passes would not meet, are left out; when
// none is left it fails with what is wrong with the first.
func Compare(ctx context.Context, in Input, size [2]float64, cutters []fettle.Cutter, mat fettle.Material, mill fettle.Machine) ([]Row, error) {
	if !(size[0] > 0 && size[1] > 0 && size[0] < 1e5 && size[1] < 1e5) {
		return nil, fettle.Errorf(fettle.Invalid, "a face of %g × %g mm cannot be swept; give --size, such as --size 60,40", size[0], size[1])
	}
	zone := fettle.Zone{
		ID: "face", Name: "Face", Class: fettle.Show, AreaMM2: size[0] * size[1], SizeMM: [3]float64{size[0], size[1], 0}, Up: [3]float64{0, 0, 1},
		SlopeDeg: fettle.Quantiles{P50: in.SlopeDeg, P95: in.SlopeDeg, Max: in.SlopeDeg},
	}
	switch in.Side {
	case Convex:
		zone.ConvexMM = in.RadiusMM
	case Concave:
		zone.ConcaveMM = in.RadiusMM
	}
	var rows []Row
	var first error
	for _, c := range cutters {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if c.Shape != fettle.Ball {
			continue
		}
		q := in
		q.BallMM = c.DiameterMM
		res, err := Closed(q)
		if err == nil {
			var pass fettle.Pass
			var minutes float64
			pass, minutes, err = PassAt(zone, c, mat, mill, res.StepMM, Options{ToleranceUM: in.ToleranceU})
			if err == nil {
				rows = append(rows, Row{Cutter: c.Name, Result: res, Minutes: minutes, SpindleRPM: pass.SpindleRPM, FeedMMMin: pass.FeedMMMin})
			}
		}
		if err != nil && first == nil {
			first = err
		}
	}
	if len(rows) == 0 && first != nil {
		return nil, first
	}
	if len(rows) == 0 {
		return nil, fettle.Errorf(fettle.No, "there is no ball on the shelf; enter one or give --ball")
	}
	return rows, nil
}
