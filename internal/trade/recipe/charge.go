package recipe

import (
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/tumble"
)

// match is one kind of media in one vessel of this shelf, beside what the recipe used.
type match struct {
	media  fettle.Media
	vessel fettle.Vessel
	// kin is how near the media are: 0 the same, 1 the same kind and shape, 2 the same
	// kind, 3 made for the same work. off is how far their size is off, as a logarithm.
	kin int
	off float64
	// vat is how near the vessel is: 0 the same, 1 one that moves alike, 2 and 3 others.
	vat int
	// named tells that both are called as in the recipe: of two that are alike, those.
	named bool
	ours  tumble.Process
	same  bool // all things are the same, and so are the numbers of the process
	law   fettle.Estimate
	ends  float64
	hours fettle.Estimate
	made  *fettle.Charge // the load made up; nil where the piece is not known
}

// clock is the hours of all loads.
func (c match) clock() float64 {
	if c.made == nil {
		return c.hours.Value
	}
	return c.hours.Value * float64(c.made.Loads)
}

// better orders what could stand: nearest media, nearest vessel, least time.
func (c match) better(o match) bool {
	switch {
	case c.kin != o.kin:
		return c.kin < o.kin
	case math.Abs(c.off-o.off) > 1e-9:
		return c.off < o.off
	case c.vat != o.vat:
		return c.vat < o.vat
	case c.kin == 0 && c.vat == 0 && c.named != o.named:
		return c.named
	}
	return c.clock() < o.clock()
}

// families are kinds of media that are made for the same work.
var families = [][]fettle.MediaKind{
	{fettle.CeramicFast, fettle.CeramicGeneral, fettle.CeramicFine},
	{fettle.PlasticGeneral, fettle.PlasticFine},
	{fettle.Porcelain, fettle.Steel},
	{fettle.Cob, fettle.Walnut},
}

// kinOf is how near media are to others, and how far their size is off; false where
// they do other work. Wet and dry are different processes (Baghbanan, Yabuki, Timsit
// and Spelt, Wear 255 (2003) 1369, abstract).
func kinOf(was, now fettle.Media) (kin int, off float64, ok bool) {
	if was.Dry != now.Dry {
		return 0, 0, false
	}
	off = apart(middle(was), middle(now))
	switch {
	case was.Kind == now.Kind && was.Shape == now.Shape:
		if apart(was.SizeMM[0], now.SizeMM[0]) <= alike && apart(was.SizeMM[1], now.SizeMM[1]) <= alike {
			return 0, 0, true
		}
		return 1, off, true
	case was.Kind == now.Kind:
		return 2, off, true
	}
	for _, f := range families {
		if slices.Contains(f, was.Kind) && slices.Contains(f, now.Kind) {
			return 3, off, true
		}
	}
	return 0, 0, false
}

// middle is the size of a new piece as one number.
func middle(m fettle.Media) float64 { return math.Sqrt(m.SizeMM[0] * m.SizeMM[1]) }

// vatOf is how near a vessel is to another. Barrel and bowl are nearer to each other
// than a centrifugal barrel is to a rotary one: under its pressure faces that are looked
// at are dented.
func vatOf(was, now fettle.Vessel) int {
	switch {
	case was.Kind != now.Kind && was.Kind != fettle.Vibratory && now.Kind != fettle.Vibratory,
		was.Kind != now.Kind && now.Kind == fettle.Centrifugal:
		return 3
	case was.Kind != now.Kind:
		return 2
	case !alikeMade(was, now) || apart(was.Speedup.Value, now.Speedup.Value) > alike:
		return 1
	}
	return 0
}

// alikeMade reports whether two vessels are of one make: what a log taught of one, it
// taught of the other, and a speed set differently is in the guess of each.
func alikeMade(was, now fettle.Vessel) bool {
	return was.Kind == now.Kind && apart(was.VolumeL, now.VolumeL) <= alike && apart(was.DiameterMM, now.DiameterMM) <= alike
}

// charge finds media and a vessel for a charge, and its hours.
func (m *mapper) charge(i int, out *fettle.MappedStep) {
	s := m.r.Steps[i]
	if s.Charge == nil || s.Media == nil || s.Vessel == nil {
		m.namedCharge(s, out)
		return
	}
	tone := s.Charge.Tone
	loan := learn.Loan{From: learn.Setting{Media: *s.Media, Vessel: *s.Vessel, Material: m.r.Material, Tone: tone}, Learned: s.Learned}
	theirs := loan.Process()
	start, target := m.startUM(i), s.RaUM.Value
	law, ends := lawHours(theirs, start, target)

	var best *match
	var against []string
	for _, media := range m.shelf.Media {
		kin, off, ok := kinOf(*s.Media, media)
		if !ok || !sound(media) {
			continue
		}
		for _, v := range m.shelf.Vessels {
			if !(v.Speedup.Value > 0) || !(v.Speedup.Low > 0) || media.Dry && !v.Dry || !media.Dry && !v.Wet {
				continue
			}
			c := match{media: media, vessel: v, kin: kin, off: off, vat: vatOf(*s.Vessel, v)}
			c.named = media.Name == s.Media.Name && v.Name == s.Vessel.Name
			loan.SameMedia, loan.SameVessel = kin == 0, alikeMade(*s.Vessel, v)
			c.ours = m.book.Borrow(loan, learn.Setting{Media: media, Vessel: v, Material: m.mat, Tone: tone})
			c.same = kin == 0 && c.vat == 0 && m.mat.Class == m.r.Material.Class && alikeIn(theirs, c.ours)
			c.law, c.ends = lawHours(c.ours, start, target)
			if why := m.misses(i, c, start, ends); why != "" && !c.same {
				against = append(against, why)
				continue
			}
			switch was := s.Charge.Hours; {
			case !(was.Value > 0):
				c.hours = c.law
			case c.same:
				c.hours = was
			default:
				c.hours = hoursHere(was, law, c.law)
			}
			var err error
			if c.made, err = m.madeUp(c, tone); err != nil {
				against = append(against, upper(err.Error())+".")
				continue
			}
			if best == nil || c.better(*best) {
				best = &c
			}
		}
	}
	if best == nil {
		m.noCharge(s, against, out)
		return
	}
	m.tell(s, *best, theirs, ends, start, out)
}

// sound reports whether media have the numbers that the laws ask for.
func sound(m fettle.Media) bool {
	return m.SizeMM[0] > 0 && m.SizeMM[1] > 0 && m.LimitRaUM.Low > 0 && m.TimeFactor.Low > 0 && m.CutFactor.Low > 0
}

// alikeIn reports whether two processes have the same medians.
func alikeIn(a, b tumble.Process) bool {
	const rounding = 1e-9
	return apart(a.TimeConstantH.Value, b.TimeConstantH.Value) < rounding &&
		apart(a.LimitRaUM.Value, b.LimitRaUM.Value) < rounding && apart(a.RemovalUMH.Value, b.RemovalUMH.Value) < rounding
}

// misses says why a charge would not do what the recipe's did; empty where it does. The
// last must end inside the band of the finish, one before it need only go on from where
// the face is.
func (m *mapper) misses(i int, c match, start, ends float64) string {
	rl, what := c.ours.LimitRaUM.Value, c.media.Name+" in the "+c.vessel.Name
	switch band := m.r.Look.RaUM.High; {
	case m.last(i) && rl > band:
		return fmt.Sprintf("%s tends to Ra %s, rougher than the %s that %s allows.", upper(what), fettle.Metric.Height(rl), fettle.Metric.Height(band), m.r.Look.Name)
	case !m.last(i) && start > 0 && ends > 0 && ends < start && rl*nearLimit >= start:
		return fmt.Sprintf("%s tends to Ra %s, no finer than the %s that goes in.", upper(what), fettle.Metric.Height(rl), fettle.Metric.Height(start))
	}
	return ""
}

// madeUp makes up the load for the recipe's piece and lot; nil where it has none.
func (m *mapper) madeUp(c match, tone fettle.Tone) (*fettle.Charge, error) {
	p := m.r.Piece
	if !(p.VolumeMM3 > 0) || !(p.AreaMM2 > 0) || !(p.SizeMM[0] > 0) || m.r.Lot < 1 {
		return nil, nil
	}
	made, err := tumble.Plan(tumble.Load{
		PartVolumeMM3: p.VolumeMM3, PartAreaMM2: p.AreaMM2, PartSizeMM: p.SizeMM, Lot: m.r.Lot,
		Material: m.mat, Media: c.media, Vessel: c.vessel, Tone: tone, Hours: c.hours, Cosmetic: true,
	})
	if err != nil {
		return nil, err
	}
	return &made, nil
}

// namedCharge is a charge whose things the recipe only names.
func (m *mapper) namedCharge(s fettle.RecipeStep, out *fettle.MappedStep) {
	var media, vessel string
	if s.Charge != nil {
		media, vessel = s.Charge.Media, s.Charge.Vessel
		if was := s.Charge.Hours; was.Value > 0 {
			out.HoursWas = &was
		}
	}
	a, errA := m.shelf.MediaNamed(media)
	b, errB := m.shelf.Vessel(vessel)
	key := "tumble " + a.Name + " in " + b.Name
	m.use(out, byName(fettle.KeptMedia, media, errA == nil), key, rankCharge, fmt.Sprintf("media such as %s", media))
	m.use(out, byName(fettle.KeptVessel, vessel, errB == nil), key, rankCharge, fmt.Sprintf("a barrel or bowl such as %s", vessel))
	out.Says = append(out.Says, "Its hours here are left to the plan of the part.")
}

// mostReasons is how many reasons one sentence of what is missing gives.
const mostReasons = 3

// noCharge says why nothing stands for a charge.
func (m *mapper) noCharge(s fettle.RecipeStep, against []string, out *fettle.MappedStep) {
	var kin []string
	for _, x := range m.shelf.Media {
		if _, _, ok := kinOf(*s.Media, x); ok {
			kin = append(kin, x.Name)
		}
	}
	says, want := "No media of this kind or kin of it, "+how(*s.Media)+".", described(*s.Media)
	if len(kin) > 0 {
		says = "None of the media that could stand for it will do in any vessel here."
		for k, why := range against {
			if k < mostReasons {
				says += " " + why
			}
		}
		want += ", or " + vesselLike(*s.Vessel)
	}
	if was := s.Charge.Hours; was.Value > 0 {
		out.HoursWas = &was
	}
	m.use(out, stand(fettle.KeptMedia, s.Media.Name, "", fettle.NoMatch, says), "", rankCharge, want)
}

func how(m fettle.Media) string {
	if m.Dry {
		return "run dry"
	}
	return "run wet"
}

func described(m fettle.Media) string {
	return fmt.Sprintf("%s (%s, %s of %s × %s)", m.Name, m.Kind, m.Shape, number(m.SizeMM[0]), fettle.Metric.Length(m.SizeMM[1]))
}

func number(mm float64) string {
	s := fettle.Metric.Length(mm)
	return s[:len(s)-len(" mm")]
}

func vesselLike(v fettle.Vessel) string {
	return fmt.Sprintf("a %s like %s of %s", v.Kind, v.Name, fettle.Metric.Liquid(v.VolumeL))
}
