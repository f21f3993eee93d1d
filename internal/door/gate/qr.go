package gate

import (
	"fmt"
	"strings"

	goqr "github.com/piglig/go-qr"

	"fettle"
)

// quiet is the width of the empty border, in modules (ISO/IEC 18004, section 5.3.8).
const quiet = 4

// Code is a QR code.
type Code struct{ q *goqr.QrCode }

// NewCode is the QR code of a URL, at level M or better. It is refused past the
// 2331 bytes that a code holds at that level.
func NewCode(url string) (Code, error) {
	q, err := goqr.EncodeText(url, goqr.Medium)
	if err != nil {
		return Code{}, &fettle.Error{Code: fettle.Invalid, Message: fmt.Sprintf("%d bytes do not fit a QR code; shorten the address", len(url)), Err: err}
	}
	return Code{q}, nil
}

// Modules is the side of the code with its border.
func (c Code) Modules() int { return c.q.Size() + 2*quiet }

// Dark reports whether a module is dark, counted from the border's corner.
func (c Code) Dark(x, y int) bool {
	x, y = x-quiet, y-quiet
	n := c.q.Size()
	return x >= 0 && y >= 0 && x < n && y < n && c.q.Module(x, y)
}

// SVG is the code as a picture, black on white whatever lies behind it: phones read
// no other way round. A module is one unit; there are no styles, so that it may
// stand in a page as it is.
func (c Code) SVG() string {
	n := c.Modules()
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dH0z"/><path fill="#000" d="`, n, n, n, n)
	for y := range n {
		for x := 0; x < n; x++ {
			from := x
			for c.Dark(x, y) {
				x++
			}
			if x > from {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", from, y, x-from, x-from)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String()
}

// Text is the code for a terminal, two modules in a character's height. With colour
// it is black on white on any terminal that knows the colours of ECMA-48; without it
// relies on light letters on a dark ground.
func (c Code) Text(colour bool) string {
	var b strings.Builder
	for y := 0; y < c.Modules(); y += 2 {
		if colour {
			b.WriteString("\x1b[97;40m")
		}
		for x := range c.Modules() {
			// What shines is the light modules; past an odd last row is border.
			switch top, low := c.Dark(x, y), c.Dark(x, y+1); {
			case top && low:
				b.WriteByte(' ')
			case top:
				b.WriteRune('▄')
			case low:
				b.WriteRune('▀')
			default:
				b.WriteRune('█')
			}
		}
		if colour {
			b.WriteString("\x1b[0m")
		}
		b.WriteByte('\n')
	}
	return b.String()
}
