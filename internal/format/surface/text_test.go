package surface

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"
)

// Profiles and maps as they come: separators, decimal signs, comments, units,
// gaps.
func TestText(t *testing.T) {
	spaced := Options{DX: 0.01}
	for name, c := range map[string]struct {
		text   string
		opt    Options
		w, h   int
		dx, dy float64
		z      []float64
		notes  int
	}{
		"comma":               {"0.0,1.5\n0.1,2\n0.2,-1\n", Options{}, 3, 1, 0.1, 0.1, []float64{1.5, 2, -1}, 1},
		"whole commas":        {"0,1\n1,3\n2,-1\n", Options{}, 3, 1, 1, 1, []float64{1, 3, -1}, 1},
		"comma and blank":     {"0, 1\n1, 3\n2, -1\n", Options{}, 3, 1, 1, 1, []float64{1, 3, -1}, 1},
		"semicolon":           {"0,0;1,5\n0,1;2\n0,2;-1,25\n", Options{}, 3, 1, 0.1, 0.1, []float64{1.5, 2, -1.25}, 1},
		"semicolon and dot":   {"0.0;1.5\n0.1;2\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 1},
		"tab, decimal comma":  {"0,0\t1,5\n0,1\t2,25\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2.25}, 1},
		"blanks":              {"  0.0   1.5\n  0.1   2.0  \n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 1},
		"blanks, comma":       {"0,0 1,5\n0,1 2\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 1},
		"CRLF, mark, quotes":  {"\xef\xbb\xbf\"x (mm)\",\"z (µm)\"\r\n\"0.0\",\"1.5\"\r\n\"0.1\",\"2\"\r\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 0},
		"CR":                  {"0.0,1.5\r0.1,2\r", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 1},
		"header units":        {"x [µm]; z [nm]\n0;1500\n100;2000\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 0},
		"one unit":            {"# position and height (mm)\n0 0.0015\n0.1 0.002\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 0},
		"line of units":       {"x;z\nmm;nm\n0;1500\n0,1;2000\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 0},
		"stroke units":        {"x/mm z/nm\n0 1500\n0.1 2000\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 0},
		"inches":              {"; x (in) z (µin)\n0 10\n0.01 20\n", Options{}, 2, 1, 0.254, 0.254, []float64{0.254, 0.508}, 0},
		"asked units":         {"0 1500\n100 2000\n", Options{XUnit: "µm", ZUnit: "nm"}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 0},
		"gaps":                {"0,1.5\n0.1,\n0.2,NaN\n0.3,BAD\n0.4,***\n0.5,--\n0.6,2\n", Options{}, 7, 1, 0.1, 0.1, []float64{1.5, nan, nan, nan, nan, nan, 2}, 1},
		"comments":            {"% a plate\n// of brass\n; measured\n\n0,1.5\n# gap\n0.1,2\n!end\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 1},
		"end separators":      {"0.0,1.5,\n0.1,2,\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 1},
		"backwards":           {"0.2 1\n0.1 2\n0.0 3\n", Options{}, 3, 1, 0.1, 0.1, []float64{3, 2, 1}, 2},
		"rounded places":      {"0.000 1\n0.003 2\n0.007 3\n0.010 4\n", Options{}, 4, 1, 0.01 / 3, 0.01 / 3, []float64{1, 2, 3, 4}, 1},
		"Fortran exponents":   {"0.0D0 1.5D+0\n1.0D-1 2D0\n", Options{}, 2, 1, 0.1, 0.1, []float64{1.5, 2}, 1},
		"column":              {"1.5\n2\nNaN\n4\n", spaced, 4, 1, 0.01, 0.01, []float64{1.5, 2, nan, 4}, 1},
		"column, comma":       {"1,5\n1,7\n1,6\n", spaced, 3, 1, 0.01, 0.01, []float64{1.5, 1.7, 1.6}, 1},
		"column, head":        {"# dx = 0.5 µm\n# z unit: nm\n1500\n2000\n", Options{}, 2, 1, 0.0005, 0.0005, []float64{1.5, 2}, 0},
		"column, head German": {"Spacing; 0,5; µm\nz unit; µm\n1,5\n2\n", Options{}, 2, 1, 0.0005, 0.0005, []float64{1.5, 2}, 0},
		"asked over said":     {"# dx = 0.5 µm\n# z unit: µm\n1\n2\n", spaced, 2, 1, 0.01, 0.01, []float64{1, 2}, 1},
		"matrix":              {"1 2 3 4\n5 NaN 7 8\n", Options{DX: 0.01, DY: 0.02}, 4, 2, 0.01, 0.02, []float64{1, 2, 3, 4, 5, nan, 7, 8}, 1},
		"matrix, gaps":        {"1,2,3,4\n,,7,8\n", spaced, 4, 2, 0.01, 0.01, []float64{1, 2, 3, 4, nan, nan, 7, 8}, 1},
		"matrix, tabs":        {"1\t2\t3\t4\n\t\t\t\n5\t6\t7\t8\n", spaced, 4, 3, 0.01, 0.01, []float64{1, 2, 3, 4, nan, nan, nan, nan, 5, 6, 7, 8}, 1},
		"matrix, semicolons":  {"1,5;2;3;4\n;6;7;8,5\n", spaced, 4, 2, 0.01, 0.01, []float64{1.5, 2, 3, 4, nan, 6, 7, 8.5}, 1},
		"matrix, one row":     {"1 2 3 4\n", spaced, 4, 1, 0.01, 0.01, []float64{1, 2, 3, 4}, 1},
		"points":              {"x,y,z\n0,0,1\n0.1,0,2\n0,0.2,3\n0.1,0.2,4\n", Options{}, 2, 2, 0.1, 0.2, []float64{1, 2, 3, 4}, 1},
		"points, any order":   {"0.1 0.2 4\n0 0 1\n0.1 0 2\n0 0.2 3\n", Options{}, 2, 2, 0.1, 0.2, []float64{1, 2, 3, 4}, 1},
		"points, some gone":   {"0 0 1\n0.1 0 2\n0.3 0 3\n0 0.2 4\n0.1 0.2 5\n0.2 0.2 6\n", Options{}, 4, 2, 0.1, 0.2, []float64{1, 2, nan, 3, 4, 5, 6, nan}, 1},
		"points, rounded":     {"0.000 0 1\n0.003 0 2\n0.007 0 3\n0.010 0 4\n0.000 1 5\n0.003 1 6\n0.007 1 7\n0.010 1 8\n", Options{}, 4, 2, 0.01 / 3, 1, []float64{1, 2, 3, 4, 5, 6, 7, 8}, 1},
		"points of a line":    {"0 5 1\n0.1 5 2\n0.2 5 3\n", Options{}, 3, 1, 0.1, 0.1, []float64{1, 2, 3}, 1},
		"points of a column":  {"5 0 1\n5 0.1 2\n5 0.2 3\n", Options{}, 3, 1, 0.1, 0.1, []float64{1, 2, 3}, 1},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Read("a.csv", []byte(c.text), c.opt)
			want(t, s, err, c.w, c.h, c.dx, c.dy, c.z...)
			if s.Format != "text" || len(s.Notes) != c.notes {
				t.Errorf("%s, %d notes in place of %d: %q", s.Format, len(s.Notes), c.notes, s.Notes)
			}
			sound(t, s, err)
		})
	}
}

func TestTextIn16Bits(t *testing.T) {
	for _, order := range []string{"\xff\xfe", "\xfe\xff"} {
		b := []byte(order)
		for _, c := range utf16.Encode([]rune("x (µm)\tz (µm)\r\n0,5\t1,5\r\n1\t2\r\n")) {
			if order == "\xff\xfe" {
				b = append(b, byte(c), byte(c>>8))
			} else {
				b = append(b, byte(c>>8), byte(c))
			}
		}
		s, err := Read("a.txt", b, Options{})
		want(t, s, err, 2, 1, 0.0005, 0.0005, 1.5, 2)
	}
}

func TestBadText(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		"no spacing":      {"1\n2\n3\n", "--spacing"},
		"no spacing, map": {"1 2 3 4\n5 6 7 8\n", "--spacing"},
		"uneven":          {"0 1\n0.1 2\n0.3 3\n", "do not lie evenly along x: point 2"},
		"same place":      {"0 1\n0 2\n0 3\n", "do not lie evenly"},
		"ragged":          {"0 1\n0.1 2 3\n", "this line has 3 values and the first 2 (line 2)"},
		"word":            {"0,1\n0.1,oops\n", `"oops" stands where a number should (line 2)`},
		"thousands":       {"0;1\n1;1.234,5\n", "1.234,5"},
		"no place":        {"0,1\nNaN,2\n", "no place"},
		"one number":      {"# dx = 1\n5\n", "a single point"},
		"all missing":     {"0,1e12\n1,NaN\n", "none of its points"},
		"twice":           {"0 0 1\n1 0 2\n0 1 3\n1 1 4\n1 1 5\n", "two heights at x = 1, y = 1"},
		"scattered":       {"0.1 0.7 1\n0.25 0.31 2\n0.9 0.44 3\n0.6 0.1 3\n", "even grid"},
		"sparse":          {diagonal(100), "less than a quarter"},
		"prose":           {"Dear customer,\nthe parts are ready.\n", "no numbers"},
		"long prose":      {strings.Repeat("words\n", 5000), "first thousand lines"},
		"huge step":       {"0 1\n1e9 2\n", "spacing"},
		"infinite place":  {"0 1\ninf 2\n", "no place"},
	} {
		s, err := Read("a.csv", []byte(c.text), Options{})
		if sound(t, s, err) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
	if _, err := Read("a.csv", []byte("0 1\n1 2\n"), Options{ZUnit: "cubits"}); err == nil || !strings.Contains(err.Error(), "cubits") {
		t.Error(err)
	}
}

// diagonal is n points along one.
func diagonal(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%d %d 1\n", i, i)
	}
	return b.String()
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"x (mm), z (µm)\n0.0,1.5\n0.1,2\n0.2,-1\n", "0,0;1,5\n0,1;2\n", "# dx = 0.5 µm\n# z unit: nm\n1500\n2000\n", "0 0 1\n0.1 0 2\n0 0.2 3\n0.1 0.2 4\n",
		"# heights by row, from y0 upward\n# dx = 1 mm\n1\tNaN\n\t\n", "1,2,3,4\n,,7,8\n", "\xff\xfe1\x00\n\x00"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if sdfMagic(data) {
			return
		}
		s, err := Read("a.csv", data, Options{DX: 0.01})
		if sound(t, s, err) && len(s.Map.Z) > 4*len(data)+64 {
			t.Fatalf("%d heights from %d bytes", len(s.Map.Z), len(data))
		}
	})
}
