package jam

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fettle"
)

// worst is the likeliest of the judgements of each opening, whatever the state, in the
// order in which they come.
func worst(jams []fettle.Jam) []fettle.Jam {
	var out []fettle.Jam
	at := map[[2]string]int{}
	for _, j := range jams {
		k := [2]string{j.Opening, j.Media}
		i, ok := at[k]
		if !ok {
			at[k] = len(out)
			out = append(out, j)
		} else if j.Chance.P > out[i].Chance.P {
			out[i] = j
		}
	}
	return out
}

// Any is the chance that at least one opening of a part holds a piece, from the
// judgements of one kind of media in one state or in all, of which the worst
// counts. The openings are taken as independent.
func Any(jams []fettle.Jam) float64 {
	free := 1.0
	for _, j := range worst(jams) {
		free *= 1 - j.Chance.P
	}
	return 1 - free
}

// mostPlugs is how many ways to close openings are worth telling.
const mostPlugs = 5

// Plugs names the openings worth closing before the charge: those whose closing,
// alone or together with others, brings media under limit, the chance from which
// they are not used. Judgements are those of all media, in any order; the worst
// state counts. A set is left out where fewer openings free as many media. Few
// openings stand before many.
func Plugs(openings []fettle.Opening, jams []fettle.Jam, limit float64) []fettle.Plug {
	rank := map[string]int{}
	for i, o := range openings {
		rank[o.ID] = i
	}
	blocking := map[string][]int{} // openings by media
	var media []string
	for _, j := range worst(jams) {
		i, known := rank[j.Opening]
		if !known || j.Chance.P < limit {
			continue
		}
		if blocking[j.Media] == nil {
			media = append(media, j.Media)
		}
		blocking[j.Media] = append(blocking[j.Media], i)
	}
	type set struct {
		openings []int
		frees    []string
	}
	var sets []set
	for _, m := range media {
		slices.Sort(blocking[m])
		if slices.ContainsFunc(sets, func(s set) bool { return slices.Equal(s.openings, blocking[m]) }) {
			continue
		}
		s := set{openings: blocking[m]}
		for _, o := range media {
			if !slices.ContainsFunc(blocking[o], func(i int) bool { return !slices.Contains(s.openings, i) }) {
				s.frees = append(s.frees, o)
			}
		}
		sets = append(sets, s)
	}
	slices.SortStableFunc(sets, func(a, b set) int {
		return cmp.Or(
			cmp.Compare(len(a.openings), len(b.openings)),
			cmp.Compare(len(b.frees), len(a.frees)),
			slices.Compare(a.openings, b.openings),
		)
	})
	var out []fettle.Plug
	for i, s := range sets {
		less := slices.ContainsFunc(sets[:i], func(o set) bool {
			return len(o.openings) < len(s.openings) && len(o.frees) >= len(s.frees)
		})
		if less || len(out) == mostPlugs {
			continue
		}
		p := fettle.Plug{Opening: openings[s.openings[0]].ID, With: []string{}, Frees: s.frees}
		for _, o := range s.openings[1:] {
			p.With = append(p.With, openings[o].ID)
		}
		p.Says = plugWords(openings[s.openings[0]], p)
		out = append(out, p)
	}
	return out
}

// plugWords says what a plug has to close.
func plugWords(o fettle.Opening, p fettle.Plug) string {
	if len(p.With) > 0 {
		return fmt.Sprintf("%s together, each with a soft plug, flush and held on both faces where it goes through, let %s be used",
			list(append([]string{o.ID}, p.With...)), list(p.Frees))
	}
	what := "a plug from the front"
	if o.Through {
		what = "a plug that fills it from end to end, held on both faces"
	}
	size := fmt.Sprintf("%.3g mm across", o.WidthMM)
	switch {
	case o.Form == "keyhole":
		size = fmt.Sprintf("%.3g mm at the slot and %.3g mm at the round end, %.3g mm long", o.WidthMM, o.WidestMM, o.LengthMM)
	case o.LengthMM > 1.05*o.WidthMM:
		size = fmt.Sprintf("%.3g × %.3g mm", o.WidthMM, o.LengthMM)
	case o.WidestMM > 1.05*o.WidthMM:
		size = fmt.Sprintf("%.3g mm across, %.3g mm at the mouth", o.WidthMM, o.WidestMM)
	}
	return fmt.Sprintf("%s measures %s and is %.3g mm deep; closed with %s, soft and flush, it lets %s be used",
		o.ID, size, o.DepthMM, what, list(p.Frees))
}

func list(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return names[0]
}
