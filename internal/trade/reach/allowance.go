package reach

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
)

// allowances are what each face and bore loses for one unit off an open flat
// face, under the media of those values: outer faces by zone, then every
// opening.
func (r *reacher) allowances(v values) []fettle.FaceAllowance {
	type bin struct {
		facets []int32
		area   float64
	}
	zones := make([]bin, len(r.in.Survey.Zones))
	openings := make([]bin, len(r.in.Survey.Openings))
	for f, t := range r.skin.from {
		b := &zones[r.in.Detail.Zone[t]]
		if o := r.openingOf(t); o >= 0 {
			b = &openings[o]
		}
		b.facets = append(b.facets, int32(f))
		b.area += r.skin.area[f]
	}
	var out []fettle.FaceAllowance
	add := func(b bin, a fettle.FaceAllowance) {
		if !(b.area > 0) {
			return
		}
		slices.SortFunc(b.facets, func(x, y int32) int {
			return cmp.Or(cmp.Compare(v.removal[x], v.removal[y]), cmp.Compare(x, y))
		})
		run, low := 0.0, false
		for _, f := range b.facets {
			w := float64(v.removal[f])
			a.Ratio += w * r.skin.area[f] / b.area
			run += r.skin.area[f]
			if !low && run >= 0.05*b.area {
				a.Least, low = w, true
			}
			if run <= 0.95*b.area || a.Most == 0 {
				a.Most = w
			}
		}
		out = append(out, a)
	}
	for i, b := range zones {
		z := r.in.Survey.Zones[i]
		add(b, fettle.FaceAllowance{Place: z.Name, Zone: z.ID})
	}
	for i, b := range openings {
		o := r.in.Survey.Openings[i]
		a := fettle.FaceAllowance{Place: o.ID, Opening: o.ID}
		if len(b.facets) > 0 {
			a.Zone = r.in.Survey.Zones[r.in.Detail.Zone[r.skin.from[b.facets[0]]]].ID
		}
		add(b, a)
	}
	return out
}

// thread is a metric thread of the coarse series.
type thread struct {
	name            string
	diameter, pitch float64 // mm
}

// coarseThreads are the sizes from M2 to M12 that the coarse series prefers (ISO
// 261, first choice).
var coarseThreads = []thread{
	{"M2", 2, 0.4}, {"M2.5", 2.5, 0.45}, {"M3", 3, 0.5}, {"M4", 4, 0.7}, {"M5", 5, 0.8},
	{"M6", 6, 1}, {"M8", 8, 1.25}, {"M10", 10, 1.5}, {"M12", 12, 1.75},
}

// minor is the basic minor diameter of the nut's thread (ISO 724): two times 5/8
// of the height of the basic triangle less than the diameter, d − 1.0825 P.
func (t thread) minor() float64 { return t.diameter - 2*5.0/8*math.Sqrt(3)/2*t.pitch }

// core reports whether a hole of that diameter is drawn as the thread's core: as
// its minor diameter, or as the common drill for it, diameter less pitch, to the
// next tenth.
func (t thread) core(d float64) bool {
	return d >= t.minor()-0.03 && d <= t.diameter-t.pitch+0.06
}

// masks propose what to cover: a mesh does not show tolerances and threads, so
// each says under which condition.
func (r *reacher) masks(edges []fettle.EdgeWear) []fettle.Mask {
	var out []fettle.Mask
	for _, o := range r.in.Survey.Openings {
		if o.Kind != fettle.Hole || o.LengthMM > 1.02*o.WidthMM {
			continue
		}
		for _, t := range coarseThreads {
			if t.core(o.WidthMM) {
				out = append(out, fettle.Mask{Place: o.ID, Says: fmt.Sprintf(
					"%.2f mm wide, the core of %s: if it is threaded or a fit, plug it.", o.WidthMM, t.name)})
				break
			}
		}
	}
	var crisp []string
	for _, e := range edges {
		if e.Zone != "show" || e.Exposure == 0 {
			continue
		}
		for _, x := range e.Radii {
			if x.RemovedUM == 10 {
				crisp = append(crisp, fmt.Sprintf("the %s a radius of about %s µm", strings.TrimSuffix(e.Place, " in the show face"), two(x.RadiusUM)))
			}
		}
	}
	if len(crisp) > 0 {
		out = append(out, fettle.Mask{Place: "edges of the show face", Says: fmt.Sprintf(
			"While an open face loses 10 µm, %s: mask what must stay crisp, or leave the part out of the charge.", strings.Join(gets(crisp), ", "))})
	}
	return out
}

// gets puts the verb into the first of a list.
func gets(list []string) []string {
	list[0] = strings.Replace(list[0], " a radius", " gets a radius", 1)
	return list
}

// warnings are said once, for all media.
func (r *reacher) warnings() []string {
	var out []string
	n, length := 0, 0.0
	for _, c := range r.in.Survey.Corners {
		if c.RadiusMM == 0 {
			n++
			length += c.LengthMM
		}
	}
	switch {
	case n == 1:
		out = append(out, fmt.Sprintf("One inside corner is sharp (%.3g mm long): a line along it stays as cut with any media.", length))
	case n > 1:
		out = append(out, fmt.Sprintf("%d inside corners are sharp (%.3g mm in all): a line along them stays as cut with any media.", n, length))
	}
	if v := r.in.Void; v != nil {
		var fine []string
		for i, m := range r.in.Media {
			if r.pieces[i][0].in < v.Cell {
				fine = append(fine, m.Name)
			}
		}
		if len(fine) > 0 {
			out = append(out, fmt.Sprintf("The void was measured on a grid of %.2g mm, coarse for %s: ways in that are narrower than two cells are not seen for sure.", v.Cell, strings.Join(fine, ", ")))
		}
	} else {
		out = append(out, "The void was not measured: whether media find a way in is not known, only where they fit.")
	}
	return out
}
