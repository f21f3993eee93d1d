package jam

import (
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

// Plugs names the openings worth closing before the charge: those whose closing
// alone brings at least one kind of media under limit, the chance from which
// they are not used, in the order of the openings. Judgements are those of all
// media, in any order; the worst state counts.
func Plugs(openings []fettle.Opening, jams []fettle.Jam, limit float64) []fettle.Plug {
	blocking := map[string][]string{} // openings by media
	var media []string
	for _, j := range worst(jams) {
		if j.Chance.P < limit {
			continue
		}
		if blocking[j.Media] == nil {
			media = append(media, j.Media)
		}
		blocking[j.Media] = append(blocking[j.Media], j.Opening)
	}
	var out []fettle.Plug
	for _, o := range openings {
		var frees []string
		for _, m := range media {
			if slices.Equal(blocking[m], []string{o.ID}) {
				frees = append(frees, m)
			}
		}
		if len(frees) > 0 {
			out = append(out, fettle.Plug{Opening: o.ID, Frees: frees, Says: plugWords(o, frees)})
		}
	}
	return out
}

// plugWords says what a plug has to close.
func plugWords(o fettle.Opening, frees []string) string {
	what := "a plug from the front"
	if o.Through {
		what = "a plug that fills it from end to end, held on both faces"
	}
	size := fmt.Sprintf("%.3g mm", o.WidthMM)
	switch {
	case o.Form == "keyhole":
		size = fmt.Sprintf("%.3g mm at the slot and %.3g mm at the round end, %.3g mm long", o.WidthMM, o.WidestMM, o.LengthMM)
	case o.LengthMM > 1.05*o.WidthMM:
		size = fmt.Sprintf("%.3g × %.3g mm", o.WidthMM, o.LengthMM)
	case o.WidestMM > 1.05*o.WidthMM:
		size = fmt.Sprintf("%.3g mm, %.3g mm at the mouth", o.WidthMM, o.WidestMM)
	}
	return fmt.Sprintf("%s is %s wide and %.3g mm deep; closed with %s, soft and flush, it lets %s be used",
		o.ID, size, o.DepthMM, what, list(frees))
}

func list(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return names[0]
}
