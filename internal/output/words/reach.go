package words

import (
	"fmt"
	"math"
	"strings"

	"fettle"
)

// fewMedia is how many kinds of media are told in full; the rest get a line.
const fewMedia = 3

// Reach says where media get, what stays as it was cut, what may jam and how
// edges go.
func Reach(r fettle.Reach, sys fettle.System) string {
	var p page
	p.say("", "%s: widths and reach to about %s, twice the grid's cell.", r.File, sys.Small(2*r.CellMM))

	section(&p, "Openings, mouth to bottom", r.Openings, func(o fettle.Opening) string { return depths(o, sys) })
	if len(r.Media) > 0 {
		p.head("Media for this part, best first")
		for _, m := range r.Media {
			p.item("%d. %s (%s): %s.", m.Rank, m.Title, m.Name, strings.TrimSuffix(m.Why, "."))
		}
	}
	for i, m := range r.Media {
		if i == fewMedia && len(r.Media) > fewMedia+1 {
			p.head("The others")
			for _, m := range r.Media[fewMedia:] {
				others(&p, m)
			}
			p.item("fettle reach --media NAME tells one of them in full.")
			break
		}
		medium(&p, m, sys)
	}
	section(&p, "Worth closing", r.Plugs, func(g fettle.Plug) string { return sentence(sys.Reword(g.Says)) })
	section(&p, "Edges", r.Edges, func(e fettle.EdgeWear) string { return edge(e, sys) })
	section(&p, "What each face loses, against an open flat one", r.Allowances, loses)
	section(&p, "To cover or leave out", r.Masks, func(m fettle.Mask) string { return sentence(sys.Reword(m.Place + ": " + m.Says)) })
	section(&p, "What to know", r.Warnings, func(w string) string { return sentence(sys.Reword(w)) })
	return p.String()
}

// depths is an opening with its clear width at a few depths.
func depths(o fettle.Opening, sys fettle.System) string {
	t := opening(o, sys)
	switch {
	case len(o.Profile) == 0:
		return strings.TrimSuffix(t, ".") + "; too small for the grid to be measured across."
	case !narrows(o.Profile):
		return strings.TrimSuffix(t, ".") + "; clear " + profile(o.Profile, sys) + "."
	}
	return t
}

// narrows reports whether a width changes along the depth by more than a person
// would call the same.
func narrows(list []fettle.Width) bool {
	least, most := math.Inf(1), 0.0
	for _, w := range list {
		least, most = min(least, w.WidthMM), max(most, w.WidthMM)
	}
	return most-least > 0.03*most
}

// profile is a profile where its width changes: "7.2 mm at the mouth, 4.0 mm
// from 1.6 mm down".
func profile(list []fettle.Width, sys fettle.System) string {
	if !narrows(list) {
		return sys.Length(list[len(list)/2].WidthMM) + " all the way"
	}
	first, last := list[0], list[len(list)-1]
	parts := []string{sys.Length(first.WidthMM) + " at the mouth"}
	narrow := first
	for _, w := range list {
		if w.WidthMM < narrow.WidthMM-1e-9 {
			narrow = w
		}
	}
	if narrow != first && narrow != last {
		parts = append(parts, fmt.Sprintf("%s at %s down", sys.Length(narrow.WidthMM), sys.Length(narrow.DepthMM)))
	}
	return list2(append(parts, fmt.Sprintf("%s at %s down", sys.Length(last.WidthMM), sys.Length(last.DepthMM))))
}

// list2 joins by commas alone, because the parts hold words of their own.
func list2(parts []string) string { return strings.Join(parts, ", ") }

// medium tells one kind of media in full.
func medium(p *page, m fettle.MediaReach, sys fettle.System) {
	p.head(m.Title)
	p.item("reaches %s of the part new and %s worn.", share(m.ReachedShare), share(m.WornShare))
	for _, z := range m.Zones {
		p.item("%s: %s reached (worn %s), exposure %.2f, loses %.2f of what an open flat face does.", z.Zone, share(z.ReachedShare), share(z.WornShare), z.Exposure, z.Removal)
	}
	for _, l := range m.Leaves {
		p.item("%s", sentence(sys.Reword(l.Says)))
	}
	told := 0
	for _, j := range worstOf(m.Jams) {
		if j.Chance.P < 0.005 {
			continue
		}
		told++
		p.item("%s: %s chance of a jam (%.0f %%), %s: %s", j.Opening, j.Chance.Word, 100*j.Chance.P, j.State, sentence(sys.Reword(j.Why)+fits(j)))
	}
	if told == 0 && len(m.Jams) > 0 {
		p.item("jams nowhere.")
	}
}

// others tells one kind of media in a line.
func others(p *page, m fettle.MediaReach) {
	var where []string
	for _, j := range worstOf(m.Jams) {
		if j.Chance.P >= 0.005 {
			where = append(where, fmt.Sprintf("%s (%s)", j.Opening, j.Chance.Word))
		}
	}
	jams := "jams nowhere"
	if len(where) > 0 {
		jams = "may jam in " + list(where)
	}
	p.item("%s: reaches %s, %s.", m.Name, share(m.ReachedShare), jams)
}

// fits says when media that cannot enter will have worn so far that they can.
func fits(j fettle.Jam) string {
	if j.HoursToFit == nil || strings.Contains(j.Why, " h in a bowl") {
		return ""
	}
	return fmt.Sprintf("; worn small enough after about %.0f h in a bowl (%.0f–%.0f)", j.HoursToFit.Value, j.HoursToFit.Low, j.HoursToFit.High)
}

// worstOf keeps the likeliest of the states for each opening.
func worstOf(jams []fettle.Jam) []fettle.Jam {
	var out []fettle.Jam
	at := map[string]int{}
	for _, j := range jams {
		i, ok := at[j.Opening]
		if !ok {
			at[j.Opening] = len(out)
			out = append(out, j)
		} else if j.Chance.P > out[i].Chance.P {
			out[i] = j
		}
	}
	return out
}

// share is a part of one in per cent, with a decimal near the ends.
func share(v float64) string {
	switch {
	case v >= 0.9995:
		return "all"
	case v <= 0.0005:
		return "none"
	case v > 0.98 || v < 0.02:
		return fmt.Sprintf("%.1f %%", 100*v)
	}
	return fmt.Sprintf("%.0f %%", 100*v)
}

// edge is a class of edges with its radius against removal.
func edge(e fettle.EdgeWear, sys fettle.System) string {
	var parts []string
	for _, r := range e.Radii {
		if r.RemovedUM == 2 || r.RemovedUM == 10 || r.RemovedUM == 50 {
			parts = append(parts, fmt.Sprintf("%s after %s", sys.Fine(r.RadiusUM), sys.Fine(r.RemovedUM)))
		}
	}
	return sentence(fmt.Sprintf("%s, %s, %.0f°: radius %s off an open face", e.Place, sys.About(e.LengthMM), e.AngleDeg, list(parts)))
}

func loses(a fettle.FaceAllowance) string {
	return sentence(fmt.Sprintf("%s: %.2f (%.2f–%.2f)", a.Place, a.Ratio, a.Least, a.Most))
}
