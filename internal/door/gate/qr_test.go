package gate

import (
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

const scanned = "https://192.168.1.20:8443/#invite=Zm9yIGEgaGFuZCBhdCB0aGU"

// What ISO/IEC 18004 fixes of every code: size (section 6.1), finder patterns and
// their separators (6.3.3), timing patterns (6.3.5), the dark module, and format
// information that is a word of the BCH(15,5) code under its mask, twice the same
// (7.9.1 and annex C).
func TestCodeIsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, err := NewCode("http://" + rapid.StringMatching(`[a-z0-9./#=:-]{1,300}`).Draw(t, "url"))
		if err != nil {
			t.Fatal(err)
		}
		n := c.Modules() - 8
		if n < 21 || n > 177 || (n-17)%4 != 0 {
			t.Fatalf("%d modules", n)
		}
		at := func(x, y int) bool { return c.Dark(x+4, y+4) }
		for y := -4; y < n+4; y++ {
			for x := -4; x < n+4; x++ {
				if (x < 0 || y < 0 || x >= n || y >= n) && at(x, y) {
					t.Fatalf("the border is dark at %d,%d", x, y)
				}
			}
		}
		for _, o := range [][2]int{{0, 0}, {n - 7, 0}, {0, n - 7}} {
			for dy := -1; dy <= 7; dy++ {
				for dx := -1; dx <= 7; dx++ {
					ring := max(abs(dx-3), abs(dy-3))
					if got := at(o[0]+dx, o[1]+dy); got != (ring == 3 || ring <= 1) {
						t.Fatalf("finder at %v: %d,%d is %v", o, dx, dy, got)
					}
				}
			}
		}
		for i := 8; i < n-8; i++ {
			if at(i, 6) != (i%2 == 0) || at(6, i) != (i%2 == 0) {
				t.Fatalf("timing at %d", i)
			}
		}
		if !at(8, n-8) {
			t.Fatal("the dark module is light")
		}
		first, second := format(at, n)
		if first != second {
			t.Fatalf("format %015b and %015b", first, second)
		}
		word := first ^ 0b101010000010010
		rest := word
		for i := 14; i >= 10; i-- {
			if rest>>i&1 == 1 {
				rest ^= 0b10100110111 << (i - 10)
			}
		}
		if rest != 0 {
			t.Fatalf("format %015b is no word of its code", word)
		}
		if level := word >> 13; level == 0b01 { // L; M is 00, Q 11, H 10
			t.Fatal("level L")
		}
	})
}

func abs(x int) int { return max(x, -x) }

// format reads both copies of the format information, the most significant bit
// first, as figure 25 of the standard places them.
func format(at func(x, y int) bool, n int) (first, second int) {
	bit := func(v *int, x, y int) {
		*v <<= 1
		if at(x, y) {
			*v |= 1
		}
	}
	for _, p := range [][2]int{{0, 8}, {1, 8}, {2, 8}, {3, 8}, {4, 8}, {5, 8}, {7, 8}, {8, 8}, {8, 7}, {8, 5}, {8, 4}, {8, 3}, {8, 2}, {8, 1}, {8, 0}} {
		bit(&first, p[0], p[1])
	}
	for i := range 7 {
		bit(&second, 8, n-1-i)
	}
	for i := 8; i >= 1; i-- {
		bit(&second, n-i, 8)
	}
	return first, second
}

// The picture and the text have the same modules as the code.
func TestCodeAsPictureAndText(t *testing.T) {
	c, err := NewCode(scanned)
	if err != nil {
		t.Fatal(err)
	}
	n := c.Modules()
	svg := c.SVG()
	for d := xml.NewDecoder(strings.NewReader(svg)); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if !strings.Contains(svg, fmt.Sprintf(`viewBox="0 0 %d %d"`, n, n)) || !strings.Contains(svg, fmt.Sprintf(`fill="#fff" d="M0 0h%dv%dH0z"`, n, n)) || strings.Contains(svg, "style") {
		t.Errorf("%.200s", svg)
	}
	drawn := map[[2]int]bool{}
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(svg, -1) {
		var v [4]int
		for i := range v {
			v[i], _ = strconv.Atoi(m[i+1])
		}
		if v[2] != v[3] {
			t.Errorf("%s is no box", m[0])
		}
		for x := range v[2] {
			drawn[[2]int{v[0] + x, v[1]}] = true
		}
	}
	for _, colour := range []bool{false, true} {
		text := c.Text(colour)
		if colour {
			for line := range strings.SplitSeq(strings.TrimSuffix(text, "\n"), "\n") {
				if !strings.HasPrefix(line, "\x1b[97;40m") || !strings.HasSuffix(line, "\x1b[0m") {
					t.Errorf("%q", line)
				}
			}
			text = strings.NewReplacer("\x1b[97;40m", "", "\x1b[0m", "").Replace(text)
		}
		lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		if len(lines) != (n+1)/2 {
			t.Fatalf("%d lines for %d modules", len(lines), n)
		}
		for y := range n {
			row := []rune(lines[y/2])
			if len(row) != n {
				t.Fatalf("line %d has %d characters", y/2, len(row))
			}
			for x := range n {
				// The upper and the lower half block, and the full one, are light.
				light := row[x] == '█' || row[x] == []rune{'▀', '▄'}[y%2]
				if light == c.Dark(x, y) || drawn[[2]int{x, y}] != c.Dark(x, y) {
					t.Fatalf("%d,%d: text light %v, drawn %v, dark %v", x, y, light, drawn[[2]int{x, y}], c.Dark(x, y))
				}
			}
		}
	}
}

func TestCodeTooLong(t *testing.T) {
	if _, err := NewCode(strings.Repeat("x", 2331)); err != nil {
		t.Errorf("2331 bytes at level M (ISO/IEC 18004, table 7): %v", err)
	}
	_, err := NewCode(strings.Repeat("x", 2332))
	wantCode(t, err, fettle.Invalid)
}
