package learn

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/trade/tumble"

	"github.com/google/go-cmp/cmp"
)

func settingOf(t *testing.T, n names) Setting {
	t.Helper()
	m, v, mt := things(t, n)
	return Setting{Media: m, Vessel: v, Material: mt}
}

// taught are the numbers that a log moved.
func taught(b *Book) []fettle.Parameter {
	var out []fettle.Parameter
	for _, p := range b.Learned().Parameters {
		if _, ok := number(p); ok && p.Value != p.Prior {
			out = append(out, p)
		}
	}
	return out
}

func near(t *testing.T, what string, got, want fettle.Estimate, within float64) {
	t.Helper()
	if math.Abs(math.Log(got.Value/want.Value)) > within {
		t.Errorf("%s: %g, want %g", what, got.Value, want.Value)
	}
	if r := got.LogSD() / want.LogSD(); r < 1-5*within || r > 1+5*within {
		t.Errorf("%s: interval %v is %.3f times that of %v", what, got, r, want)
	}
}

// A loan tells another shop what the lender's own log would say of the same change:
// of the same media in a vessel that the log does not have, of other media of the kind
// in the same vessel, of another metal. The log's own answer is one fit of all readings.
func TestALoanSaysWhatTheLogWould(t *testing.T) {
	b := read(t, runOf(fine5, "a", coupon...))
	for _, c := range []struct {
		to            names
		media, vessel bool
	}{
		{names{"ceramic-fine-5", "bowl", "naval brass"}, true, false},
		{names{"ceramic-fine-5", "centrifugal barrel", "naval brass"}, true, false},
		{fine2, false, true},
		{names{"ceramic-fine-2", "bowl", "naval brass"}, false, false},
		{names{"ceramic-fine-5", "wet barrel", "304"}, true, true},
		{fine5, true, true},
	} {
		ours := settingOf(t, c.to)
		l := Loan{From: settingOf(t, fine5), Learned: taught(b), SameMedia: c.media, SameVessel: c.vessel}
		got := (*Book)(nil).Borrow(l, ours)
		want := b.Process(ours.Media, ours.Vessel, ours.Material, ours.Tone)
		near(t, c.to.media+" in "+c.to.vessel+" on "+c.to.metal+", T", got.TimeConstantH, want.TimeConstantH, 0.05)
		near(t, "RL", got.LimitRaUM, want.LimitRaUM, 0.05)
		near(t, "Ms", got.RemovalUMH, want.RemovalUMH, 0.05)
	}
}

// By hand, for one number: of the guess's variance 60 % belongs to kind, media and
// class (docs/physics.md, Learning from the log: 20, 15 and 25 %), so a pace of half
// the guess makes ours 0.5^0.6 of its guess in another vessel, whatever that vessel's speed.
func TestWhatBelongsToMediaAndMetalGoesAlong(t *testing.T) {
	from := settingOf(t, fine5)
	prior := tumble.ProcessOf(from.Media, from.Vessel, from.Material)
	half := fettle.LogNormal(prior.TimeConstantH.Value/2, 0.01, "shop log (n = 40)")
	// What goes against it, so that T alone speaks: removal as the guess couples it.
	c := covariance(processOf(from.Media, from.Vessel, from.Material, ""), processOf(from.Media, from.Vessel, from.Material, ""))
	ms := prior.RemovalUMH.Value * math.Exp(c[iT][iMs]/c[iT][iT]*math.Log(0.5))
	l := Loan{From: from, SameMedia: true, Learned: []fettle.Parameter{
		{Name: NameTime, Value: half, N: 40},
		{Name: NameTake, Value: fettle.LogNormal(ms, prior.RemovalUMH.LogSD(), "guess")},
	}}
	for _, speed := range []float64{0.2, 1, 4} {
		ours := from
		ours.Vessel.Name, ours.Vessel.Speedup = "ours", from.Vessel.Speedup.Scale(speed)
		got := (*Book)(nil).Borrow(l, ours).TimeConstantH
		want := prior.TimeConstantH.Value / speed * math.Pow(0.5, 0.6)
		if math.Abs(got.Value/want-1) > 0.03 { // the two couplings differ a little
			t.Errorf("%g times the speed: T %g, want %g", speed, got.Value, want)
		}
		if got.LogSD() >= prior.TimeConstantH.LogSD() {
			t.Error("a loan narrows")
		}
	}
	l.SameVessel = true
	if got := (*Book)(nil).Borrow(l, from).TimeConstantH; math.Abs(got.Value/half.Value-1) > 1e-9 || got.Basis != "another shop's log (n = 40)" {
		t.Error(got)
	}
	if got := l.Process(); math.Abs(got.TimeConstantH.Value/half.Value-1) > 1e-12 || math.Abs(got.RoughenH.Value/(prior.RoughenH.Value/2)-1) > 1e-9 {
		t.Error(got)
	}
}

func TestLoansThatSayNothing(t *testing.T) {
	from, b := settingOf(t, fine5), read(t, runOf(fine5, "a", coupon...))
	dry := settingOf(t, cob)
	// Wet says nothing of dry; nothing learned lends nothing; our own log is not lent
	// to ourselves.
	for i, c := range []struct {
		book *Book
		loan Loan
		ours Setting
	}{
		{nil, Loan{From: from, Learned: taught(b)}, dry},
		{nil, Loan{From: from, SameMedia: true, SameVessel: true}, from},
		{b, Loan{From: from, Learned: taught(b), SameMedia: true, SameVessel: true}, from},
		{b, Loan{From: from, Learned: taught(b), SameMedia: true}, settingOf(t, names{"ceramic-fine-5", "bowl", "naval brass"})},
	} {
		want := c.book.Process(c.ours.Media, c.ours.Vessel, c.ours.Material, c.ours.Tone)
		if d := cmp.Diff(want, c.book.Borrow(c.loan, c.ours)); d != "" {
			t.Errorf("%d: %s", i, d)
		}
	}
}

// Two logs that know nothing of each other say together what one log with the readings
// of both would: half of the readings here, half there.
func TestALoanJoinsOurOwnLog(t *testing.T) {
	all := read(t, runOf(fine5, "a", coupon...), runOf(fine5, "b", coupon...))
	one := read(t, runOf(fine5, "a", coupon...))
	from := settingOf(t, fine5)
	from.Media.Name, from.Vessel.Name = "their fine", "their barrel"
	ours := settingOf(t, fine5)
	got := one.Borrow(Loan{From: from, Learned: taught(one), SameMedia: true, SameVessel: true}, ours)
	want := all.Process(ours.Media, ours.Vessel, ours.Material, ours.Tone)
	near(t, "T", got.TimeConstantH, want.TimeConstantH, 0.06)
	near(t, "RL", got.LimitRaUM, want.LimitRaUM, 0.06)
}
