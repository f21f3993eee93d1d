package envelope

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/trade/tumble"
)

// loadShare is how much of what a drive is rated for one part may weigh: the rest is
// media and water. A starting guess.
const loadShare = 0.5

// Default proposes what a shop with this shelf could take, to be changed by who knows
// it: parts that the roomiest mill holds, lying on the side that suits, with as much
// again above them for the tool; that turn over freely in the largest barrel or bowl;
// that are at most half of what its drive is rated for; of the materials and with the
// finishes on the shelf. What the shelf says nothing of stays without a limit.
func Default(shelf *fettle.Shelf) fettle.Envelope {
	env := fettle.Envelope{Materials: []string{}, Finishes: []string{}}
	var notes []string
	volume := func(b [3]float64) float64 { return b[0] * b[1] * b[2] }
	var mill string
	for _, m := range shelf.Machines {
		box := [3]float64{m.TravelMM[0], m.TravelMM[1], m.TravelMM[2] / 2}
		slices.SortFunc(box[:], func(a, b float64) int { return cmp.Compare(b, a) })
		if box[2] > 0 && volume(box) > volume(env.MaxMM) {
			env.MaxMM, mill = box, m.Name
		}
	}
	if mill != "" {
		notes = append(notes, fmt.Sprintf("size by the travel of the %s", mill))
	}
	room, load, vessel := 0.0, 0.0, ""
	for _, v := range shelf.Vessels {
		if r := roomMM(v); r > room {
			room, vessel = r, v.Name
		}
		load = math.Max(load, v.MaxLoadKg)
	}
	if room > 0 && (mill == "" || env.MaxMM[0] > room) {
		for k := range env.MaxMM {
			if mill == "" || env.MaxMM[k] > room {
				env.MaxMM[k] = room
			}
		}
		notes = append(notes, fmt.Sprintf("longest side by what turns over freely in the %s", vessel))
	}
	for k, v := range env.MaxMM {
		if v >= 1 {
			env.MaxMM[k] = math.Floor(v)
		}
	}
	if load > 0 {
		env.MaxKg = loadShare * load
		notes = append(notes, "mass half of what the strongest drive is rated for")
	}
	for _, m := range shelf.Materials {
		env.Materials = append(env.Materials, m.Name)
	}
	for _, l := range shelf.Looks {
		env.Finishes = append(env.Finishes, l.Name)
	}
	if len(notes) > 0 {
		env.Notes = "Proposed from the shelf: " + strings.Join(notes, "; ") + "."
	}
	return env
}

// roomMM is the longest side of a part that still turns over freely in a vessel: the
// share of its diameter that the charge is held to.
func roomMM(v fettle.Vessel) float64 {
	lo, hi := 0.0, v.DiameterMM
	if !(hi > 0) || math.IsInf(hi, 0) {
		return 0
	}
	for range 60 {
		mid := (lo + hi) / 2
		if tumble.TooBig([3]float64{mid, 0, 0}, v) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo
}
