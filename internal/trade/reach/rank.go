package reach

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/trade/jam"
)

// RealJam is the chance past which media are not used on a part: one piece in
// ten stuck is a morning with a pick.
const RealJam = 0.1

// FullReach is the share of a face that media must touch to be chosen for it:
// what is left is the ring along an edge or inside corner that a person expects.
const FullReach = 0.95

// weight is how much the reach of a zone counts, by how it is judged.
var weight = map[fettle.Class]float64{fettle.Show: 1, fettle.Plain: 0.3, fettle.Hidden: 0.05}

// Rank joins what media reach with what they may jam in and puts the media in
// order for this part, best first: those that are not likely to jam before those
// that are, then by the share of the zones that they reach, shown faces first, less
// their chance to jam; of media that differ by less than a hundredth the larger,
// which is quicker. Jams are those of [jam.Judge] for the survey's openings, of any
// media.
func (r *Result) Rank(in Input, jams []fettle.Jam) []fettle.MediaReach {
	type ranked struct {
		m      fettle.MediaReach
		likely bool
		score  float64
		size   float64
	}
	list := make([]ranked, 0, len(r.Media))
	for i, m := range r.Media {
		m.Jams = []fettle.Jam{}
		for _, j := range jams {
			if j.Media == m.Name {
				m.Jams = append(m.Jams, j)
			}
		}
		m.JamP = jam.Any(m.Jams)
		x := ranked{m: m, likely: likeliest(m.Jams).Chance.P >= RealJam, size: math.Min(in.Media[i].SizeMM[0], in.Media[i].SizeMM[1])}
		sum := 0.0
		for k, z := range in.Survey.Zones {
			if k < len(m.Zones) {
				x.score += weight[z.Class] * m.Zones[k].ReachedShare
				sum += weight[z.Class]
			}
		}
		x.score = x.score/math.Max(sum, 1e-9) - m.JamP
		x.m.Why = why(in.Survey, m)
		list = append(list, x)
	}
	slices.SortStableFunc(list, func(a, b ranked) int {
		if a.likely != b.likely {
			if a.likely {
				return 1
			}
			return -1
		}
		// Hundredths, so that the order is one.
		return cmp.Or(
			cmp.Compare(math.Round(100*b.score), math.Round(100*a.score)),
			cmp.Compare(b.size, a.size),
			cmp.Compare(a.m.Name, b.m.Name),
		)
	})
	out := make([]fettle.MediaReach, len(list))
	for i, x := range list {
		x.m.Rank = i + 1
		out[i] = x.m
	}
	return out
}

// likeliest is the jam with the highest chance.
func likeliest(jams []fettle.Jam) fettle.Jam {
	var worst fettle.Jam
	for _, j := range jams {
		if j.Chance.P > worst.Chance.P {
			worst = j
		}
	}
	return worst
}

// why says in a clause what speaks for and against media on a part.
func why(s fettle.Survey, m fettle.MediaReach) string {
	var parts []string
	for k, z := range s.Zones {
		if k < len(m.Zones) && z.Class == fettle.Show {
			parts = append(parts, fmt.Sprintf("reaches %.0f %% of the %s", 100*m.Zones[k].ReachedShare, strings.ToLower(z.Name)))
		}
	}
	if len(parts) == 0 {
		parts = append(parts, fmt.Sprintf("reaches %.0f %% of the part", 100*m.ReachedShare))
	}
	w := likeliest(m.Jams)
	switch {
	case w.Chance.P >= RealJam:
		parts = append(parts, fmt.Sprintf("a %s chance that a piece stays in %s", w.Chance.Word, w.Opening))
	case m.JamP >= 0.005:
		parts = append(parts, fmt.Sprintf("a slight chance that a piece stays somewhere, most likely in %s", w.Opening))
	default:
		parts = append(parts, "jams nowhere")
	}
	return strings.Join(parts, "; ")
}
