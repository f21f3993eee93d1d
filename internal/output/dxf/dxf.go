// Package dxf writes plan drawings as DXF, release 12, which every program that
// cuts can read: lines, true arcs and circles on named layers, in millimetres.
package dxf

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fettle"

	"gonum.org/v1/gonum/spatial/r2"
)

// Layer is a named layer with what is drawn on it.
type Layer struct {
	// Name is made to fit: release 12 takes up to 31 of the letters A to Z, digits,
	// and $ - _.
	Name string
	// Color is a number of the form's own list: 1 red, 3 green, 5 blue, 7 black or
	// white.
	Color int
	// Dashed lines stand for what is there already.
	Dashed bool
	Loops  [][]fettle.PlanEdge
	Notes  []Note
}

// Note is a line of text.
type Note struct {
	At     r2.Vec
	Height float64
	Says   string
}

// Write writes layers. The same layers give the same bytes. Two arcs that make a
// full circle become one CIRCLE. The error is that of w, or that a number is not
// finite.
//
// The form is that of the DXF reference for release 12: pairs of a group code and
// a value, ASCII, ends of lines CR LF. Release 12 cannot say a unit; a comment
// does.
func Write(w io.Writer, title string, layers []Layer) error {
	d := &writer{b: bufio.NewWriter(w)}
	lo, hi := extent(layers)
	d.pair(999, ascii(title)+", millimetres")
	d.begin("HEADER")
	d.pair(9, "$ACADVER")
	d.pair(1, "AC1009")
	d.pair(9, "$EXTMIN")
	d.point(10, lo)
	d.pair(9, "$EXTMAX")
	d.point(10, hi)
	d.pair(0, "ENDSEC")

	d.begin("TABLES")
	d.table("LTYPE", 2)
	d.lineType("CONTINUOUS", "Solid line")
	d.lineType("DASHED", "Dashed line", 3, -1.5)
	d.pair(0, "ENDTAB")
	d.table("LAYER", len(layers))
	for _, l := range layers {
		d.pair(0, "LAYER")
		d.pair(2, LayerName(l.Name))
		d.pair(70, "0")
		d.pair(62, strconv.Itoa(max(1, l.Color)))
		line := "CONTINUOUS"
		if l.Dashed {
			line = "DASHED"
		}
		d.pair(6, line)
	}
	d.pair(0, "ENDTAB")
	d.pair(0, "ENDSEC")

	d.begin("ENTITIES")
	for _, l := range layers {
		for _, loop := range l.Loops {
			d.loop(LayerName(l.Name), loop)
		}
		for _, n := range l.Notes {
			d.entity("TEXT", LayerName(l.Name))
			d.point(10, n.At)
			d.number(40, n.Height)
			d.pair(1, ascii(n.Says))
		}
	}
	d.pair(0, "ENDSEC")
	d.pair(0, "EOF")
	if d.bad {
		return fettle.Errorf(fettle.Invalid, "%s holds a number that is not finite, so it cannot be drawn", title)
	}
	return d.b.Flush()
}

type writer struct {
	b   *bufio.Writer
	bad bool
}

func (d *writer) pair(code int, value string) { fmt.Fprintf(d.b, "%3d\r\n%s\r\n", code, value) }

func (d *writer) number(code int, v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		d.bad = true
	}
	s := strconv.FormatFloat(v, 'f', 6, 64)
	if v == 0 || s == "-0.000000" {
		s = "0.000000"
	}
	d.pair(code, s)
}

func (d *writer) point(code int, p r2.Vec) {
	d.number(code, p.X)
	d.number(code+10, p.Y)
	d.number(code+20, 0)
}

func (d *writer) begin(section string) {
	d.pair(0, "SECTION")
	d.pair(2, section)
}

func (d *writer) table(name string, n int) {
	d.pair(0, "TABLE")
	d.pair(2, name)
	d.pair(70, strconv.Itoa(n))
}

func (d *writer) lineType(name, says string, dashes ...float64) {
	d.pair(0, "LTYPE")
	d.pair(2, name)
	d.pair(70, "0")
	d.pair(3, says)
	d.pair(72, "65")
	d.pair(73, strconv.Itoa(len(dashes)))
	sum := 0.0
	for _, v := range dashes {
		sum += math.Abs(v)
	}
	d.number(40, sum)
	for _, v := range dashes {
		d.number(49, v)
	}
}

func (d *writer) entity(name, layer string) {
	d.pair(0, name)
	d.pair(8, layer)
}

func (d *writer) loop(layer string, loop []fettle.PlanEdge) {
	if len(loop) == 2 && loop[0].RadiusMM > 0 && loop[0].Centre == loop[1].Centre && loop[0].RadiusMM == loop[1].RadiusMM && loop[0].Left == loop[1].Left {
		d.entity("CIRCLE", layer)
		d.point(10, vec(loop[0].Centre))
		d.number(40, loop[0].RadiusMM)
		return
	}
	for _, e := range loop {
		if e.RadiusMM == 0 {
			d.entity("LINE", layer)
			d.point(10, vec(e.From))
			d.point(11, vec(e.To))
			continue
		}
		// An arc of this form always runs anticlockwise.
		from, to := e.From, e.To
		if !e.Left {
			from, to = to, from
		}
		d.entity("ARC", layer)
		d.point(10, vec(e.Centre))
		d.number(40, e.RadiusMM)
		d.number(50, degrees(e.Centre, from))
		d.number(51, degrees(e.Centre, to))
	}
}

func vec(p [2]float64) r2.Vec { return r2.Vec{X: p[0], Y: p[1]} }

// degrees is the direction from c to p, 0 up to 360.
func degrees(c, p [2]float64) float64 {
	a := math.Atan2(p[1]-c[1], p[0]-c[0]) * 180 / math.Pi
	if a < 0 {
		a += 360
	}
	return a
}

func extent(layers []Layer) (lo, hi r2.Vec) {
	first := true
	add := func(x, y float64) {
		if first {
			lo, hi, first = r2.Vec{X: x, Y: y}, r2.Vec{X: x, Y: y}, false
		}
		lo = r2.Vec{X: min(lo.X, x), Y: min(lo.Y, y)}
		hi = r2.Vec{X: max(hi.X, x), Y: max(hi.Y, y)}
	}
	for _, l := range layers {
		for _, loop := range l.Loops {
			for _, e := range loop {
				add(e.From[0], e.From[1])
				add(e.To[0], e.To[1])
			}
		}
	}
	return lo, hi
}

// LayerName is a name that release 12 takes: 31 capitals, digits, $ - _.
func LayerName(s string) string {
	out := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		case r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '$', r == '-', r == '_':
			return r
		}
		return '_'
	}, s)
	if out == "" {
		return "0"
	}
	return out[:min(31, len(out))]
}

// ascii keeps what release 12 can hold on one line; the degree and diameter signs
// have codes of their own.
func ascii(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == 'Ø':
			b.WriteString("%%c")
		case r == '°':
			b.WriteString("%%d")
		case r == '±':
			b.WriteString("%%p")
		case r == '×':
			b.WriteByte('x')
		case r >= ' ' && r <= '~':
			b.WriteRune(r)
		default:
			b.WriteByte('?')
		}
	}
	return b.String()
}
