package fettle

import (
	"testing"

	"golang.org/x/text/currency"
	"pgregory.net/rapid"
)

// The digits of ISO 4217 (amendments to 2023, from memory), against the table of the
// Unicode CLDR as golang.org/x/text carries it. The two differ in the Iraqi dinar
// and the rupiah, of which the CLDR shows no fractions, for there are no coins of them.
func TestMinorUnitsAreTheStandards(t *testing.T) {
	for _, code := range []string{
		"AUD", "BHD", "BIF", "BRL", "CAD", "CHF", "CLF", "CLP", "CNY", "CZK", "DJF", "DKK", "EUR", "GBP", "GNF", "HKD", "HUF", "IDR", "INR", "IQD", "ISK",
		"JOD", "JPY", "KMF", "KRW", "KWD", "LYD", "MXN", "NOK", "NZD", "OMR", "PLN", "PYG", "RWF", "SEK", "SGD", "THB", "TND", "TRY", "UGX", "USD", "UYI", "VND", "VUV",
		"XAF", "XOF", "XPF", "ZAR",
	} {
		u, err := currency.ParseISO(code)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := currency.Standard.Rounding(u)
		switch code {
		case "IQD":
			want = 3
		case "IDR":
			want = 2
		}
		if got := MinorDigits(code); got != want {
			t.Errorf("%s has %d digits, want %d", code, got, want)
		}
	}
	for code, want := range map[string]int{"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "VND": 0, "XAF": 0, "XOF": 0, "XPF": 0, "BHD": 3, "IQD": 3, "JOD": 3, "KWD": 3, "LYD": 3, "OMR": 3, "TND": 3, "EUR": 2, "": 2} {
		if MinorDigits(code) != want {
			t.Errorf("%s has %d digits, want %d", code, MinorDigits(code), want)
		}
	}
}

func TestAmountsAreRoundedAndSaid(t *testing.T) {
	for _, c := range []struct {
		major    float64
		currency string
		minor    int64
		says     string
	}{
		{1234.5, "USD", 123450, "USD 1,234.50"},
		{0.285, "USD", 29, "USD 0.29"}, // 28.499999999999996 in binary
		{1.005, "USD", 101, "USD 1.01"},
		{-1.005, "USD", -101, "USD -1.01"},
		{0.2849, "USD", 28, "USD 0.28"},
		{1234.5, "JPY", 1235, "JPY 1,235"},
		{1234567.49, "JPY", 1234567, "JPY 1,234,567"},
		{-0.5, "JPY", -1, "JPY -1"},
		{1.2345, "KWD", 1235, "KWD 1.235"},
		{12345.0005, "KWD", 12345001, "KWD 12,345.001"},
		{0, "KWD", 0, "KWD 0.000"},
		{1e30, "USD", mostMinor, "USD 90,071,992,547,409.92"},
	} {
		m := Amount(c.major, c.currency)
		if m.Minor != c.minor || m.String() != c.says {
			t.Errorf("%g %s is %d minor units, said as %q; want %d and %q", c.major, c.currency, m.Minor, m, c.minor, c.says)
		}
	}
}

// An amount read back is the same amount, and rounding is never off by more than half a
// unit.
func TestAmountsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.SampledFrom([]string{"USD", "JPY", "KWD", "CLF"}).Draw(t, "currency")
		m := Money{rapid.Int64Range(-1e12, 1e12).Draw(t, "minor"), code}
		if got := Amount(m.Major(), code); got != m {
			t.Fatalf("%v comes back as %v", m, got)
		}
		v := rapid.Float64Range(-1e9, 1e9).Draw(t, "major")
		if d := Amount(v, code).Major() - v; d*float64(perMajor(code)) > 0.5001 || d*float64(perMajor(code)) < -0.5001 {
			t.Fatalf("%g becomes %v", v, Amount(v, code))
		}
	})
}
