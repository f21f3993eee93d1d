package words

import (
	"strings"
	"testing"
	"unicode/utf8"

	"fettle"
	"fettle/demo"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"
)

func TestLearnedReads(t *testing.T) {
	b, err := learn.Read(t.Context(), demo.Logbook(), stock.Shelf())
	if err != nil {
		t.Fatal(err)
	}
	l := b.Learned()
	text := Learned(l, fettle.Metric)
	for _, want := range []string{
		"15 runs with 38 readings.", "ceramic-fine-5 in the wet barrel on brass\n  time constant", "limit roughness", "removal",
		"jam chance, slot-1 of escutcheon", "By hand on brass\n  pace by hand, P240", "Refused\n  - Run brackets-1", "What to read next\n  - ", " h (", " µm (", ", before ", "n = 8:",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	for _, line := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(line) > columns {
			t.Errorf("%d columns: %q", utf8.RuneCountInString(line), line)
		}
	}
	if in := Learned(l, fettle.Inch); strings.Contains(in, " µm") || !strings.Contains(in, "µin/h") {
		t.Error("inches are not asked for in vain")
	}
	if empty := Learned(fettle.Learned{}, fettle.Metric); !strings.Contains(empty, "Nothing in it") {
		t.Errorf("%q", empty)
	}
}

func TestTwoFigures(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.0731: "0.073", 0.00012: "0.00012", 1.25: "1.2", 13.4: "13", 99.6: "100", 1234: "1234"} {
		if got := two(v); got != want {
			t.Errorf("%g is %q, want %q", v, got, want)
		}
	}
}
