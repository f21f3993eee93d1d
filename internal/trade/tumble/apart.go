package tumble

import (
	"fmt"
	"math"
	"slices"

	"fettle"
)

// knocks is how hard parts of a load mark each other when they meet.
type knocks struct {
	weight float64 // of a part, kg, as if of brass of 100 HB in a barrel
	fast   bool    // the drive cannot run slowly enough for pieces to slide
	plates bool    // wet flat plates stick face to face
}

// Weights in kg at which parts of soft brass are no longer kept apart by the media
// of a usual charge, and at which by no amount of them. Starting guesses: a
// hand-sized plate is tumbled loose everywhere, a pound of brass nowhere.
const (
	lightKg = 0.2
	heavyKg = 0.8
)

// How a part counts as heavier than it is. A flat face shows a dent that a curved
// one hides, and is met by edges; a bowl shakes all of its load at once and a
// centrifugal barrel presses it with several times its weight. Starting guesses.
const (
	flatHeavier        = 1 / 0.75
	bowlHeavier        = 2.0
	centrifugalHeavier = 5.0
)

// knocks works out how parts of this load would mark each other. A dent takes up the
// energy of the part that makes it, which goes with its weight, and yields at the
// hardness of the part that takes it, so weight over hardness is what counts.
func (l Load) knocks(c fettle.Charge) knocks {
	var k knocks
	side := l.PartSizeMM
	slices.Sort(side[:])
	flat := side[0] <= side[1]/4
	// Mean thickness of a plate. One that is no thinner than that keeps its wet
	// neighbour off with whatever lies between.
	k.plates = flat && !l.Media.Dry && 2*l.PartVolumeMM3/l.PartAreaMM2 <= side[1]/15
	if !l.Cosmetic {
		return k
	}
	k.weight = l.partKg()
	if l.Material.HardnessB > 0 {
		k.weight *= 100 / l.Material.HardnessB
	}
	if flat {
		k.weight *= flatHeavier
	}
	switch l.Vessel.Kind {
	case fettle.Vibratory:
		k.weight *= bowlHeavier
	case fettle.Centrifugal:
		k.weight *= centrifugalHeavier
	default:
		k.fast = c.RPM > cosmeticShare*c.CriticalRPM
	}
	// Parts that weigh more than half of the media around them sink through it and
	// meet.
	share := looseParts * l.Material.Density / (l.ratio() * l.Media.BulkKgL)
	k.weight *= math.Min(math.Max(2*share, 1), 2)
	return k
}

// ratio is the least media to parts by volume that keeps them apart.
func (k knocks) ratio() float64 {
	if k.weight > lightKg || k.fast {
		return ratioGloss
	}
	return 0
}

// apart says what keeps parts from marking each other, in clauses; empty where the
// media of a usual charge do.
func (l Load) apart(c fettle.Charge, k knocks) string {
	var says string
	add := func(s string) {
		if says != "" {
			says += "; "
		}
		says += s
	}
	if c.PartsPerLoad == 1 {
		if k.weight > heavyKg && l.Lot > 1 {
			return "one piece alone to a load: loose and heavy as they are, two would dent each other"
		}
		return ""
	}
	switch {
	case k.weight > heavyKg && l.Vessel.Kind == fettle.Vibratory:
		add("one piece to a compartment, with dividers in the bowl: loose and heavy as they are, they dent each other")
	case k.weight > heavyKg && l.Vessel.Kind == fettle.Centrifugal:
		add("one piece to a drum, or each held fast in a fixture: under this pressure loose pieces dent each other")
	case k.weight > heavyKg:
		add("each piece on a wire or in a compartment of its own: loose and heavy as they are, they dent each other")
	case k.weight > lightKg && l.ratio() < ratioGloss:
		add(fmt.Sprintf("at least %g times as much media as parts, %d pieces to a load here: heavy for their softness, they dent each other in less", ratioGloss, c.PartsPerLoad))
	}
	if k.fast {
		add(fmt.Sprintf("at %.0f rpm, the slowest that %s runs, pieces fall and no longer slide: at least %g times as much media as parts", c.RPM, l.Vessel.Name, ratioGloss))
	}
	if k.plates {
		add("wet flat faces stick together: lay them in one by one with media between, and part them at every look")
	}
	return says
}
