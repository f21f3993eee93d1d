package law

import (
	"slices"
	"strings"
	"testing"

	"fettle/internal/trade/rub"
)

// seenAfter is the mean chance over the worlds that an eye finds the scratches or
// cusps of that cause; 0 where they are gone.
func seenAfter(s *Surface, cause string) float64 {
	i := slices.IndexFunc(s.Marks, func(m Mark) bool { return strings.HasPrefix(m.Cause, cause) })
	if i < 0 {
		return 0
	}
	v := make([]float64, s.W.N())
	for k := range v {
		v[k] = s.Seen(&s.Marks[i], k)
	}
	return mean(v)
}

// What follows is common practice of the trade, without a source: what polishers tell
// each other. Bounds are wide.

// A mop does not take out scratches that the paper should have: two minutes at a
// plate of 100 cm² leave those of P120 standing and take those of P400.
func TestAMopShowsWhatThePaperLeft(t *testing.T) {
	w := Sample(100)
	polish := func(s *Surface) *Surface {
		for _, name := range []string{"sewn cotton", "loose cotton"} {
			by := Wheel(w, plate, mop(t, name))
			h := make([]float64, w.N())
			for k := range h {
				h[k] = 2 * by.rates[k].T
			}
			s = s.Worked(by, h)
		}
		return s
	}
	sand := func(s *Surface, names ...string) *Surface {
		for i, name := range names {
			s, _, _ = s.Rubbed(NewPaper(w, plate, grit(t, name), rub.StiffBlock, rub.Pace()), []string{"along", "across"}[i%2])
		}
		return s
	}
	cut := milled(w, 10)
	if p := seenAfter(cut, Cusps); p < 0.9 {
		t.Errorf("fresh cusps are found with %.2f", p)
	}
	coarse := polish(sand(cut, "P120"))
	if p := seenAfter(coarse, "P120"); p < 0.7 {
		t.Errorf("scratches of P120 under a polish are found with %.2f", p)
	}
	fine := polish(sand(cut, "P120", "P240", "P400"))
	for _, cause := range []string{"P120", "P240", Cusps} {
		if p := seenAfter(fine, cause); p != 0 {
			t.Errorf("%s under the scratches of finer paper are found with %.2f", cause, p)
		}
	}
	if p, q := seenAfter(fine, "P400"), seenAfter(coarse, "P120"); p > 0.35 || p > q/2 {
		t.Errorf("scratches of P400 under a polish are found with %.2f, of P120 with %.2f", p, q)
	}
	if coarse.Own || !sand(cut, "P120").Own {
		t.Error("a mop leaves a texture of its own over the scratches")
	}
}

// Porcelain brightens and does not cut: cusps shine through it. General ceramic takes
// them off.
func TestPorcelainLeavesCuspsAndCeramicTakesThem(t *testing.T) {
	w := Sample(100)
	s := milled(w, 6)
	porcelain := barrel(t, w, "porcelain-cylinder-3", "bowl")
	h := make([]float64, w.N())
	for k := range h {
		h[k] = 2
	}
	if p := seenAfter(s.Worked(porcelain, h), Cusps); p < 0.8 {
		t.Errorf("cusps under two hours of porcelain are found with %.2f", p)
	}
	ceramic := barrel(t, w, "ceramic-general-8", "bowl")
	u := Until{Seen: 0.05, LeastH: 0.25, MostH: 72}
	h = s.Hours(ceramic, u)
	if got := w.Sum(h, "test"); got.Value < 0.5 || got.Value > 12 || got.High > 40 {
		t.Errorf("general ceramic in a bowl takes %.1f h (%.1f to %.1f) to hide cusps of 6 µm in brass", got.Value, got.Low, got.High)
	}
	out := s.Worked(ceramic, h)
	if p := seenAfter(out, Cusps); p > 0.06 {
		t.Errorf("cusps under general ceramic are found with %.2f", p)
	}
	// And bright porcelain after it does not bring them back much.
	for k := range h {
		h[k] = 1
	}
	if p := seenAfter(out.Worked(porcelain, h), Cusps); p > 0.5 {
		t.Errorf("cusps that ceramic hid are found with %.2f under porcelain", p)
	}
	// A slow barrel takes several times as long as a bowl.
	slow := w.Median(s.Hours(barrel(t, w, "ceramic-general-8", "wet barrel"), Until{Seen: 0.05, MostH: 1000}))
	if bowl := w.Median(s.Hours(ceramic, Until{Seen: 0.05, MostH: 1000})); slow < 3*bowl || slow > 10*bowl {
		t.Errorf("%.1f h in a rotary barrel, %.1f h in a bowl", slow, bowl)
	}
}
