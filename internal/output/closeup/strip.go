package closeup

import (
	"image"
	"math"

	"fettle"
	"fettle/internal/shape/relief"
)

// Panel is one picture of a strip.
type Panel struct {
	Map     *relief.Map
	Caption string
}

// maxPanels is how many close-ups a strip may hold.
const maxPanels = 24

// Strip puts close-ups beside each other, or with down one below the other, at
// one scale, under one lamp and at one exposure, so that a face that is twice as
// smooth looks it. Width and Height are those of one panel's surface here (0:
// 360 each); the captions stand below it, the scale bar and the small print once
// below all. WideMM of 0 means as much as every map can fill; Middle and Whole
// are not used, nor is Caption. The contrast is the one that suits the roughest
// surface. Area and the scale are those of the first panel; the second result
// holds where each panel's surface is. Errors are those of [Light].
func Strip(panels []Panel, o Options, down bool) (*Picture, []image.Rectangle, error) {
	if len(panels) == 0 || len(panels) > maxPanels {
		return nil, nil, fettle.Errorf(fettle.Invalid, "a strip of %d pictures cannot be made; give 1 to %d", len(panels), maxPanels)
	}
	if o.Width == 0 {
		o.Width = 360
	}
	if o.Height == 0 {
		o.Height = 360
	}
	px := math.Inf(1)
	for _, p := range panels {
		if err := o.check(p.Map); err != nil {
			return nil, nil, err
		}
		w, h := extent(p.Map.Grid)
		px = min(px, w/float64(o.Width), h/float64(o.Height))
	}
	if o.WideMM == 0 {
		o.WideMM = px * float64(o.Width)
	}
	l := o.lamp()

	// What each shows, and the exposure that holds for all.
	type shot struct {
		v   view
		val []float32
		mid float64
	}
	shots := make([]shot, len(panels))
	c, missing, widest := o.Contrast, 0.0, 0.0
	for k, p := range panels {
		v, err := look(p.Map.Grid, o.Width, o.Height, o.WideMM, nil)
		if err != nil {
			return nil, nil, err
		}
		val := v.light(p.Map, l)
		mid, spread, none := exposure(val)
		if math.IsNaN(mid) {
			return nil, nil, empty()
		}
		if o.Shadows {
			v.shadows(p.Map, l, val)
		}
		shots[k] = shot{v, val, mid}
		widest, missing = max(widest, spread), missing+none/float64(len(panels))
	}
	if c == 0 {
		c = contrast(widest)
	}

	// The paper: the captions take as many lines as the longest needs.
	lead := newHand(max(14, em(o.Width)))
	gap := int(math.Round(0.7 * lead.em))
	across, rows := len(panels), 1
	if down {
		across, rows = 1, len(panels)
	}
	lines, most := make([][]string, len(panels)), 0
	if !o.Bare {
		for k, p := range panels {
			lines[k] = lead.wrap(p.Caption, float64(o.Width)-0.4*lead.em, false, 3)
			most = max(most, len(lines[k]))
		}
	}
	below := int(math.Ceil(1.3*lead.em*float64(most) + 0.45*lead.em*float64(min(most, 1))))
	cellH := o.Height + below
	w := across*o.Width + (across-1)*gap
	sh := &sheet{o: &o, lamp: &l, note: o.note(l, c, missing), em: lead.em}
	foot := sh.measure(w)
	sh.top = rows*cellH + (rows-1)*gap
	sh.h = sh.top + foot
	if w > 4*maxSide || sh.h > 4*maxSide {
		return nil, nil, fettle.Errorf(fettle.Invalid, "a strip of %d by %d pixels is too large; choose smaller or fewer pictures", w, sh.h)
	}

	pic := newPicture(w, sh.h, tone(o.Tint))
	areas := make([]image.Rectangle, len(panels))
	for k := range panels {
		x, y := k%across*(o.Width+gap), k/across*(cellH+gap)
		areas[k] = image.Rect(x, y, x+o.Width, y+o.Height)
		s := shots[k]
		pic.paint(areas[k], s.val, func(v float32) int { return shadeOf(float64(v), s.mid, c) })
		if len(lines[k]) == 0 {
			continue
		}
		label := image.NewGray(image.Rect(0, 0, o.Width, below))
		for i := range label.Pix {
			label.Pix[i] = 255
		}
		for n, line := range lines[k] {
			lead.write(label, 0.2*lead.em, 1.3*lead.em*float64(n+1), line, false, 0)
		}
		pic.stamp(label, image.Pt(x, y+o.Height))
	}
	pic.place(shots[0].v, areas[0])
	pic.FromDeg, pic.HighDeg, pic.Contrast, pic.Missing = l.fromDeg, l.highDeg, c, missing
	sh.letter(pic)
	return pic, areas, nil
}
