package law

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"fettle/internal/trade/mark"
	"fettle/internal/trade/rub"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"

	"pgregory.net/rapid"
)

// face is a face with some marks.
func face(t *rapid.T, w *Worlds) *Surface {
	s := Cut(w, Pass{
		Cause: Cusps, WaveMM: rapid.Float64Range(0.1, 1).Draw(t, "wave"), Lay: "along", Curve: mark.Parabola(),
		HeightUM: math.Exp(rapid.Float64Range(-2, 3).Draw(t, "log height")),
		FacetMM:  0.4, FacetUM: rapid.SampledFrom([]float64{0, 0.3, 2}).Draw(t, "facets"),
	})
	if rapid.Bool().Draw(t, "scratched") {
		g := rapid.SampledFrom(stock.Shelf().Grits).Draw(t, "grit")
		m := newMark(g.Name, g.GrainUM/1000, "across", mark.Furrows(), NewPaper(w, plate, g, rub.StiffBlock, rub.Pace()).rz)
		m.Fine = true
		s.Marks = append(s.Marks, m)
	}
	for k := range s.Ra {
		s.Ra[k] = math.Exp(rapid.Float64Range(-4, 1).Draw(t, "log Ra"))
	}
	return s
}

// tool is any media in any vessel that takes it, or a mop.
func tool(t *rapid.T, w *Worlds) *Tool {
	shelf := stock.Shelf()
	if rapid.IntRange(0, 4).Draw(t, "mop") == 0 {
		return Wheel(w, plate, rapid.SampledFrom(shelf.Mops).Draw(t, "which"))
	}
	m, v := rapid.SampledFrom(shelf.Media).Draw(t, "media"), rapid.SampledFrom(shelf.Vessels).Draw(t, "vessel")
	mt := rapid.SampledFrom(shelf.Materials).Draw(t, "metal")
	p := tumble.ProcessOf(m, v, mt)
	p.TransientUM = rapid.SampledFrom([]float64{0, 0, 0.5}).Draw(t, "early")
	return Barrel(w, m.Name+" in "+v.Name+" on "+mt.Name, p, m)
}

// TestHoursAndWorkedAgree: after the hours that a charge takes until marks are hidden
// each is found with no more than that chance, and shortly before one is found with
// more, unless something else kept the charge running.
func TestHoursAndWorkedAgree(t *testing.T) {
	hid := 0
	rapid.Check(t, func(t *rapid.T) {
		w := Sample(6)
		s, by := face(t, w), tool(t, w)
		u := Until{
			Seen: rapid.SampledFrom([]float64{0.02, 0.1, 0.5}).Draw(t, "seen"), Machined: rapid.Bool().Draw(t, "machined"),
			Even: rapid.SampledFrom([]float64{0, 0.35, 1.6}).Draw(t, "even"), MostH: rapid.SampledFrom([]float64{3, 72, 1e5}).Draw(t, "most"),
		}
		h := s.Hours(by, u)
		out := s.Worked(by, h)
		u2 := u
		u2.Seen = 0
		others := s.Hours(by, u2)
		before := slices.Clone(h)
		for k := range before {
			before[k] *= 0.98
		}
		almost := s.Worked(by, before)
		worst := func(f *Surface, k int) float64 {
			p := 0.0
			for i := range f.Marks {
				if m := &f.Marks[i]; !u.Machined || !m.Fine {
					p = math.Max(p, f.Seen(m, k))
				}
			}
			return p
		}
		for k := range h {
			if h[k] >= u.MostH {
				continue
			}
			if p := worst(out, k); p > u.Seen*(1+1e-6) {
				t.Fatalf("world %d: found with %v after %v h, should be %v", k, p, h[k], u.Seen)
			}
			if h[k] > others[k]*1.03 {
				hid++
				if p := worst(almost, k); p < u.Seen {
					t.Fatalf("world %d: found with %v already after %v of %v h", k, p, before[k], h[k])
				}
			}
		}
	})
	if hid == 0 {
		t.Error("no charge ran until marks were hidden")
	}
}

// TestHoursFindTheSameAsHalving: what Hours finds quickly is what halving finds slowly.
func TestHoursFindTheSameAsHalving(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Sample(4)
		s, by := face(t, w), tool(t, w)
		s.Marks = s.Marks[:1]
		const seen, most = 0.05, 200.0
		h := s.Hours(by, Until{Seen: seen, MostH: most})
		for k := range h {
			found := func(x float64) bool {
				hours := slices.Clone(h)
				hours[k] = x
				out := s.Worked(by, hours)
				return len(out.Marks) > 0 && out.Seen(&out.Marks[0], k) > seen
			}
			lo, hi := 0.0, most
			if !found(0) {
				hi = 0
			} else if found(most) {
				lo = most
			}
			// Where a texture hides a mark, bares it and hides it again there is more
			// than one answer: each must be one.
			if hi > lo {
				within := 1e-6 * math.Max(h[k], by.rates[k].T)
				lo, hi = math.Max(0, h[k]-within), h[k]+within
				if !found(lo) || found(hi) {
					t.Fatalf("world %d: %v h; found just before %v, just after %v", k, h[k], found(lo), found(hi))
				}
			} else if h[k] != hi {
				t.Fatalf("world %d: %v h, should be %v", k, h[k], hi)
			}
		}
	})
}

// TestHoursToWhatIsMeasured: with cusps that may show, the Ra that an instrument reads
// comes to what was asked.
func TestHoursToWhatIsMeasured(t *testing.T) {
	w := Sample(48)
	by := barrel(t, w, "ceramic-general-8", "bowl")
	for k := range by.form {
		by.form[k] = 0
	}
	s := milled(w, 8)
	for _, aim := range []float64{0.7, 1, 1.5, 9} {
		out := s.Worked(by, s.Hours(by, Until{RaUM: aim, MostH: 1000}))
		for k := range w.N() {
			// The limit with a margin is as near as it comes; cusps come on top of it.
			want := math.Min(math.Max(aim, by.rates[k].RL*nearLimit), s.Measured(k))
			if got := out.Measured(k); by.rates[k].RL > s.Ra[k] && got > math.Max(want, by.rates[k].RL) || by.rates[k].RL < s.Ra[k] && math.Abs(got/want-1) > 1e-6 {
				t.Errorf("aim %v in world %d: %v, limit %v", aim, k, got, by.rates[k].RL)
			}
		}
	}
}

// TestBoundsOfACharge: burrs go, the least and the most hold, and what the user pins
// wins over all.
func TestBoundsOfACharge(t *testing.T) {
	w := Sample(48)
	s := milled(w, 6)
	by := barrel(t, w, "ceramic-general-8", "bowl")
	h := s.Hours(by, Until{Burr: true, MostH: 1e4})
	out := s.Worked(by, h)
	for k := range w.N() {
		near(t, "burr left", out.Burr[k], 0, 1e-9)
		h[k] *= 0.9
	}
	for k, left := range s.Worked(by, h).Burr {
		if left <= 0 {
			t.Errorf("world %d: the burr was gone before", k)
		}
	}
	for i, c := range []struct {
		u    Until
		want float64
	}{
		{Until{LeastH: 2, MostH: 5}, 2},
		{Until{Even: 1e9, LeastH: 2, MostH: 5}, 5},
		{Until{Seen: 1e-9, RaUM: 0.001, Burr: true, LeastH: 0.1, MostH: 0.2}, 0.2},
		{Until{Seen: 0.02, RaUM: 0.1, Burr: true, LeastH: 2, MostH: 5, PinnedH: 7}, 7},
		{Until{LeastH: 2, MostH: 5, PinnedH: 0.1}, 0.1},
		{Until{Seen: 1, MostH: 5}, 0}, // found for certain: that hides nothing
	} {
		for _, got := range s.Hours(by, c.u) {
			if got != c.want {
				t.Fatalf("case %d: %v h, should be %v", i, got, c.want)
			}
		}
	}
	porcelain := barrel(t, w, "porcelain-cylinder-3", "bowl")
	if got := s.Hours(porcelain, Until{Burr: true, MostH: 5}); slices.Max(got) != 0 {
		t.Errorf("porcelain runs for %v h after burrs", slices.Max(got))
	}
	if out := s.Worked(porcelain, h); !slices.Equal(out.Burr, s.Burr) {
		t.Error("porcelain took burrs off")
	}
}

// TestFacesStayPossible: whatever is done to a face, for however long, what is left of
// it is a number, none is negative, and longer work leaves lower marks, more
// removed and rounder edges.
func TestFacesStayPossible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Sample(5)
		s := face(t, w)
		for range rapid.IntRange(1, 3).Draw(t, "steps") {
			if rapid.Bool().Draw(t, "by hand") {
				g := rapid.SampledFrom(stock.Shelf().Grits).Draw(t, "grit")
				hold := rapid.SampledFrom([]rub.Hold{rub.StiffBlock, rub.FormedBlock, rub.SoftPad, rub.FreeHand}).Draw(t, "hold")
				out, minutes, take := s.Rubbed(NewPaper(w, plate, g, hold, rub.Pace()), "along")
				possible(t, "minutes", minutes)
				possible(t, "take", take)
				rises(t, s, out)
				s = out
				continue
			}
			by := tool(t, w)
			u := Until{
				RaUM: rapid.SampledFrom([]float64{0, 0.01, 0.1, 0.4, 3}).Draw(t, "Ra"), Seen: rapid.SampledFrom([]float64{0, 0.02, 0.5, 0.999}).Draw(t, "seen"),
				Even: rapid.SampledFrom([]float64{0, 2}).Draw(t, "even"), Burr: rapid.Bool().Draw(t, "burr"), LeastH: 0.1, MostH: rapid.SampledFrom([]float64{0.1, 10, 1e4}).Draw(t, "most"),
			}
			h := s.Hours(by, u)
			longer := make([]float64, len(h))
			for k := range h {
				if !(h[k] >= u.LeastH && h[k] <= u.MostH) {
					t.Fatalf("%v h", h[k])
				}
				longer[k] = h[k] * 1.3
			}
			out, later := s.Worked(by, h), s.Worked(by, longer)
			rises(t, s, out)
			rises(t, out, later)
			s = out
		}
	})
}

// possible fails on numbers that no face has.
func possible(t *rapid.T, what string, v []float64) {
	t.Helper()
	for k, x := range v {
		if !(x >= 0) || math.IsInf(x, 0) {
			t.Fatalf("%s in world %d: %v", what, k, x)
		}
	}
}

// rises fails where a face after more work has less removed, sharper edges or higher
// marks than before.
func rises(t *rapid.T, before, after *Surface) {
	t.Helper()
	for what, v := range map[string][]float64{"Ra": after.Ra, "removed": after.Removed, "edge": after.Edge, "burr": after.Burr} {
		possible(t, what, v)
	}
	for k := range after.Ra {
		if after.Removed[k] < before.Removed[k]-1e-12 || after.Edge[k] < before.Edge[k]-1e-12 || after.Burr[k] > before.Burr[k]+1e-12 {
			t.Fatalf("world %d went back", k)
		}
		if !(after.Ra[k] > 0) || !(after.Measured(k) >= after.Ra[k]) {
			t.Fatalf("world %d: Ra %v, measured %v", k, after.Ra[k], after.Measured(k))
		}
	}
	for i := range after.Marks {
		m := &after.Marks[i]
		possible(t, m.Cause, m.Left)
		possible(t, m.Cause, m.takes)
		possible(t, m.Cause, m.Gone)
		j := slices.IndexFunc(before.Marks, func(o Mark) bool { return o.Cause == m.Cause && &o.Height[0] == &m.Height[0] })
		for k := range m.Left {
			if m.Left[k] > 1 || j >= 0 && m.Left[k] > before.Marks[j].Left[k]+1e-12 {
				t.Fatalf("%s in world %d rose to %v", m.Cause, k, m.Left[k])
			}
			if p := after.Seen(m, k); !(p >= 0 && p <= 1) || !(m.Rq(k) >= 0) || !(m.Slope(k) >= 0) {
				t.Fatalf("%s in world %d: seen %v, Rq %v", m.Cause, k, p, m.Rq(k))
			}
		}
	}
}

// TestEyesOfHoursAreThoseOfTheMark: the slope that hides a mark, taken apart into mirror
// and texture, is what the room of marks says.
func TestEyesOfHoursAreThoseOfTheMark(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chance, wave := rapid.Float64Range(0.001, 0.99).Draw(t, "chance"), math.Exp(rapid.Float64Range(-4, 3).Draw(t, "log wave"))
		texture := rapid.Float64Range(0, 300).Draw(t, "texture")
		got := eyeFor(Until{Seen: chance}, &Mark{WaveMM: wave}).hides(texture)
		if want := mark.Hides(chance, wave, texture); math.Abs(got/want-1) > 1e-9 {
			t.Fatalf("%v mrad, should be %v", got, want)
		}
	})
}

// TestCrossing against roots known in closed form.
func TestCrossing(t *testing.T) {
	const most = 100.0
	for i, c := range []struct {
		f    func(float64) float64
		want float64
	}{
		{func(x float64) float64 { return 2 - x*x }, math.Sqrt2},
		{func(x float64) float64 { return math.Exp(-x) - 0.1 }, math.Ln10},
		{func(x float64) float64 { return 1 - math.Pow(x/7, 9) }, 7},
		{func(x float64) float64 { return math.Log(50 - math.Min(x, 50)) }, 49}, // −∞ from 50 on
		{func(x float64) float64 { return 1 }, most},
	} {
		calls := 0
		f := func(x float64) float64 { calls++; return c.f(x) }
		for _, first := range []float64{0, 1e-9, 1, 60, 1e9, math.Inf(1), math.NaN()} {
			calls = 0
			near(t, fmt.Sprintf("case %d from %v", i, first), crossing(f, 0.001, c.f(0.001), first, most), c.want, 1e-8*c.want)
			if calls > 60 {
				t.Errorf("case %d from %v: %d calls", i, first, calls)
			}
		}
	}
}
