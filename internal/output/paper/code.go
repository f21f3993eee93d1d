package paper

import (
	"strings"

	goqr "github.com/piglig/go-qr"

	"fettle"
	"fettle/internal/output/draw"
)

// Sizes of a QR code on paper. A module of 0.45 mm is what a phone still reads from
// oily paper at a hand's distance; the border is four modules wide
// (ISO/IEC 18004:2015, 9.1).
const (
	codeModule = 0.45
	codeQuiet  = 4
	codeSide   = 27.0 // of a code with its border, where no more is needed
	codeMost   = 46.0 // the largest that leaves room for the blanks beside it
)

// code is the QR code of one step.
type code struct {
	text   string
	url    bool
	rects  [][4]float64 // dark rectangles in modules, the border counted: x, y, w, h
	n      int          // modules of a side with the border
	module float64      // mm
}

func (c code) side() float64 { return float64(c.n) * c.module }

// encode makes the codes of all steps.
func (t *traveler) encode() error {
	for i := range t.plan.Route {
		text, url := t.names(i), false
		if t.opt.Link != nil {
			if to := strings.TrimSpace(t.opt.Link(i)); to != "" {
				text, url = to, true
			}
		}
		c, err := newCode(text)
		if err != nil {
			return fettle.Errorf(fettle.Invalid, "the address of step %d has %d bytes, too many for a code that is read from paper; shorten the shop's address", i+1, len(text))
		}
		c.url = url
		t.codes = append(t.codes, c)
	}
	return nil
}

// Most letters of a title and of a step's name that a code holds.
const (
	codeTitle = 40
	codeStep  = 60
)

// names are the words by which a step is known where there is no page to open.
func (t *traveler) names(i int) string {
	short := func(s string, n int) string {
		r := []rune(strings.Join(strings.Fields(s), " "))
		if len(r) > n {
			r = append(r[:n-1:n-1], '…')
		}
		return string(r)
	}
	title, step := short(t.title(), codeTitle), short(t.plan.Route[i].Name, codeStep)
	if sum := t.sum(); sum != "" {
		return t.say("%s, model %s, step %d: %s", title, sum, i+1, step)
	}
	return t.say("%s, step %d: %s", title, i+1, step)
}

// newCode is the code of a text: at level Q, of which a quarter may be lost, where it
// stays within codeSide, else at level M.
func newCode(text string) (code, error) {
	segments, err := goqr.MakeSegments(text)
	if err != nil {
		return code{}, err
	}
	for _, r := range text {
		if r > 0x7E { // else a reader must guess that this is UTF-8
			eci, err := goqr.MakeEci(26)
			if err != nil {
				return code{}, err
			}
			segments = append([]*goqr.QrSegment{eci}, segments...)
			break
		}
	}
	q, err := goqr.EncodeStandardSegments(segments, goqr.Quartile)
	if err != nil || float64(q.Size()+2*codeQuiet)*codeModule > codeSide {
		if q, err = goqr.EncodeStandardSegments(segments, goqr.Medium); err != nil {
			return code{}, err
		}
	}
	c := code{text: text, n: q.Size() + 2*codeQuiet}
	c.module = max(codeModule, codeSide/float64(c.n))
	if c.side() > codeMost {
		return code{}, fettle.Errorf(fettle.Invalid, "%d bytes need a code of %.0f mm", len(text), c.side())
	}
	c.rects = dark(q.Size(), q.Module)
	return c, nil
}

// dark covers the dark modules with rectangles: runs along a row, carried on over the
// rows below that have the same run.
func dark(n int, module func(x, y int) bool) [][4]float64 {
	type run struct{ from, to int }
	var out [][4]float64
	open := map[run]int{} // index of the rectangle that goes on
	for y := range n {
		next := map[run]int{}
		for x := 0; x < n; x++ {
			r := run{from: x}
			for x < n && module(x, y) {
				x++
			}
			if r.to = x; r.to == r.from {
				continue
			}
			at, ok := open[r]
			if !ok {
				at = len(out)
				out = append(out, [4]float64{float64(codeQuiet + r.from), float64(codeQuiet + y), float64(r.to - r.from), 0})
			}
			out[at][3]++
			next[r] = at
		}
		open = next
	}
	return out
}

// put draws the code with the corner of its border at (x, y).
func (c code) put(d *draw.Drawing, x, y float64) {
	for _, r := range c.rects {
		d.FillRect(0, x+c.module*r[0], y+c.module*r[1], c.module*r[2], c.module*r[3])
	}
}

// folds are the heights of the creases of a page that is folded for a pocket: in half,
// or in three. Codes stand at the side, off the crease that runs upright through the
// middle.
func (s *sheet) folds() []float64 { return []float64{s.h / 3, s.h / 2, 2 * s.h / 3} }

// foldGap is how far something h high must move down from y so that no crease runs
// through it.
func (s *sheet) foldGap(y, h float64) float64 {
	const clear = 1.5
	at := y
	for _, f := range s.folds() {
		if f > at-clear && f < at+h+clear {
			at = f + clear
		}
	}
	return at - y
}
