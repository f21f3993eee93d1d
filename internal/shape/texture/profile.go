package texture

import (
	"fmt"
	"math"
	"slices"
)

// Sections says how a profile is cut into sections (sampling lengths): so many
// of a length each, as long as the cut-off. The zero value takes five of a fifth
// of the profile each.
type Sections struct {
	LengthMM float64
	Count    int
}

// Profile gives the parameters of a roughness profile of heights in µm, dx mm
// apart, as it is: formed, filtered and freed of run-in before. Heights count
// from zero, which is the filter's mean line. The sections start at the first
// point, and what lies past the last one is not looked at. Points without a
// height are left out; a slope or a spacing across them is not counted.
//
// After ISO 21920-2, in the order of the list: Ra Rq over the evaluation
// length; Rz, the mean over the sections of the height from pit to peak; Rt over the
// evaluation length; Rp and Rv, the means over the sections of peak and pit; Rsm
// in mm, Rdq, Rsk, Rku, Rk Rpk Rvk and Mr1 Mr2 over the evaluation length. Then
// Rzx, the greatest height of any section, and the means over the sections that
// ISO 4287 and ISO 4288 had instead: Ra_sections Rq_sections Rz_sections
// Rp_sections Rv_sections Rsm_sections Rdq_sections Rsk_sections Rku_sections.
func Profile(z []float64, dxMM float64, s Sections) (Parameters, error) {
	z, per, err := s.cut(z, dxMM)
	if err != nil {
		return nil, err
	}
	count := len(z) / per
	present := slices.DeleteFunc(slices.Clone(z), math.IsNaN)
	if len(present) == 0 {
		return nil, fmt.Errorf("texture: the profile has no heights: give one with at least a few measured points")
	}
	all := lineMoments(present)
	var sum [9]float64
	var n [9]int
	widest := 0.0
	for i := range count {
		part := z[i*per : (i+1)*per]
		there := slices.DeleteFunc(slices.Clone(part), math.IsNaN)
		if len(there) == 0 {
			continue
		}
		m := lineMoments(there)
		// Elements are told apart by the heights of their own section.
		values := [9]float64{m.ra, m.rq, m.peak + m.pit, m.peak, m.pit,
			spacing(part, dxMM, 0.1*(m.peak+m.pit), 0.01*float64(per)*dxMM), rmsSlope(part, dxMM), m.skew, m.kurtosis}
		for k, v := range values {
			if !math.IsNaN(v) {
				sum[k] += v
				n[k]++
			}
		}
		widest = max(widest, m.peak+m.pit)
	}
	for k := range sum {
		sum[k] /= float64(n[k])
	}
	var p Parameters
	p.add("Ra", all.ra, micro)
	p.add("Rq", all.rq, micro)
	p.add("Rz", sum[2], micro)
	p.add("Rt", all.peak+all.pit, micro)
	p.add("Rp", sum[3], micro)
	p.add("Rv", sum[4], micro)
	p.add("Rsm", spacing(z, dxMM, 0.1*sum[2], 0.01*float64(per)*dxMM), milli)
	p.add("Rdq", rmsSlope(z, dxMM), pure)
	p.add("Rsk", all.skew, pure)
	p.add("Rku", all.kurtosis, pure)
	slices.SortFunc(present, func(a, b float64) int { return -compare(a, b) })
	if core, ok := curveOfSorted(present).Core(); ok {
		p.add("Rk", core.K, micro)
		p.add("Rpk", core.PK, micro)
		p.add("Rvk", core.VK, micro)
		p.add("Mr1", core.M1, percent)
		p.add("Mr2", core.M2, percent)
	}
	p.add("Rzx", widest, micro)
	for k, name := range []string{"Ra", "Rq", "Rz", "Rp", "Rv", "Rsm", "Rdq", "Rsk", "Rku"} {
		p.add(name+"_sections", sum[k], [9]string{micro, micro, micro, micro, micro, milli, pure, pure, pure}[k])
	}
	return p, nil
}

// ProfileRatio is the material ratio curve of a profile, one point per height,
// in µm from zero.
func ProfileRatio(z []float64) Curve {
	z = slices.DeleteFunc(slices.Clone(z), math.IsNaN)
	slices.SortFunc(z, func(a, b float64) int { return -compare(a, b) })
	return curveOfSorted(z)
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// cut is the evaluation length in whole sections of so many points each.
func (s Sections) cut(z []float64, dxMM float64) (evaluation []float64, per int, err error) {
	if !(dxMM > 0) || len(z) == 0 {
		return nil, 0, fmt.Errorf("texture: a profile needs points and a spacing greater than 0 mm, not %d points %g mm apart", len(z), dxMM)
	}
	count := s.Count
	if count <= 0 {
		count = 5
	}
	if s.LengthMM <= 0 {
		per = max(1, len(z)/count)
		count = min(count, len(z))
	} else {
		per = int(math.Round(s.LengthMM / dxMM))
	}
	if per < 1 || per*count > len(z) {
		return nil, 0, fmt.Errorf("texture: %d sections of %g mm do not fit into a profile of %.4g mm: take fewer or a shorter cut-off",
			count, s.LengthMM, float64(len(z))*dxMM)
	}
	return z[:per*count], per, nil
}

type lineSums struct{ ra, rq, peak, pit, skew, kurtosis float64 }

func lineMoments(z []float64) lineSums {
	m := lineSums{peak: math.Inf(-1), pit: math.Inf(-1)}
	var s2, s3, s4 float64
	for _, v := range z {
		m.ra += math.Abs(v)
		s2, s3, s4 = s2+v*v, s3+v*v*v, s4+v*v*v*v
		m.peak, m.pit = max(m.peak, v), max(m.pit, -v)
	}
	n := float64(len(z))
	m.ra /= n
	m.rq = math.Sqrt(s2 / n)
	m.skew = s3 / n / (m.rq * m.rq * m.rq)
	m.kurtosis = s4 / n / (m.rq * m.rq * m.rq * m.rq)
	return m
}

// rmsSlope is by the seven-point formula of ISO 4287; a point with a missing
// neighbour among the six is not counted.
func rmsSlope(z []float64, dxMM float64) float64 {
	sum, n := 0.0, 0
	for i := 3; i+3 < len(z); i++ {
		v := Slope(z[i-3], z[i-2], z[i-1], z[i+1], z[i+2], z[i+3], 1000*dxMM)
		if !math.IsNaN(v + z[i]) {
			sum += v * v
			n++
		}
	}
	return math.Sqrt(sum / float64(n))
}

// spacing is the mean width of the profile's elements, a hill with the dale
// that follows it, mm; NaN where there is none. The line is crossed for good
// only when the profile also passes the height (µm) on the other side, and a
// hill or dale narrower than least (mm) is none: 10 % of Rz and 1 % of a section
// (ISO 4287, ISO 21920-2; by crossing the line, Seewig et al., Surface
// Topography: Metrology and Properties 8 (2020) 024010). Whole elements count,
// from upward crossing to upward crossing; where there is no whole one from
// upward, those from downward.
func spacing(z []float64, dxMM, height, least float64) float64 {
	var ups, downs []float64
	flush := func() (sum float64, n int) {
		for _, c := range [][]float64{ups, downs} {
			if len(c) > 1 {
				return c[len(c)-1] - c[0], len(c) - 1
			}
		}
		return 0, 0
	}
	total, count := 0.0, 0
	side, crossing, entered := 0, 0.0, 0.0 // the side that counts, the last crossing of the line
	for i, v := range z {
		if math.IsNaN(v) {
			s, n := flush()
			total, count = total+s, count+n
			ups, downs, side = nil, nil, 0
			continue
		}
		if i > 0 && (z[i-1] < 0) != (v < 0) && !math.IsNaN(z[i-1]) {
			crossing = (float64(i-1) + z[i-1]/(z[i-1]-v)) * dxMM
		}
		now := side
		if v > height {
			now = 1
		} else if v < -height {
			now = -1
		}
		if now == side {
			continue
		}
		if side != 0 {
			list, other := &ups, &downs
			if now < 0 {
				list, other = other, list
			}
			if crossing-entered >= least || len(*other) == 0 {
				*list = append(*list, crossing)
				entered = crossing
			} else {
				// Too narrow: as if the line had not been crossed before either.
				*other = (*other)[:len(*other)-1]
				entered = math.Inf(-1)
				if n := len(*list); n > 0 {
					entered = (*list)[n-1]
				}
			}
		}
		side = now
	}
	s, n := flush()
	total, count = total+s, count+n
	if count == 0 {
		return math.NaN()
	}
	return total / float64(count)
}
