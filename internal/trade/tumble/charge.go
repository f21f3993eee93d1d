package tumble

import (
	"fmt"
	"math"

	"fettle"
)

// Load is what a charge is made up for.
type Load struct {
	PartVolumeMM3 float64
	PartAreaMM2   float64
	PartSizeMM    [3]float64
	Lot           int
	Material      fettle.Material
	Media         fettle.Media
	Vessel        fettle.Vessel
	Tone          fettle.Tone // what dry media have none of
	Hours         fettle.Estimate
	// Jams are what its openings may hold of these media.
	Jams []fettle.Jam
	// Cosmetic parts run slower and with more media between them.
	Cosmetic bool
}

// Common practice in making up a charge. Barrels want 45 to 60 % of their
// volume; bowls and the drums of centrifugal machines run fuller or alike.
const (
	fillRotary      = 0.55
	fillVibratory   = 0.85
	fillCentrifugal = 0.55
	leastShare      = 0.6 // of the media wanted; with less a load slaps instead of sliding

	ratioPlain    = 3.0  // media to parts by loose volume
	ratioCosmetic = 6.0  // between the common 3 and the 10 for high gloss
	ratioGloss    = 10.0 // fine media on faces that are looked at

	looseParts = 0.6 // solid share of a heap of parts
)

// void is the share of a heap of media that is air or water.
var void = fettle.Guess(0.40, 0.35, 0.45, fettle.BasisGuess)

// TooBig reports whether a part of that box cannot turn over freely in a
// vessel: its longest side is more than 0.6 of a barrel's diameter, or more than
// a quarter of a bowl's, whose channel is about a third. Common practice.
func TooBig(sizeMM [3]float64, v fettle.Vessel) bool {
	long := math.Max(sizeMM[0], math.Max(sizeMM[1], sizeMM[2]))
	share := 0.6
	if v.Kind == fettle.Vibratory {
		share = 0.25
	}
	return long > share*v.DiameterMM
}

// Plan makes up the charge: how full, how many parts, how much of what, how
// fast, when to look, to vent and to change the liquid. Loads
// are made equal. It fails with Invalid on a load that makes no sense and with
// No where the part does not fit or the media on the shelf do not suffice, and
// says what to try.
func Plan(l Load) (fettle.Charge, error) {
	if err := l.check(); err != nil {
		return fettle.Charge{}, err
	}
	part := l.PartVolumeMM3 / 1e6 / looseParts // litres in a heap
	ratio := l.ratio()
	room := l.fill() * l.Vessel.VolumeL
	// A small drive is overloaded long before its barrel is full of steel.
	heavier := math.Max((ratio*l.mediaKgL()+looseParts*l.Material.Density)/(ratio+1), l.mediaKgL())
	if most := l.Vessel.MaxLoadKg; most > 0 && room*heavier > most {
		room = most / heavier
	}
	most := max(1, int(room/(ratio+1)/part))
	loads := (l.Lot + most - 1) / most
	each := (l.Lot + loads - 1) / loads
	parts := float64(each) * part
	if room < 2*parts {
		return fettle.Charge{}, fettle.Errorf(fettle.No, "one part leaves no room for media in the %.2g l that %s may be filled with; use a larger one", room, l.Vessel.Name)
	}
	mediaL := room - parts
	if have := l.Media.OnShelfL; have > 0 && mediaL > have {
		if have < leastShare*mediaL {
			return fettle.Charge{}, fettle.Errorf(fettle.No, "there are %.2g l of %s and %s wants %.2g l; get more, or use a smaller barrel", have, l.Media.Name, l.Vessel.Name, mediaL)
		}
		mediaL = have
	}
	room = mediaL + parts
	c := fettle.Charge{
		Vessel: l.Vessel.Name, Media: l.Media.Name,
		Loads: loads, PartsPerLoad: each,
		MediaToParts: mediaL / parts,
		FillShare:    room / l.Vessel.VolumeL,
		MediaL:       mediaL, MediaKg: mediaL * l.Media.BulkKgL,
		Hours: l.Hours, FirstLookH: l.firstLook(),
		Jams: l.Jams,
	}
	l.liquid(&c, room)
	if err := l.speed(&c); err != nil {
		return fettle.Charge{}, err
	}
	l.vent(&c, room, float64(each))
	return c, nil
}

func (l Load) check() error {
	for _, v := range []struct {
		what string
		n    float64
	}{
		{"the part's volume", l.PartVolumeMM3},
		{"the part's area", l.PartAreaMM2},
		{"the lot", float64(l.Lot)},
		{"the hours", l.Hours.Value},
		{"the volume of " + l.Vessel.Name, l.Vessel.VolumeL},
		{"the bulk density of " + l.Media.Name, l.Media.BulkKgL},
		{"the density of " + l.Material.Name, l.Material.Density},
	} {
		if !(v.n > 0) || math.IsInf(v.n, 0) {
			return fettle.Errorf(fettle.Invalid, "%s is %g, and no charge can be made up from that; it must be more than zero", v.what, v.n)
		}
	}
	switch {
	case l.Media.Dry && !l.Vessel.Dry:
		return fettle.Errorf(fettle.No, "%s runs dry and %s is kept wet; use a dry one", l.Media.Name, l.Vessel.Name)
	case !l.Media.Dry && !l.Vessel.Wet:
		return fettle.Errorf(fettle.No, "%s runs wet and %s is kept dry; use a wet one", l.Media.Name, l.Vessel.Name)
	case TooBig(l.PartSizeMM, l.Vessel):
		return fettle.Errorf(fettle.No, "the part cannot turn over freely in %s; use a larger one, or hang it on a fixture", l.Vessel.Name)
	}
	return nil
}

func (l Load) fill() float64 {
	switch l.Vessel.Kind {
	case fettle.Vibratory:
		return fillVibratory
	case fettle.Centrifugal:
		return fillCentrifugal
	}
	return fillRotary
}

func (l Load) ratio() float64 {
	if !l.Cosmetic {
		return ratioPlain
	}
	switch l.Media.Kind {
	case fettle.Porcelain, fettle.Steel, fettle.Cob, fettle.Walnut, fettle.PlasticFine:
		return ratioGloss
	}
	return ratioCosmetic
}

// mediaKgL is what a litre of the running load weighs apart from its parts.
func (l Load) mediaKgL() float64 {
	if l.Media.Dry {
		return l.Media.BulkKgL
	}
	return l.Media.BulkKgL + void.Value
}

// liquid fills in water and compound for a load of room litres.
func (l Load) liquid(c *fettle.Charge, room float64) {
	switch {
	case l.Media.Dry:
		c.WaterL = fettle.Exactly(0, "runs dry")
		c.CompoundML = fettle.Guess(5, 2, 10, fettle.BasisGuess).Scale(c.MediaL)
		c.Compound = "polishing paste, run into the media for half an hour before the parts go in"
	case l.Media.Kind == fettle.Steel:
		// Shot wants soap and water about level with the load: more is gentler.
		c.WaterL = void.Times(fettle.Guess(1.05, 0.85, 1.3, "trade references, read; they disagree")).Scale(room)
		c.CompoundML = fettle.Guess(8, 4, 15, "trade reference, read").Scale(c.MediaKg)
		c.Compound = "burnishing soap, neutral"
	case l.Vessel.Kind == fettle.Vibratory:
		flow := fettle.Guess(0.165, 0.13, 0.20, "trade reference, read").Scale(room)
		c.WaterL = flow.Scale(l.Hours.Value)
		c.CompoundML = dose.Times(c.WaterL)
		c.Compound = fmt.Sprintf("%s, let through with the water at %.2g l an hour", l.soap(), flow.Value)
	default:
		// Up to 0.7 to 0.9 of the load's height.
		c.WaterL = void.Times(fettle.Guess(0.8, 0.7, 0.9, fettle.BasisGuess)).Scale(room)
		c.CompoundML = dose.Times(c.WaterL)
		c.Compound = l.soap()
		c.ChangeLiquidH = 6
	}
}

// dose is the compound in ml for a litre of water.
var dose = fettle.Guess(10, 5, 15, fettle.BasisGuess)

func (l Load) soap() string {
	switch {
	case l.Media.Kind == fettle.Porcelain:
		return "burnishing soap, neutral"
	case l.Material.Rusts:
		return "deburring compound near pH 7 with rust inhibitor"
	}
	return "deburring compound near pH 7"
}

// speed fills in the speed of a barrel, as near to the wanted share of the
// critical one as its drive allows.
func (l Load) speed(c *fettle.Charge) error {
	lo, hi := l.Vessel.RPMRange[0], l.Vessel.RPMRange[1]
	switch l.Vessel.Kind {
	case fettle.Vibratory:
		return nil
	case fettle.Centrifugal:
		// Its turret has no critical speed; gentle for faces that are looked at.
		c.RPM = hi
		if l.Cosmetic {
			c.RPM = (lo + hi) / 2
		}
		return nil
	}
	nc, err := CriticalRPM(l.Vessel.DiameterMM, math.Max(l.Media.SizeMM[0], l.Media.SizeMM[1]))
	if err != nil {
		return err
	}
	want := cuttingShare * nc
	if l.Cosmetic {
		want = cosmeticShare * nc
	}
	c.CriticalRPM, c.RPM = nc, math.Floor(want)
	if hi > 0 {
		c.RPM = math.Min(math.Max(c.RPM, lo), hi)
	}
	c.Froude = Froude(c.RPM, nc)
	return nil
}

// firstLook is a quarter of the way, and not sooner than there is something to
// see.
func (l Load) firstLook() float64 {
	least := 0.25
	if l.Vessel.Kind != fettle.Rotary {
		least = 1.0 / 12
	}
	h := math.Max(l.Hours.Value/4, least)
	switch {
	case h >= 2:
		return math.Round(h)
	case h >= 0.5:
		return math.Round(4*h) / 4
	}
	return math.Round(12*h) / 12
}

func (l Load) vent(c *fettle.Charge, room, parts float64) {
	if !l.Vessel.Closed || l.Media.Dry {
		return
	}
	rate := ProcessOf(l.Media, l.Vessel, l.Material).RemovalUMH.High
	head := l.Vessel.VolumeL - room*(1-void.Value) - c.WaterL.Value
	c.VentEveryH = ventEvery(Fines(rate, l.PartAreaMM2*parts, l.Material.Density), l.Material.HydrogenLPerG, head)
}
