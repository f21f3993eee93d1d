package tumble

import (
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
	// Tone is how wet it runs; dry media have none.
	Tone  fettle.Tone
	Hours fettle.Estimate
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
// wet, how fast, how parts are kept apart, when to look, to vent and to change the
// liquid. Loads are made equal; the last holds what remains. The media to a part
// are never fewer than wanted unless a part is alone, and the drive never carries
// more than it is rated for, in any tone. It fails with Invalid on a load that makes no
// sense and with No where the part does not fit or the media on the shelf do not
// suffice, and says what to try.
func Plan(l Load) (fettle.Charge, error) {
	if err := l.check(); err != nil {
		return fettle.Charge{}, err
	}
	if l.Media.Dry {
		l.Tone = fettle.ToneUsual
	}
	c := fettle.Charge{
		Vessel: l.Vessel.Name, Media: l.Media.Name, Tone: l.Tone,
		Tones: []fettle.ToneChoice{}, HoursTo: []fettle.LookHours{},
		Hours: l.Hours, LooksH: Looks(l.Hours, l.Vessel.Kind), Jams: l.Jams,
	}
	c.FirstLookH = c.LooksH[0]
	if err := l.speed(&c); err != nil {
		return fettle.Charge{}, err
	}
	knocks := l.knocks(c)
	if err := l.fillUp(&c, math.Max(l.ratio(), knocks.ratio())); err != nil {
		return fettle.Charge{}, err
	}
	c.Apart = l.apart(c, knocks)
	l.liquid(&c)
	l.otherTones(&c)
	l.vent(&c)
	return c, nil
}

// fillUp fills in how many parts and how much media go in, with no less than
// ratio of media to parts where more than one part is in a load.
func (l Load) fillUp(c *fettle.Charge, ratio float64) error {
	part := l.partL()
	most := max(1, int(l.fill()*l.Vessel.VolumeL/(ratio+1)/part))
	var parts, wants, mediaL float64
	for {
		c.Loads = (l.Lot + most - 1) / most
		c.PartsPerLoad = (l.Lot + c.Loads - 1) / c.Loads
		parts = float64(c.PartsPerLoad) * part
		wants = l.room(parts) - parts
		mediaL = wants
		if have := l.Media.OnShelfL; have > 0 {
			mediaL = math.Min(wants, have)
		}
		if c.PartsPerLoad == 1 || mediaL >= ratio*parts*(1-1e-9) {
			break
		}
		most = c.PartsPerLoad - 1
	}
	switch {
	case wants < parts:
		return fettle.Errorf(fettle.No, "one part leaves no room for media in the %.2g l that %s may be filled with; use a larger one", math.Max(wants+parts, 0), l.Vessel.Name)
	case mediaL < leastShare*wants:
		return fettle.Errorf(fettle.No, "there are %.2g l of %s and %s wants %.2g l; get more, or use a smaller barrel", mediaL, l.Media.Name, l.Vessel.Name, wants)
	}
	c.LastLoadParts = l.Lot - (c.Loads-1)*c.PartsPerLoad
	c.MediaL, c.MediaKg = mediaL, mediaL*l.Media.BulkKgL
	c.MediaToParts = mediaL / parts
	c.FillShare = (mediaL + parts) / l.Vessel.VolumeL
	return nil
}

// partL is the volume of one part in a heap, litres.
func (l Load) partL() float64 { return l.PartVolumeMM3 / 1e6 / looseParts }

// partKg is its weight.
func (l Load) partKg() float64 { return l.PartVolumeMM3 / 1e6 * l.Material.Density }

// room is the volume in litres that a vessel is filled to with parts of so many
// litres in a heap: its usual share, or less where its drive would be overloaded,
// as a small one is long before its barrel is full of steel.
func (l Load) room(parts float64) float64 {
	room, most := l.fill()*l.Vessel.VolumeL, l.Vessel.MaxLoadKg
	if !(most > 0) {
		return room
	}
	// (room − parts)·bulk + parts·solid·density + room·water = most
	bulk := l.Media.BulkKgL
	return math.Min(room, (most+parts*(bulk-looseParts*l.Material.Density))/(bulk+l.mostWaterKgL()))
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
	if _, known := tones[l.Tone]; !known {
		return fettle.Errorf(fettle.Invalid, "%q is no way to run a wet charge; take %q, %q or leave it open", l.Tone, fettle.ToneBright, fettle.ToneDark)
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

func (l Load) vent(c *fettle.Charge) {
	if !l.Vessel.Closed || l.Media.Dry {
		return
	}
	rate := ProcessOf(l.Media, l.Vessel, l.Material).Toned(l.Tone, l.Media).RemovalUMH.High
	head := l.Vessel.VolumeL*(1-c.FillShare*(1-void.Value)) - c.WaterL.Value
	c.VentEveryH = ventEvery(Fines(rate, l.PartAreaMM2*float64(c.PartsPerLoad), l.Material.Density), l.Material.HydrogenLPerG, head)
}
