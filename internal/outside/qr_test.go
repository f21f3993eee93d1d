//go:build outside

package outside

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/door/gate"
)

// boxes are the rectangles of a code's picture.
var boxes = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v(\d+)[hH]`)

// paint draws the picture of a code in pixels: its boxes, in their order and
// colours.
func paint(t *testing.T, svg string, scale int) image.Image {
	t.Helper()
	side := regexp.MustCompile(`viewBox="0 0 (\d+) (\d+)"`).FindStringSubmatch(svg)
	if side == nil || side[1] != side[2] {
		t.Fatalf("no square: %.100s", svg)
	}
	n, _ := strconv.Atoi(side[1])
	im := image.NewGray(image.Rect(0, 0, n*scale, n*scale))
	for _, path := range regexp.MustCompile(`fill="(#[0-9a-f]+)" d="([^"]*)"`).FindAllStringSubmatch(svg, -1) {
		c := map[string]color.Gray{"#fff": {Y: 255}, "#000": {}}[path[1]]
		for _, m := range boxes.FindAllStringSubmatch(path[2], -1) {
			var v [4]int
			for i := range v {
				v[i], _ = strconv.Atoi(m[i+1])
			}
			for y := v[1] * scale; y < (v[1]+v[3])*scale; y++ {
				for x := v[0] * scale; x < (v[0]+v[2])*scale; x++ {
					im.SetGray(x, y, c)
				}
			}
		}
	}
	return im
}

// typed draws the code that stands on a terminal with light letters on a dark
// ground, a character two modules high.
func typed(text string, scale int) image.Image {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	w := len([]rune(lines[0]))
	im := image.NewGray(image.Rect(0, 0, w*scale, 2*len(lines)*scale))
	for y, line := range lines {
		for x, r := range []rune(line) {
			for half, lit := range [2]bool{r == '█' || r == '▀', r == '█' || r == '▄'} {
				for dy := range scale {
					for dx := range scale {
						if lit {
							im.SetGray(x*scale+dx, (2*y+half)*scale+dy, color.Gray{Y: 255})
						}
					}
				}
			}
		}
	}
	return im
}

// Codes of addresses short and long are read by another reader as what they are,
// from the picture and from the terminal.
func TestCodesAgainstZBar(t *testing.T) {
	dir := t.TempDir()
	for i, url := range []string{
		"http://10.0.0.7/",
		"HTTP://10.0.0.7:8080/",
		gate.InviteURL("https://192.168.1.20:8443/", "0Yk-_fQ2c3X7pP5aZ1b9Rw"),
		gate.InviteURL("https://[2001:db8:1:2:3:4:5:6]:8443/", "0Yk-_fQ2c3X7pP5aZ1b9Rw"),
		"https://shop-pc.local/#" + strings.Repeat("naval brass ", 60),
	} {
		c, err := gate.NewCode(url)
		if err != nil {
			t.Fatal(err)
		}
		for name, im := range map[string]image.Image{"svg": paint(t, c.SVG(), 4), "text": typed(c.Text(false), 4)} {
			file := filepath.Join(dir, fmt.Sprint(i, name, ".png"))
			f, err := os.Create(file)
			if err != nil {
				t.Fatal(err)
			}
			if err := png.Encode(f, im); err != nil {
				t.Fatal(err)
			}
			if err := f.Close(); err != nil {
				t.Fatal(err)
			}
			if got := strings.TrimSuffix(string(run(t, "zbar-tools", "zbarimg", "--quiet", "--raw", file)), "\n"); got != url {
				t.Errorf("%s of %q is read as %q", name, url, got)
			}
		}
	}
}
