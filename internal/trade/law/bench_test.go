package law

import (
	"testing"

	"fettle"
	"fettle/internal/trade/mark"
	"fettle/internal/trade/rub"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"
)

// media, vessel, metal, grit and mop are things on the shelf.
func media(t testing.TB, name string) fettle.Media {
	t.Helper()
	for _, m := range stock.Shelf().Media {
		if m.Name == name {
			return m
		}
	}
	t.Fatalf("no media %q", name)
	return fettle.Media{}
}

func vessel(t testing.TB, name string) fettle.Vessel {
	t.Helper()
	for _, v := range stock.Shelf().Vessels {
		if v.Name == name {
			return v
		}
	}
	t.Fatalf("no vessel %q", name)
	return fettle.Vessel{}
}

func metal(t testing.TB, c fettle.HardnessClass) fettle.Material {
	t.Helper()
	for _, m := range stock.Shelf().Materials {
		if m.Class == c {
			return m
		}
	}
	t.Fatalf("no metal of class %v", c)
	return fettle.Material{}
}

func grit(t testing.TB, name string) fettle.Grit {
	t.Helper()
	for _, g := range stock.Shelf().Grits {
		if g.Name == name {
			return g
		}
	}
	t.Fatalf("no grit %q", name)
	return fettle.Grit{}
}

func mop(t testing.TB, name string) fettle.Mop {
	t.Helper()
	for _, m := range stock.Shelf().Mops {
		if m.Name == name {
			return m
		}
	}
	t.Fatalf("no mop %q", name)
	return fettle.Mop{}
}

// plate is a flat face of 100 cm² of brass.
var plate = rub.Face{AreaMM2: 10000, Class: fettle.ClassBrass, Wet: true}

// barrel is a kind of media in a vessel on brass.
func barrel(t testing.TB, w *Worlds, m, v string) *Tool {
	t.Helper()
	in := media(t, m)
	return Barrel(w, m+" in "+v, tumble.ProcessOf(in, vessel(t, v), metal(t, fettle.ClassBrass)), in)
}

// milled is a face with cusps of a height in µm, 0.3 mm apart.
func milled(w *Worlds, um float64) *Surface {
	return Cut(w, Pass{Cause: Cusps, WaveMM: 0.3, Lay: "along", HeightUM: um, Curve: mark.Parabola()})
}

// three is a face with three marks: cusps with facets on them, under the
// scratches of a grit.
func three(b *testing.B, w *Worlds) *Surface {
	s := Cut(w, Pass{Cause: Cusps, WaveMM: 0.3, Lay: "along", HeightUM: 6, Curve: mark.Parabola(), FacetMM: 0.4, FacetUM: 0.5})
	s.Marks = append(s.Marks, newMark("scratches", 0.06, "along", mark.Furrows(), NewPaper(w, plate, grit(b, "P240"), rub.StiffBlock, rub.Pace()).rz))
	s.Marks[2].Fine = true
	return s
}

var sink float64

func BenchmarkCharge(b *testing.B) {
	w := Sample(48)
	s, tool := three(b, w), barrel(b, w, "ceramic-general-8", "bowl")
	until := Until{Seen: 0.05, Even: 0.35, RaUM: 0.6, LeastH: 0.25, MostH: 72}
	for b.Loop() {
		h := s.Hours(tool, until)
		sink += s.Worked(tool, h).Ra[0]
	}
}

func BenchmarkHours(b *testing.B) {
	w := Sample(48)
	s, tool := three(b, w), barrel(b, w, "ceramic-general-8", "bowl")
	until := Until{Seen: 0.05, Even: 0.35, RaUM: 0.6, LeastH: 0.25, MostH: 72}
	for b.Loop() {
		sink += s.Hours(tool, until)[0]
	}
}

func BenchmarkMeasuredHours(b *testing.B) {
	w := Sample(48)
	s, tool := three(b, w), barrel(b, w, "ceramic-general-8", "bowl")
	until := Until{RaUM: 0.6, LeastH: 0.25, MostH: 72}
	for b.Loop() {
		sink += s.Hours(tool, until)[0]
	}
}

func BenchmarkRubbed(b *testing.B) {
	w := Sample(48)
	s, p := three(b, w), NewPaper(w, plate, grit(b, "P240"), rub.StiffBlock, rub.Pace())
	for b.Loop() {
		out, _, _ := s.Rubbed(p, "across")
		sink += out.Ra[0]
	}
}
