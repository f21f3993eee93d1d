package intake

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The scanner agrees bit for bit with strconv, which rounds correctly.
func TestParseFloat(t *testing.T) {
	words := []string{"0", "-0", "1", "+1.5", ".5", "5.", "1e5", "1E-5", "1e+22", "1e23", "1e-23", "123456789012345678", "9007199254740993",
		"9007199254740992.5", "0.1", "0.30000000000000004", "1.7976931348623157e308", "4.9e-324", "1e-400", "1e400", "-1e400",
		"0000000000000000000000000001", "0.00000000000000000000000000000012345", "123456789012345678901234567890", "1e99999999999", "0e99999999999",
		"2.2250738585072011e-308", "8.41e21", "9.5367431640625e-07"}
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20_000 {
		words = append(words, strconv.FormatFloat(math.Float64frombits(rng.Uint64()), 'g', rng.IntN(20)-1, 64),
			strconv.FormatFloat((rng.Float64()-0.5)*1000, "fe"[rng.IntN(2)], rng.IntN(12), 64))
	}
	for _, w := range words {
		want, _ := strconv.ParseFloat(w, 64)
		got, ok := ParseFloat([]byte(w))
		if !ok || got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("%q: %v %v, want %v", w, got, ok, want)
		}
	}
	for w, want := range map[string]float64{"1.5d3": 1500, "-2D-2": -0.02} {
		if got, ok := ParseFloat([]byte(w)); !ok || got != want {
			t.Errorf("%q: %v %v, want %v", w, got, ok, want)
		}
	}
	for _, w := range []string{"nan", "-NaN(ind)", "1.#QNAN", "inf", "-Infinity", "1.#INF"} {
		if got, ok := ParseFloat([]byte(w)); !ok || Finite(got) {
			t.Errorf("%q: %v %v, want no finite number", w, got, ok)
		}
	}
	for _, w := range []string{"", "-", ".", "e5", "1e", "1e+", "1,5", "0x10", "1_000", "1.2.3", "--1", "١"} {
		if got, ok := ParseFloat([]byte(w)); ok {
			t.Errorf("%q was read as %v", w, got)
		}
	}
}

func TestParseInt(t *testing.T) {
	for w, want := range map[string]int64{"0": 0, "-12": -12, "+7": 7, "999999999999999999": 999999999999999999} {
		if got, ok := ParseInt([]byte(w)); !ok || got != want {
			t.Errorf("%q: %v %v, want %v", w, got, ok, want)
		}
	}
	for _, w := range []string{"", "-", "1.0", "12x", "9999999999999999999"} {
		if got, ok := ParseInt([]byte(w)); ok {
			t.Errorf("%q was read as %v", w, got)
		}
	}
}

func TestText(t *testing.T) {
	x := NewText([]byte("a b\r\nc \\\n d # no\re\n\nf"))
	x.Joined, x.Comment = true, '#'
	var got []string
	for w := x.Next(); w != nil; w = x.Next() {
		got = append(got, string(w)+"@"+strconv.Itoa(x.Line))
	}
	if d := cmp.Diff([]string{"a@1", "b@1", "c@2", "d@3", "e@4", "f@6"}, got); d != "" {
		t.Errorf("words (-want +got):\n%s", d)
	}
	y := NewText([]byte("name  of a part \r\nnext"))
	y.Word()
	if r := string(y.Rest()); r != "of a part" {
		t.Errorf("rest %q", r)
	}
	if !y.NextLine() || string(y.Word()) != "next" || y.NextLine() {
		t.Error("the second line is the last")
	}
}

func TestPrintable(t *testing.T) {
	if got := Printable([]byte("a\x00b\x1b[2J\xffå" + strings.Repeat("x", 100))); got != "ab[2Jå"+strings.Repeat("x", 74) {
		t.Errorf("%q", got)
	}
}
