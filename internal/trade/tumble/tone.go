package tumble

import "fettle"

// tone is what another amount of liquid does to a wet charge, against the usual.
type tone struct {
	speed fettle.Estimate // of cutting, and so of levelling
	limit fettle.Estimate // of the roughness that it tends to
	level fettle.Estimate // of water that stands in a barrel, over what fills the voids
	flow  fettle.Estimate // of water through a bowl, l an hour for a litre of load
	dose  float64         // of compound in the water, against the usual
	fresh float64         // hours until the liquid of a closed barrel is changed
}

// Common practice gives only the directions: more water and compound cut faster
// and leave a face brighter, less leave it darker, and too much or too little of
// either stops the work. The sizes are starting guesses, kept small because lots of
// media differ by more. Bright is flushed, so that loosened metal leaves and
// edges stay free; dark works in its own fines, which fill the edges and are
// rubbed back onto the face. The flow of a bowl is what trade references give, the
// bright one what they give for tubs.
var tones = map[fettle.Tone]tone{
	fettle.ToneUsual: {
		speed: fettle.Exactly(1, "by definition"), limit: fettle.Exactly(1, "by definition"),
		level: fettle.Guess(0.8, 0.7, 0.9, fettle.BasisGuess),
		flow:  fettle.Guess(0.165, 0.13, 0.20, "trade reference, read"), dose: 1, fresh: 6,
	},
	fettle.ToneBright: {
		speed: fettle.Guess(1.15, 1, 1.35, fettle.BasisGuess), limit: fettle.Guess(0.92, 0.8, 1, fettle.BasisGuess),
		level: fettle.Guess(1, 0.93, 1.07, fettle.BasisGuess),
		flow:  fettle.Guess(0.28, 0.20, 0.40, "trade reference, read"), dose: 1.25, fresh: 6,
	},
	fettle.ToneDark: {
		speed: fettle.Guess(0.8, 0.6, 1, fettle.BasisGuess), limit: fettle.Guess(1.1, 1, 1.25, fettle.BasisGuess),
		level: fettle.Guess(0.12, 0.06, 0.25, fettle.BasisGuess),
		flow:  fettle.Guess(0.08, 0.05, 0.13, fettle.BasisGuess), dose: 0.75, fresh: 3,
	},
}

// shot is what differs for steel media: they press and do not cut, and water
// between them and the face is a cushion. All trade references that were read say
// that more of it is gentler, and disagree about the level: about that of the load.
var shot = map[fettle.Tone]struct{ speed, level fettle.Estimate }{
	fettle.ToneUsual:  {fettle.Exactly(1, "by definition"), fettle.Guess(1.05, 0.85, 1.3, "trade references, read; they disagree")},
	fettle.ToneBright: {fettle.Guess(0.9, 0.75, 1, fettle.BasisGuess), fettle.Guess(1.25, 1.1, 1.4, fettle.BasisGuess)},
	fettle.ToneDark:   {fettle.Guess(0.95, 0.75, 1.1, fettle.BasisGuess), fettle.Guess(0.5, 0.35, 0.7, fettle.BasisGuess)},
}

// toneSpeed is how fast media work in a tone against the usual one.
func toneSpeed(t fettle.Tone, m fettle.Media) fettle.Estimate {
	if m.Kind == fettle.Steel {
		return shot[t].speed
	}
	return tones[t].speed
}

// Toned is the process, as it runs in the usual tone, in another one. Dry media
// have no tone, and a tone that is not known is the usual one.
func (p Process) Toned(t fettle.Tone, m fettle.Media) Process {
	w, known := tones[t]
	if !known || t == fettle.ToneUsual || m.Dry {
		return p
	}
	speed := toneSpeed(t, m)
	p.TimeConstantH = p.TimeConstantH.Over(speed)
	if p.RoughenH.Value > 0 {
		p.RoughenH = p.RoughenH.Over(speed)
	}
	p.RemovalUMH = p.RemovalUMH.Times(speed)
	p.LimitRaUM = p.LimitRaUM.Times(w.limit)
	return p
}
