package tumble

import (
	"fmt"
	"math"

	"fettle"
)

// dose is the compound in ml for a litre of water, where the shop has none of its
// own.
var dose = fettle.Guess(10, 5, 15, fettle.BasisGuess)

// BasisShopDose marks compound by the dose that stands with the vessel.
const BasisShopDose = "shop's dose"

// flows tells that water runs through the load and out again.
func (l Load) flows() bool {
	return l.Vessel.Kind == fettle.Vibratory && l.Media.Kind != fettle.Steel
}

// level is the water that stands in the load, over what fills its voids.
func (l Load) level() fettle.Estimate {
	if l.Media.Kind == fettle.Steel {
		return shot[l.Tone].level
	}
	return tones[l.Tone].level
}

// mostWaterKgL is what the water in a litre of the load may weigh in the wettest
// tone.
func (l Load) mostWaterKgL() float64 {
	if l.Media.Dry {
		return 0
	}
	if l.flows() {
		return void.Value / 4 // what clings
	}
	l.Tone = fettle.ToneBright
	return void.Value * l.level().Value
}

// liquid fills in water, compound and where the water stands.
func (l Load) liquid(c *fettle.Charge) {
	if l.Media.Dry {
		c.WaterL = fettle.Exactly(0, "runs dry")
		c.CompoundML = fettle.Guess(5, 2, 10, fettle.BasisGuess).Scale(c.MediaL)
		c.Compound = "polishing paste, run into the media for half an hour before the parts go in"
		return
	}
	w, room := tones[l.Tone], c.FillShare*l.Vessel.VolumeL
	of := dose
	if own := l.Vessel.DoseMLL; own > 0 {
		of = fettle.Exactly(own, BasisShopDose)
	}
	if l.flows() {
		flow := w.flow.Scale(room)
		c.WaterL = flow.Scale(l.Hours.Value)
		c.CompoundML = of.Scale(w.dose).Times(c.WaterL)
		c.Compound = fmt.Sprintf("%s, let through with the water at %.2g l an hour", l.soap(), flow.Value)
		c.WaterLevel = fmt.Sprintf("%.2g l an hour let through with the drain open: all of it runs wet, and no water stands in the bowl", flow.Value)
		return
	}
	c.WaterL = void.Times(l.level()).Scale(room)
	c.CompoundML = of.Scale(w.dose).Times(c.WaterL)
	c.Compound = l.soap()
	c.ChangeLiquidH = w.fresh
	c.WaterLevel = l.stands(c.FillShare)
	if l.Media.Kind == fettle.Steel {
		c.ChangeLiquidH = 0
		if l.Vessel.DoseMLL <= 0 {
			c.CompoundML = fettle.Guess(8, 4, 15, "trade reference, read").Scale(w.dose * c.MediaKg)
		}
		if l.Vessel.Kind == fettle.Vibratory {
			c.WaterLevel += ", with the drain closed"
		}
	}
}

func (l Load) soap() string {
	switch {
	case l.Media.Kind == fettle.Porcelain || l.Media.Kind == fettle.Steel:
		return "burnishing soap, neutral"
	case l.Material.Rusts:
		return "deburring compound near pH 7 with rust inhibitor"
	}
	return "deburring compound near pH 7"
}

// The widths by which a person judges a level, mm.
const (
	eyeMM     = 3  // finer than anyone sees through a barrel's mouth
	fingerMM  = 18 // a finger
	fingersMM = 36 // two
	handMM    = 80
)

// stands says in words where the water stands in a load that fills a share of the
// vessel at rest, so that a person who pours to there has poured the litres.
func (l Load) stands(fill float64) string {
	level := l.level().Value
	switch {
	case level < 0.25:
		// About what clings: a film of 0.1 mm on pieces of 8 mm is a ninth of the voids.
		return "just wet: the load glistens, and no water stands under it"
	case level < 0.7:
		return "to about half-way up the load"
	}
	water := level * fill
	if level > 1 { // what stands above the load has no pieces in it
		water = fill * (1 + (level-1)*void.Value)
	}
	gap := l.depthMM(fill) - l.depthMM(water)
	side := "below"
	if gap < 0 {
		side, gap = "above", -gap
	}
	switch {
	case gap <= eyeMM:
		return "level with the top of the load"
	case gap <= fingerMM/1.8:
		return fmt.Sprintf("just %s the top of the load", side)
	case gap <= (fingerMM+fingersMM)/2:
		return fmt.Sprintf("to about a finger's width %s the top of the load", side)
	case gap <= (fingersMM+handMM)/2:
		return fmt.Sprintf("to about two fingers' widths %s the top of the load", side)
	}
	return fmt.Sprintf("to about a hand's width %s the top of the load", side)
}

// depthMM is how deep a share of the vessel's volume stands in it: in a barrel
// lying down a segment of a circle, in a bowl a channel about a third as deep as the
// bowl is wide.
func (l Load) depthMM(share float64) float64 {
	share = math.Min(math.Max(share, 0), 1)
	if l.Vessel.Kind == fettle.Vibratory {
		return share * l.Vessel.DiameterMM / 3
	}
	lo, hi := 0.0, 2*math.Pi // angle of the segment: share = (a − sin a)/2π
	for range 50 {
		if a := (lo + hi) / 2; a-math.Sin(a) < 2*math.Pi*share {
			lo = a
		} else {
			hi = a
		}
	}
	return (1 - math.Cos(lo/2)) / 2 * l.Vessel.DiameterMM
}

// otherTones fills in what the tones that were not chosen would do.
func (l Load) otherTones(c *fettle.Charge) {
	if l.Media.Dry {
		return
	}
	for _, t := range []fettle.Tone{fettle.ToneUsual, fettle.ToneBright, fettle.ToneDark} {
		if t == l.Tone {
			continue
		}
		o, as := l, *c
		o.Tone = t
		// Either may be the usual one, whose speed is exactly 1.
		o.Hours = l.Hours.Times(toneSpeed(l.Tone, l.Media)).Over(toneSpeed(t, l.Media))
		o.liquid(&as)
		c.Tones = append(c.Tones, fettle.ToneChoice{
			Tone: t, WaterL: as.WaterL, CompoundML: as.CompoundML, Hours: o.Hours, Level: as.WaterLevel, Says: o.says(),
		})
	}
}

// says is what a tone does against the usual one.
func (l Load) says() string {
	steel := l.Media.Kind == fettle.Steel
	switch {
	case l.Tone == fettle.ToneBright && steel:
		return "more water and soap cushion the shot: somewhat slower, and brighter"
	case l.Tone == fettle.ToneBright:
		return "more water and compound carry fines away: somewhat faster, and brighter"
	case l.Tone == fettle.ToneDark && steel:
		return "less water and soap leave it duller and darker; stop before the shot runs dry, for then it scuffs"
	case l.Tone == fettle.ToneDark && l.flows():
		return "less water keeps fines in the load: slower, and darker; open it up again before the load turns to paste"
	case l.Tone == fettle.ToneDark:
		return "less water keeps fines in the load: slower, and darker; rinse and wet it afresh oftener, before it turns to paste"
	}
	return "as it is usually run"
}
