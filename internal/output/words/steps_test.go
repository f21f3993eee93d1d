package words

import (
	"strings"
	"testing"

	"fettle"
)

// A charge says how it is filled, what more or less liquid would do in one line,
// and in one line when it passes which look.
func TestChargeLines(t *testing.T) {
	c := fettle.Charge{
		Vessel: "wet barrel", Loads: 2, FillShare: 0.6, MediaL: 3, MediaKg: 4, Tone: fettle.ToneBright,
		WaterL: fettle.Guess(2, 1.5, 2.5, "x"), WaterLevel: "1.4 l an hour", CompoundML: fettle.Guess(20, 10, 30, "x"), Compound: "soap, let through with the water",
		Hours: fettle.Guess(3, 2, 5, "x"), RPM: 30, CriticalRPM: 100, VentEveryH: 12, ChangeLiquidH: 4,
		HoursTo: []fettle.LookHours{
			{Look: "as machined", Never: true}, {Look: "matte", Hours: fettle.Guess(1, 0.5, 2, "x")},
			{Look: "stonewash", Hours: fettle.Guess(1.5, 1, 3, "x")}, {Look: "bright", Never: true}, {Look: "mirror", Never: true},
		},
		Tones: []fettle.ToneChoice{{Tone: fettle.ToneUsual, WaterL: fettle.Exactly(1, "x"), CompoundML: fettle.Exactly(10, "x"), Hours: fettle.Exactly(4, "x")}},
	}
	text := strings.Join(metric.chargeLines(c), "\n")
	for _, want := range []string{
		"For each load fill the wet barrel to 60 % with 3.0 l of media (4.00 kg). Add 2.0 l (1.5–2.5 l) of water, 1.4 l an hour. Add 20 ml (10–30 ml) of soap.",
		"Run it for 3 h (2–5 h) at 30 rpm, 30 % of the 100 rpm at which the load would cling to the wall. Give it fresh liquid every 4 h.",
		"From this face it passes matte after 60 min (30 min–2 h) and stonewash after 1 h 30 min (60 min–3 h); it does not get to bright or mirror.",
		"This runs brighter than usual. With 1.0 l of water and 10 ml of compound it would come out as usual, in 4 h.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	inch := strings.Join(inches.chargeLines(c), "\n")
	for _, want := range []string{"3.2 qt of media", "1.5 qt an hour", "0.68 fl oz (0.34–1.0 fl oz)"} {
		if !strings.Contains(inch, want) {
			t.Errorf("no %q in\n%s", want, inch)
		}
	}
	c.CriticalRPM = 0 // a centrifugal barrel has none
	if text := strings.Join(metric.chargeLines(c), "\n"); strings.Contains(text, "cling") {
		t.Error(text)
	}
}

// A step's own marks are told apart from what stood before it, and a mark that
// nobody would find is not spoken of.
func TestMarksLeft(t *testing.T) {
	scratch := fettle.Mark{Cause: "P240 scratches", Zone: "show", WavelengthMM: 0.06, Lay: "along X", HeightUM: fettle.Guess(5, 3, 9, "x"), Left: 1, Seen: fettle.Chance{P: 0.9}}
	cusps := fettle.Mark{Cause: "cusps", Zone: "show", WavelengthMM: 0.4, Lay: "along X", HeightUM: fettle.Guess(4, 3, 5, "x"), Left: 0.1, Seen: fettle.Chance{P: 0.25}}
	known := map[[2]string]bool{{"show", "cusps"}: true}
	got := metric.marksLeft([]fettle.Mark{cusps, scratch}, known)
	if want := "Its own marks: P240 scratches 0.060 mm apart along X, 5.0 µm high. Cusps may still show: 0.400 mm apart, 0.40 µm high; seen 25 times in 100."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	cusps.Says, cusps.Left = "cusps this long follow the media and stay", 0
	if got := metric.marksLeft([]fettle.Mark{cusps}, known); !strings.HasPrefix(got, "Cusps this long follow the media and stay: 0.400 mm apart, levelled in most cases") {
		t.Error(got)
	}
	cusps.Says, cusps.Seen.P = "", 0.01
	if got := metric.marksLeft([]fettle.Mark{cusps, scratch}, known); !strings.HasSuffix(got, "No older mark is expected to show.") {
		t.Error(got)
	}
}

// Every account is explained with its law, its inputs by share and their basis, in
// the units that are asked for.
func TestExplain(t *testing.T) {
	for _, sys := range []fettle.System{fettle.Metric, fettle.Inch} {
		pl := planOf(t, sys)
		text := Explain(*pl)
		flat := strings.Join(strings.Fields(text), " ")
		if len(pl.Accounts) == 0 {
			t.Fatal("a plan without accounts")
		}
		for _, a := range pl.Accounts {
			for _, want := range []string{"Law: " + a.Law, "From: " + a.Source} {
				if !strings.Contains(flat, strings.Join(strings.Fields(want), " ")) {
					t.Errorf("no %q", want)
				}
			}
			for _, in := range a.Inputs {
				if in.Share >= smallShare && !strings.Contains(flat, in.Name+": ") {
					t.Errorf("no input %q", in.Name)
				}
			}
		}
		if sys == fettle.Inch && (!strings.Contains(text, "µin Ra") || !strings.Contains(text, "thou")) {
			t.Errorf("not in inches:\n%s", text)
		}
	}
	for _, c := range []struct {
		e          fettle.Estimate
		unit, want string
		sys        fettle.System
	}{
		{fettle.Guess(0.5, 0.25, 1, "x"), "µm Ra", "0.50 µm Ra (0.25–1.0 µm)", fettle.Metric},
		{fettle.Guess(2.54, 1.27, 5.08, "x"), "µm/h", "0.10 thou/h (0.050–0.20 thou)", fettle.Inch},
		{fettle.Guess(1.3, 1, 2, "x"), "×", "× 1.3 (1–2)", fettle.Metric},
		{fettle.Exactly(2, "x"), "h", "2 h", fettle.Metric},
	} {
		if got := (voice{nil, c.sys}).quantity(c.e, c.unit); got != c.want {
			t.Errorf("%v %s: %q, want %q", c.e, c.unit, got, c.want)
		}
	}
}
