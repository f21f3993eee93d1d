package part21

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// TestDecode: the first rows are the examples of ISO 10303-21 clause 6.3.3 and
// its tables, from memory; the next are characters by the tables of ISO 8859
// that the Unicode consortium publishes; the rest is what programs write that
// the standard does not have.
func TestDecode(t *testing.T) {
	for raw, want := range map[string]string{
		`CAT`:                                "CAT",
		`Don''t`:                             "Don't",
		`''''`:                               "''",
		`\S\Drger`:                           "Ärger",
		`h\S\ttel`:                           "hôtel",
		`see \X\A7 4.1`:                      "see § 4.1",
		`\PE\\S\*\S\U\S\b`:                   "Њет",
		`\X2\03C0\X0\`:                       "π",
		`\X2\03B103B203B3\X0\ and so`:        "αβγ and so",
		`\X4\0001F529\X0\`:                   "🔩",
		`C:\\parts\\S\\plate`:                `C:\parts\S\plate`,
		`a line\X\0Abreak`:                   "a line\nbreak",
		`a long\N\ line\F\`:                  "a long line",
		"broken\r\n over lines":              "broken over lines",
		`\S\''`:                              "§",
		`\PB\\S\#\PA\\S\#`:                   "Ł£",
		`\PC\\S\!`:                           "Ħ",
		`\PD\\S\"`:                           "ĸ",
		`\PF\\S\G`:                           "ا",
		`\PG\\S\a\S\r`:                       "ας",
		"\\PH\\\\S\\`":                       "א",
		`\PI\\S\}`:                           "ı",
		`\X2\D83DDD29\X0\`:                   "🔩", // UTF-16, as programs write it
		`\X2\D83D\X0\x`:                      "\uFFFDx",
		`\X4\7FFFFFFF\X0\x`:                  "\uFFFDx",
		`\X2\03C`:                            "03C",
		`\x2\03c0\x0\`:                       `\x2\03c0\x0\`,
		`\X2\03c0\X0\`:                       "π",
		`C:\parts\new`:                       `C:\parts\new`,
		`\`:                                  `\`,
		`\X\G1`:                              `\X\G1`,
		"Gr\xc3\xbc\xc3\x9fe":                "Grüße",
		"Gr\xfc\xdfe":                        "Grüße",
		"\x80 12 \x96 15":                    "€ 12 – 15",
		"\xe9\\X\\E9":                        "éé",
		strings.Repeat("a", maxText-1) + "é": strings.Repeat("a", maxText-1),
	} {
		if got := decode([]byte(raw)); got != want {
			t.Errorf("%q: %q, want %q", raw, got, want)
		}
	}
	for i, p := range pages {
		if len(p) != 96 {
			t.Errorf("page %c has %d characters", 'B'+i, len(p))
		}
	}
	if len(western) != 32 {
		t.Error(len(western))
	}
}

// TestDecodeEncoded writes texts as the standard has it, in the shortest form or
// another, and reads them back.
func TestDecodeEncoded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.StringOfN(rapid.Rune(), 0, 60, -1).Filter(utf8.ValidString).Draw(t, "text")
		var b strings.Builder
		for _, r := range want {
			switch long := rapid.Bool().Draw(t, "long"); {
			case r == '\'':
				b.WriteString("''")
			case r == '\\':
				b.WriteString(`\\`)
			case r >= ' ' && r < 0x7f:
				b.WriteRune(r)
			case r >= 0xa0 && r < 0xff && !long:
				b.WriteString(`\S\` + strings.ReplaceAll(string(r-0x80), "'", "''"))
			case r <= 0xff && !long:
				fmt.Fprintf(&b, `\X\%02X`, r)
			case r <= 0xffff && !long:
				fmt.Fprintf(&b, `\X2\%04X\X0\`, r)
			default:
				fmt.Fprintf(&b, `\X4\%08X\X0\`, r)
			}
		}
		if got := decode([]byte(b.String())); got != want {
			t.Fatalf("%q: %q, want %q", b.String(), got, want)
		}
	})
}

func TestTidy(t *testing.T) {
	for raw, want := range map[string]string{
		"  plate\x00\x1b[31m\u0085 \n": "plate[31m",
		"\uFFFD":                       "",
		strings.Repeat("ä", 300):       strings.Repeat("ä", maxName),
	} {
		if got := tidy(raw); got != want {
			t.Errorf("%q: %q, want %q", raw, got, want)
		}
	}
}
