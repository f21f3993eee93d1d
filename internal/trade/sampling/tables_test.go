package sampling

import (
	"strconv"
	"strings"
	"testing"

	"fettle"
)

// Table 1 by columns, as IS 2500 (Part 1):2000, which is ISO 2859-1:1999, prints it from
// the smallest lots to the largest.
var table1 = map[string]string{
	"S1":  "A A A A B B B B C C C C D D D",
	"S2":  "A A A B B B C C C D D D E E E",
	"S3":  "A A B B C C D D E E F F G G H",
	"S4":  "A A B C C D E E F G G H J J K",
	"I":   "A A B C C D E F G H J K L M N",
	"II":  "A B C D E F G H J K L M N P Q",
	"III": "B C D E F G H J K L M N P Q R",
}

// The ends of its bands.
var lotsTo = []int{8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10000, 35000, 150000, 500000, 1000000}

func TestCodeLetters(t *testing.T) {
	for level, column := range table1 {
		from := 2
		for i, want := range strings.Fields(column) {
			for _, lot := range []int{from, lotsTo[i]} {
				if at := codeLetter(lot, level); letters[at:at+1] != want {
					t.Errorf("lot %d, level %s: %s, want %s", lot, level, letters[at:at+1], want)
				}
			}
			from = lotsTo[i] + 1
		}
	}
}

// Rejection numbers and arrows of MIL-STD-105E, tables II-A and II-B, for AQL 0.65, 1.0,
// 1.5, 2.5, 4.0, 6.5 and 10 as reprinted in a guide of the (US) National Institute of
// Building Sciences to contracts for maintenance (FMOC, tables 1-A and 1-B). A dot is a
// place that the reprint leaves out or garbles; its table 1-B ends with letter L here.
var reprints = map[string]string{
	Normal: `
A 2     v  v  v  v  v  1  .
B 3     v  v  v  v  1  ^  v
C 5     v  v  v  1  ^  v  2
D 8     v  v  1  ^  v  2  3
E 13    v  1  ^  v  2  3  4
F 20    1  ^  v  2  3  4  6
G 32    ^  v  2  3  4  6  8
H 50    v  2  3  4  6  8  11
J 80    2  3  4  6  8  11 15
K 125   3  4  6  8  11 15 22
L 200   4  6  8  11 15 22 ^
M 315   6  8  11 15 22 ^  ^
N 500   8  11 15 22 ^  ^  ^
P 800   11 15 22 ^  ^  ^  ^
Q 1250  15 22 ^  ^  ^  ^  ^`,
	Tightened: `
A 2     v  v  v  v  v  v  .
B 3     v  v  v  v  v  1  v
C 5     v  v  v  v  1  v  v
D 8     v  v  v  1  v  v  2
E 13    v  v  1  v  v  2  3
F 20    v  1  v  v  2  3  4
G 32    1  v  v  2  3  4  6
H 50    v  v  2  3  4  6  9
J 80    v  2  3  4  6  9  13
K 125   2  3  4  6  9  13 19
L 200   3  4  6  9  13 19 ^`,
}

func TestMasterTables(t *testing.T) {
	const firstAQL = 9 // 0.65
	for severity, text := range reprints {
		arrows, numbers := 0, 0
		for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
			f := strings.Fields(line)
			row := strings.Index(letters, f[0])
			if n := strconv.Itoa(sizes[row]); n != f[1] {
				t.Errorf("letter %s has %s pieces, want %s", f[0], n, f[1])
			}
			for k, want := range f[2:] {
				got := ""
				switch c := tables[severity].cell(row, firstAQL+k); c {
				case up:
					got = "^"
				case down:
					got = "v"
				default:
					got = strconv.Itoa(c + 1)
				}
				switch want {
				case ".":
					continue
				case "^", "v":
					arrows++
				default:
					numbers++
				}
				if got != want {
					t.Errorf("%s, letter %s, AQL %g: %s, want %s", severity, f[0], AQLs[firstAQL+k], got, want)
				}
			}
		}
		if arrows < 20 || numbers < 20 {
			t.Fatalf("%s: only %d arrows and %d numbers were compared", severity, arrows, numbers)
		}
	}
}

// Single places, with where an arrow leads: n, Ac.
func TestPlaces(t *testing.T) {
	for _, c := range []struct {
		severity, letter string
		aql              float64
		n, accept        int
		source           string
	}{
		// An open transcription of ISO 2859-1, tables 2-A and 2-B, cell by cell.
		{Normal, "Q", 0.010, 1250, 0, "open transcription"},
		{Normal, "P", 0.015, 800, 0, "open transcription"},
		{Normal, "N", 0.025, 500, 0, "open transcription"},
		{Normal, "R", 0.025, 2000, 1, "open transcription"},
		{Normal, "Q", 0.040, 1250, 1, "open transcription"},
		{Normal, "M", 0.040, 315, 0, "open transcription"},
		{Normal, "L", 0.065, 200, 0, "open transcription"},
		{Normal, "M", 0.065, 200, 0, "open transcription: arrow up"},
		{Normal, "N", 0.065, 800, 1, "open transcription: arrow down"},
		{Normal, "K", 0.10, 125, 0, "open transcription"},
		{Normal, "M", 0.15, 315, 1, "open transcription"},
		{Normal, "J", 0.15, 80, 0, "open transcription"},
		{Normal, "H", 0.25, 50, 0, "open transcription"},
		{Normal, "L", 0.25, 200, 1, "open transcription"},
		{Normal, "R", 0.40, 2000, 14, "open transcription"},
		{Normal, "G", 0.40, 32, 0, "open transcription"},
		{Normal, "R", 0.65, 2000, 21, "open transcription"},
		{Normal, "R", 1.0, 1250, 21, "open transcription: arrow up"},
		{Normal, "R", 0.015, 800, 0, "open transcription: two arrows up"},
		{Tightened, "R", 0.010, 2000, 0, "open transcription"},
		{Tightened, "Q", 0.015, 1250, 0, "open transcription"},
		{Tightened, "M", 0.065, 315, 0, "open transcription"},
		{Tightened, "R", 0.040, 2000, 1, "open transcription"},
		{Tightened, "L", 0.40, 200, 1, "open transcription"},
		{Tightened, "J", 0.25, 80, 0, "open transcription"},
		{Tightened, "R", 0.65, 2000, 18, "open transcription"},
		{Tightened, "M", 6.5, 200, 18, "open transcription: arrow up"},
		{Tightened, "K", 0.40, 200, 1, "open transcription: arrow down"},
		// IS 2500 (Part 1):2000, single places.
		{Normal, "L", 1.0, 200, 5, "IS 2500"},
		{Normal, "L", 2.5, 200, 10, "IS 2500"},
		{Normal, "L", 6.5, 200, 21, "IS 2500"},
		{Normal, "J", 2.5, 80, 5, "IS 2500"},
		{Normal, "H", 1.0, 50, 1, "IS 2500"},
		{Tightened, "L", 1.0, 200, 3, "IS 2500"},
		{Tightened, "K", 1.0, 125, 2, "IS 2500"},
		{Tightened, "J", 1.0, 80, 1, "IS 2500"},
		// From memory: the ends of the columns, and row S of table II-B.
		{Normal, "A", 10, 5, 1, "from memory"},
		{Tightened, "A", 10, 2, 0, "from memory"},
		{Tightened, "Q", 0.025, 3150, 1, "from memory: arrow down to S"},
		{Tightened, "R", 0.015, 1250, 0, "from memory: arrow up"},
	} {
		col, err := parseAQL(c.aql)
		if err != nil {
			t.Fatal(err)
		}
		at, accept := tables[c.severity].follow(strings.Index(letters, c.letter), col)
		if sizes[at] != c.n || accept != c.accept {
			t.Errorf("%s, letter %s, AQL %g: %d pieces, at most %d; want %d, %d (%s)", c.severity, c.letter, c.aql, sizes[at], accept, c.n, c.accept, c.source)
		}
	}
}

func TestPlanInWords(t *testing.T) {
	p, err := Plan(50, "II", 1.5, "")
	if err != nil {
		t.Fatal(err)
	}
	// 0.99⁸ = 0.923, 0.8⁸ = 0.168, 1 − 0.1^(1/8) = 0.250.
	want := "of 50 pieces look at 8 (code letter D); take the lot if none fails, refuse it at 1; a lot with 1 % bad passes 92 times in 100, " +
		"one with 20 % 17 times in 100, and one with 25 % still passes 1 time in 10"
	if p.Says != want {
		t.Errorf("says %q, want %q", p.Says, want)
	}
	if p, _ = Plan(50, "", 0, ""); p.Size != 13 || p.Letter != "E" || !strings.Contains(p.Says, "D, whose arrow points to E") {
		t.Errorf("the usual plan for 50 is %+v", p)
	}
	if p, _ = Plan(12, "", 0, ""); !p.All || p.Size != 12 || !strings.Contains(p.Says, "look at all 12") {
		t.Errorf("the usual plan for 12 is %+v", p)
	}
	if p, _ = Plan(13, "", 0, ""); !p.All || p.Size != 13 {
		t.Errorf("a sample as large as the lot is not all of it: %+v", p)
	}
	if p, _ = Plan(1, "s-3", 10, Tightened); !p.All || p.Size != 1 || p.Level != "S3" {
		t.Errorf("the plan for 1 is %+v", p)
	}
}

func TestPlanRefuses(t *testing.T) {
	nan := func() float64 { z := 0.0; return z / z }()
	for name, c := range map[string]struct {
		lot      int
		level    string
		aql      float64
		severity string
	}{
		"no lot": {0, "", 0, ""}, "negative lot": {-5, "", 0, ""}, "huge lot": {mostLot + 1, "", 0, ""},
		"level": {50, "IV", 0, ""}, "AQL no number": {50, "", nan, ""}, "AQL negative": {50, "", -1, ""},
		"AQL between": {50, "", 1.2, ""}, "AQL large": {50, "", 15, ""}, "AQL small": {50, "", 0.005, ""},
		"reduced": {50, "", 0, "reduced"}, "unknown": {50, "", 0, "strict"}, "discontinued": {50, "", 0, Discontinued},
	} {
		_, err := Plan(c.lot, c.level, c.aql, c.severity)
		if fettle.CodeOf(err) != fettle.Invalid || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Plan(50, "", 1.2, ""); !strings.Contains(err.Error(), "choose 1 or 1.5") {
		t.Errorf("no neighbours in %q", err)
	}
	p, _ := Plan(500, "", 0, "")
	for bad, want := range map[int]bool{0: true, 1: true, 2: false, 50: false} {
		if got, err := Accepts(p, bad); err != nil || got != want {
			t.Errorf("%d bad: %v, %v", bad, got, err)
		}
	}
	for _, bad := range []int{-1, 51} {
		if _, err := Accepts(p, bad); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%d bad: %v", bad, err)
		}
	}
}

// The standard's switching rules, worked by hand (ISO 2859-1:1999, 9.3; MIL-STD-105E,
// 4.7, without reduced inspection).
func TestNext(t *testing.T) {
	history := func(severity, s string) (out []Lot) {
		for _, r := range s {
			out = append(out, Lot{Severity: severity, Taken: r == '+', Again: r == 'x'})
		}
		return out
	}
	for _, c := range []struct {
		current, lots, want string
	}{
		{"", "", Normal},
		{Normal, "+++-", Normal},
		{Normal, "--", Tightened},
		{Normal, "-+++-", Tightened},
		{Normal, "-++++-", Normal}, // six lots apart
		{Normal, "-x+x", Normal},   // lots shown again do not count
		{Tightened, "++++", Tightened},
		{Tightened, "+++++", Normal},
		{Tightened, "-+++++", Normal},
		{Tightened, "+-+-+-+-+", Tightened},
		{Tightened, "+-+-+-+-+-", Discontinued},
		{Tightened, "-----", Discontinued},
		{Discontinued, "", Discontinued},
	} {
		if got := Next(history(c.current, c.lots), c.current); got != c.want {
			t.Errorf("%s after %q: %s, want %s", c.current, c.lots, got, c.want)
		}
	}
	// Lots before the present inspection do not count.
	h := append(history(Normal, "+-+-"), history(Tightened, "+++++")...)
	if got := Next(append(h, history(Normal, "-")...), Normal); got != Normal {
		t.Errorf("one refused after going back: %s", got)
	}
}
