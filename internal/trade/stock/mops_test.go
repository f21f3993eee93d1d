package stock

import (
	"math"
	"strings"
	"testing"

	"fettle"
)

// The built-in shelf can be planned with, and a shelf that cannot is told what is
// wrong in a sentence that names it.
func TestShelvesAreChecked(t *testing.T) {
	if err := Shelf().Validate(); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		spoil func(*fettle.Shelf)
		says  string
	}{
		"twice":        {func(s *fettle.Shelf) { s.Mops[1].Name = s.Mops[0].Name }, "twice"},
		"no limit":     {func(s *fettle.Shelf) { s.Mops[0].LimitRaUM = fettle.Estimate{} }, "limit_ra_um"},
		"no time":      {func(s *fettle.Shelf) { s.Mops[0].MinPer100CM2.Low = -1 }, "min_per_100_cm2"},
		"no contact":   {func(s *fettle.Shelf) { s.Mops[0].ContactMM = 0 }, "contact_mm"},
		"start":        {func(s *fettle.Shelf) { s.Mops[0].StartRaUM = math.NaN() }, "start_ra_um"},
		"specular":     {func(s *fettle.Shelf) { s.Looks[0].Specular = 1 }, "specular_share"},
		"marks":        {func(s *fettle.Shelf) { s.Looks[0].MarkChance = 1.2 }, "mark_chance"},
		"no number":    {func(s *fettle.Shelf) { s.Looks[0].MarkChance = math.NaN() }, "mark_chance"},
		"a long day":   {func(s *fettle.Shelf) { s.Rates.DayH = 25 }, "day_h"},
		"a day no one": {func(s *fettle.Shelf) { s.Rates.DayH = -1 }, "day_h"},
	} {
		s := Shelf()
		c.spoil(s)
		if err := s.Validate(); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want a word about %s", name, err, c.says)
		}
	}
	bare := Shelf()
	bare.Mops, bare.Rates.DayH = nil, 0
	if err := bare.Validate(); err != nil || bare.Rates.Day() != 8 {
		t.Errorf("a shelf without mops or a working day: %v, %g h", err, bare.Rates.Day())
	}
}

// Each mop starts where the one before has long been useful, and ends finer, on a
// shorter contact, with less taken off: the order in which a bench uses them.
func TestMopsFollowEachOther(t *testing.T) {
	ms := Shelf().Mops
	if len(ms) < 3 {
		t.Fatalf("%d mops", len(ms))
	}
	for i, m := range ms {
		if m.Title == "" || m.Wheel == "" || m.Compound == "" || m.Basis != fettle.BasisGuess {
			t.Errorf("%s lacks a title, a wheel, a bar or says that its numbers are more than guesses: %+v", m.Name, m)
		}
		if found, err := Shelf().Mop(strings.ToUpper(m.Name)); err != nil || found.Name != m.Name {
			t.Errorf("%s is not found by its name: %v", m.Name, err)
		}
		if i == 0 {
			continue
		}
		was := ms[i-1]
		if was.LimitRaUM.Value >= m.StartRaUM {
			t.Errorf("%s never comes to where %s starts", was.Name, m.Name)
		}
		if m.LimitRaUM.Value >= was.LimitRaUM.Value || m.ContactMM >= was.ContactMM || m.CutUMMin.Value >= was.CutUMMin.Value || m.StartRaUM >= was.StartRaUM {
			t.Errorf("%s is no finer than %s", m.Name, was.Name)
		}
	}
}

// A look that shows the cutter's work allows its marks; the brighter a look, the
// less it allows. A mirror throws light back as one.
func TestLooksAskForWhatTheyAre(t *testing.T) {
	s := Shelf()
	look := func(name string) fettle.Look {
		l, err := s.Look(name)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	for _, l := range s.Looks {
		if l.CuspsMayShow != (l.MarkChance == 1) {
			t.Errorf("%s: the cutter's marks may show: %v, allowed with a chance of %g", l.Name, l.CuspsMayShow, l.MarkChance)
		}
		if !strings.Contains(l.Basis, "sample") {
			t.Errorf("%s rests on %q; looks are agreed by sample", l.Name, l.Basis)
		}
	}
	if !(look("mirror").MarkChance < look("bright").MarkChance && look("bright").MarkChance < look("satin").MarkChance) {
		t.Error("a mirror allows no more marks than bright, and that no more than satin")
	}
	if l := look("mirror"); l.Specular <= 0.5 || look("satin").Specular != 0 {
		t.Errorf("mirror %g, satin %g", l.Specular, look("satin").Specular)
	}
}
