package words

import (
	"math"
	"strings"

	"fettle"
)

// fewMedia is how many kinds of media are told in full; the rest get a line.
const fewMedia = 3

// Reach says where media get, what stays as it was cut, what may jam and how
// edges go.
func (l Voice) Reach(r fettle.Reach, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	p.say("", "%s: widths and reach to about %s, twice the grid's cell.", r.File, v.Small(2*r.CellMM))

	section(p, "Openings, mouth to bottom", r.Openings, v.depths)
	section(p, "Media for this part, best first", r.Media, func(m fettle.MediaReach) string {
		return v.Say("%d. %s (%s): %s.", m.Rank, m.Title, m.Name, plain(m.Why))
	})
	for i, m := range r.Media {
		if i == fewMedia && len(r.Media) > fewMedia+1 {
			section(p, "The others", r.Media[fewMedia:], v.otherMedia)
			p.item("fettle reach --media NAME tells one of them in full.")
			break
		}
		p.medium(m)
	}
	section(p, "Worth closing", r.Plugs, func(g fettle.Plug) string { return v.reworded(g.Says) })
	section(p, "Edges", r.Edges, v.edge)
	section(p, "What each face loses, against an open flat one", r.Allowances, func(a fettle.FaceAllowance) string {
		return v.Sentence(v.Say("%s: %.2f (%.2f–%.2f)", a.Place, a.Ratio, a.Least, a.Most))
	})
	section(p, "To cover or leave out", r.Masks, func(m fettle.Mask) string { return v.Sentence(v.Say("%s: %s", v.Reword(m.Place), v.Reword(m.Says))) })
	section(p, "What to know", r.Warnings, v.reworded)
	return p.String()
}

// depths is an opening with its clear width at a few depths.
func (v voice) depths(o fettle.Opening) string {
	t := v.opening(o)
	switch {
	case len(o.Profile) == 0:
		return v.Say("%s; too small for the grid to be measured across.", plain(t))
	case !narrows(o.Profile):
		return v.Say("%s; clear %s.", plain(t), v.profile(o.Profile))
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

// profile is a profile where its width changes: "7.20 mm at the mouth, 4.00 mm at
// 1.60 mm down".
func (v voice) profile(list []fettle.Width) string {
	if !narrows(list) {
		return v.Say("%s all the way", v.Length(list[len(list)/2].WidthMM))
	}
	first, last := list[0], list[len(list)-1]
	parts := []string{v.Say("%s at the mouth", v.Length(first.WidthMM))}
	narrow := first
	for _, w := range list {
		if w.WidthMM < narrow.WidthMM-1e-9 {
			narrow = w
		}
	}
	down := func(w fettle.Width) string { return v.Say("%s at %s down", v.Length(w.WidthMM), v.Length(w.DepthMM)) }
	if narrow != first && narrow != last {
		parts = append(parts, down(narrow))
	}
	return commas(append(parts, down(last))...)
}

// medium tells one kind of media in full.
func (p *page) medium(m fettle.MediaReach) {
	v := p.v
	p.title(m.Title)
	p.item("It reaches %s of the part new and %s worn.", v.share(m.ReachedShare), v.share(m.WornShare))
	for _, z := range m.Zones {
		p.item("%s: %s reached (worn %s), exposure %.2f, loses %.2f of what an open flat face does.", z.Zone, v.share(z.ReachedShare), v.share(z.WornShare), z.Exposure, z.Removal)
	}
	for _, l := range m.Leaves {
		p.item("%s", v.reworded(l.Says))
	}
	told := 0
	for _, j := range worstOf(m.Jams) {
		if j.Chance.P < 0.005 {
			continue
		}
		told++
		p.item("%s: %s (%.0f %%), %s: %s", j.Opening, v.jamChance(j.Chance), 100*j.Chance.P, v.jamState(string(j.State)), v.jamWhy(j))
	}
	if told == 0 && len(m.Jams) > 0 {
		p.item("It jams nowhere.")
	}
}

// jamChance is the chance of a jam in words.
func (v voice) jamChance(c fettle.Chance) string {
	switch c.Word {
	case "slight":
		return v.Say("slight chance of a jam")
	case "real":
		return v.Say("real chance of a jam")
	case "near certain":
		return v.Say("near certain chance of a jam")
	}
	return v.Say("%s chance of a jam", c.Word)
}

// jamState is how far media are worn.
func (v voice) jamState(s string) string {
	switch s {
	case "new":
		return v.Say("new")
	case "now":
		return v.Say("now")
	case "worn":
		return v.Say("worn")
	}
	return s
}

// jamWhy is the reason for a jam, and when media that cannot enter will have worn so
// far that they can.
func (v voice) jamWhy(j fettle.Jam) string {
	why := v.Reword(plain(j.Why))
	if j.HoursToFit != nil && !strings.Contains(j.Why, " h in a bowl") {
		why = v.Say("%s; worn small enough after about %.0f h in a bowl (%.0f–%.0f)", why, j.HoursToFit.Value, j.HoursToFit.Low, j.HoursToFit.High)
	}
	return v.Sentence(why)
}

// otherMedia tells one kind of media in a line.
func (v voice) otherMedia(m fettle.MediaReach) string {
	var where []string
	for _, j := range worstOf(m.Jams) {
		if j.Chance.P >= 0.005 {
			where = append(where, v.Say("%s (%s)", j.Opening, v.chanceWord(j.Chance)))
		}
	}
	if len(where) == 0 {
		return v.Say("%s: reaches %s, jams nowhere.", m.Name, v.share(m.ReachedShare))
	}
	return v.Say("%s: reaches %s, may jam in %s.", m.Name, v.share(m.ReachedShare), v.List(where))
}

// chanceWord is a chance in a word.
func (v voice) chanceWord(c fettle.Chance) string {
	switch c.Word {
	case "slight":
		return v.Say("slight")
	case "real":
		return v.Say("real")
	case "near certain":
		return v.Say("near certain")
	}
	return c.Word
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

// edge is a class of edges with its radius against removal.
func (v voice) edge(e fettle.EdgeWear) string {
	var parts []string
	for _, r := range e.Radii {
		if r.RemovedUM == 2 || r.RemovedUM == 10 || r.RemovedUM == 50 {
			parts = append(parts, v.Say("%s after %s", v.Fine(r.RadiusUM), v.Fine(r.RemovedUM)))
		}
	}
	if len(parts) == 0 {
		return v.Sentence(v.Say("%s, %s, %.0f°", e.Place, v.About(e.LengthMM), e.AngleDeg))
	}
	return v.Sentence(v.Say("%s, %s, %.0f°: radius %s off an open face", e.Place, v.About(e.LengthMM), e.AngleDeg, v.List(parts)))
}
