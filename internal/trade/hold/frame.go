package hold

import (
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Side is one of the two sides of a vise for a jaw.
type Side int

// The sides, in the order of bearings and metals.
const (
	FixedSide  Side = iota // behind the opening, towards +Y
	MovingSide             // in front of it
)

// Stand is how one jaw of a pair stands in the vise: which jaw, on which side,
// turned how, and how wide the vise is open.
type Stand struct {
	Jaw   int // fettle.FixedJaw or fettle.MovingJaw: by where it stood when new
	Side  Side
	Turn  fettle.JawTurn
	GapMM float64
}

// Stands are the two jaws as a pose has them, by side. The pose's turns go with
// the sides: with Swapped, the jaw that is numbered as the moving one stands on
// the fixed side, turned as Fixed says.
func Stands(pose fettle.PocketPose) [2]Stand {
	one, other := fettle.FixedJaw, fettle.MovingJaw
	if pose.Swapped {
		one, other = other, one
	}
	return [2]Stand{
		{Jaw: one, Side: FixedSide, Turn: pose.Fixed, GapMM: pose.GapMM},
		{Jaw: other, Side: MovingSide, Turn: pose.Moving, GapMM: pose.GapMM},
	}
}

// turned takes a point of a jaw as it is mounted to the same point of the jaw as it
// was new, and back: a half turn about an axis of the blank is its own inverse. The
// zero turn is as new. Jaws are blanks of WidthMM × ThickMM × HeightMM in their own
// frame.
func turned(j fettle.Jaws, t fettle.JawTurn, p r3.Vec) r3.Vec {
	switch t {
	case "", fettle.AsNew:
	case fettle.EndForEnd:
		p.X, p.Y = -p.X, j.ThickMM-p.Y
	case fettle.UpsideDown:
		p.X, p.Z = -p.X, -j.HeightMM-p.Z
	case fettle.UpsideDownEnd:
		p.Y, p.Z = j.ThickMM-p.Y, -j.HeightMM-p.Z
	default:
		panic(fmt.Sprintf("hold: no such turn of a jaw: %q", t))
	}
	return p
}

// mounted takes a point of the vise's frame to the frame of the jaw that stands
// there, as it is mounted.
func (s Stand) mounted(p r3.Vec) r3.Vec {
	if s.Side == FixedSide {
		p.Y -= s.GapMM / 2
		return p
	}
	p.X, p.Y = -p.X, -p.Y-s.GapMM/2
	return p
}

// vise is the way back.
func (s Stand) vise(p r3.Vec) r3.Vec {
	if s.Side == FixedSide {
		p.Y += s.GapMM / 2
		return p
	}
	p.X, p.Y = -p.X, -p.Y-s.GapMM/2
	return p
}

// Own takes a point of the vise's frame to the frame of the jaw's own metal.
func (s Stand) Own(j fettle.Jaws, p r3.Vec) r3.Vec { return turned(j, s.Turn, s.mounted(p)) }

// Vise takes a point of the jaw's own metal to the vise's frame.
func (s Stand) Vise(j fettle.Jaws, p r3.Vec) r3.Vec { return s.vise(turned(j, s.Turn, p)) }

// upside reports whether what was the jaw's foot is up.
func (s Stand) upside() bool { return s.Turn == fettle.UpsideDown || s.Turn == fettle.UpsideDownEnd }

// backGrips reports whether what was the jaw's back grips.
func (s Stand) backGrips() bool { return s.Turn == fettle.EndForEnd || s.Turn == fettle.UpsideDownEnd }

// carried takes what was cut in a jaw from the jaw's own frame to the vise's.
func (s Stand) carried(j fettle.Jaws, own []region.Layer) []region.Layer {
	out := make([]region.Layer, len(own))
	for i, b := range own {
		out[i].Low, out[i].High = s.heights(j, b.Low, b.High)
		for _, l := range b.Region.Loops {
			out[i].Region.Loops = append(out[i].Region.Loops, s.plan(plain(l), func(p [2]float64) r2.Vec {
				q := s.Vise(j, r3.Vec{X: p[0], Y: p[1]})
				return r2.Vec{X: q.X, Y: q.Y}
			}))
		}
	}
	return out
}

// ToOwn carries what is to be cut in a jaw from the vise's frame to the jaw's own,
// less what lies outside the blank; from the top down as the jaw is when new.
func (s Stand) ToOwn(j fettle.Jaws, layers []region.Layer) []fettle.JawSlab {
	blank := s.blank(j)
	var out []fettle.JawSlab
	for _, l := range layers {
		low, high := max(l.Low, -j.HeightMM), min(l.High, 0)
		r := l.Region.And(blank)
		if low >= high || r.Empty() {
			continue
		}
		var b fettle.JawSlab
		b.LowMM, b.HighMM = s.heights(j, low, high)
		for _, loop := range r.Loops {
			flat := s.plan(plain(loop), func(p [2]float64) r2.Vec {
				q := s.Own(j, r3.Vec{X: p[0], Y: p[1]})
				return r2.Vec{X: q.X, Y: q.Y}
			})
			b.Loops = append(b.Loops, plain(flat))
		}
		out = append(out, b)
	}
	slices.SortStableFunc(out, func(a, b fettle.JawSlab) int {
		switch {
		case a.HighMM > b.HighMM:
			return -1
		case a.HighMM < b.HighMM:
			return 1
		}
		return 0
	})
	return out
}

// heights carries two heights from one frame to the other, either way.
func (s Stand) heights(j fettle.Jaws, low, high float64) (float64, float64) {
	if s.upside() {
		return -j.HeightMM - high, -j.HeightMM - low
	}
	return low, high
}

// plan carries a loop over and keeps the metal on the same side of it: a jaw upside
// down is seen from below.
func (s Stand) plan(l [][2]float64, to func([2]float64) r2.Vec) []r2.Vec {
	out := make([]r2.Vec, len(l))
	for i, p := range l {
		out[i] = to(p)
	}
	if s.upside() {
		slices.Reverse(out)
	}
	return out
}

func plain(l []r2.Vec) [][2]float64 {
	out := make([][2]float64, len(l))
	for i, p := range l {
		out[i] = [2]float64{p.X, p.Y}
	}
	return out
}

// blank is the plan of the jaw's blank in the vise's frame.
func (s Stand) blank(j fettle.Jaws) region.Region {
	near, far := s.GapMM/2, s.GapMM/2+j.ThickMM
	if s.Side == MovingSide {
		near, far = -far, -near
	}
	return region.Rect(r2.Vec{X: -j.WidthMM / 2, Y: near}, r2.Vec{X: j.WidthMM / 2, Y: far})
}

// meetsMM is how far a mounting hole may be off the vise's thread: screws have play
// in their holes. Common practice.
const meetsMM = 0.2

// Mountable reports whether a jaw can be screwed to the vise turned in one way: its
// holes must come to lie where they lay when it was new, and their heads must find a
// recess in the face that then grips. why is a sentence for a person where they do
// not.
func Mountable(j fettle.Jaws, t fettle.JawTurn) (ok bool, why string) {
	s := Stand{Turn: t}
	for i, h := range j.Holes {
		at := turned(j, t, r3.Vec{X: h.XMM, Z: h.ZMM})
		met := slices.ContainsFunc(j.Holes, func(o fettle.JawHole) bool {
			return math.Hypot(o.XMM-at.X, o.ZMM-at.Z) <= meetsMM && math.Abs(o.DiameterMM-h.DiameterMM) <= meetsMM
		})
		if !met {
			return false, fmt.Sprintf("%s, mounting hole %d does not come to lie on the vise's thread", t, i+1)
		}
		if s.backGrips() && h.HeadMM > 0 && !h.BothFaces {
			return false, fmt.Sprintf("%s, the head of the screw in mounting hole %d stands out of the face that grips", t, i+1)
		}
	}
	return true, ""
}
