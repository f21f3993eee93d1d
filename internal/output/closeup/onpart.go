package closeup

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"fettle"
	part "fettle/internal/output/draw"
	"fettle/internal/shape/mesh"
)

// PartOptions say how values on a part are shown.
type PartOptions struct {
	Size    int      // pixels along the longer side of each view
	Views   []string // a line under each view; as many as views
	Caption string   // what the values are
	Low     string   // what the dark end of the scale means
	High    string   // and the light end
	Out     string   // what hatched places are
}

// OnPart shows values between 0 and 1 on a part, one view beside the other: light
// where the value is 1, dark where it is 0, and hatched, so that it survives black
// and white, where it is below 0. The scale stands under the views. Errors are
// those of [part.ShadeValues].
func OnPart(m *mesh.Mesh, views []part.View, value []float32, o PartOptions) (*image.RGBA, error) {
	var shown []*image.RGBA
	w, h := 0, 0
	for _, v := range views {
		img, err := part.ShadeValues(m, v, o.Size, value, toneOf)
		if err != nil {
			return nil, err
		}
		shown = append(shown, img)
		w += img.Rect.Dx()
		h = max(h, img.Rect.Dy())
	}
	if len(shown) == 0 {
		return nil, fettle.Errorf(fettle.Invalid, "no view of the part was asked for")
	}
	letters := newHand(math.Round(max(11, float64(o.Size)/48)))
	e := letters.em
	w = max(w, int(30*e))
	line := 1.5 * e
	height := h + int(3*line+3*e)
	page := image.NewRGBA(image.Rect(0, 0, w, height))
	draw.Draw(page, page.Rect, image.White, image.Point{}, draw.Src)
	x := 0
	text := image.NewGray(page.Rect)
	draw.Draw(text, text.Rect, image.White, image.Point{}, draw.Src)
	for i, img := range shown {
		at := image.Pt(x, (h-img.Rect.Dy())/2)
		draw.Draw(page, img.Rect.Add(at), img, image.Point{}, draw.Src)
		if i < len(o.Views) {
			letters.write(text, float64(x)+e, float64(h)+e, letters.clip(o.Views[i], float64(img.Rect.Dx())-2*e, false), false, 90)
		}
		x += img.Rect.Dx()
	}
	y := float64(h) + line + e
	letters.write(text, e, y, letters.clip(o.Caption, float64(w)-2*e, true), true, 0)
	y += 0.6 * e
	ribbon(page, text, letters, o, y)
	// Letters darken the page.
	for i, g := range text.Pix {
		if g < 255 {
			p := page.Pix[4*i : 4*i+3]
			for c := range p {
				p[c] = uint8(int(p[c]) * int(g) / 255)
			}
		}
	}
	return page, nil
}

// ribbon draws the scale with its ends, and a hatched field for what is out.
func ribbon(page *image.RGBA, text *image.Gray, letters *hand, o PartOptions, y float64) {
	e := letters.em
	x := e
	letters.write(text, x, y+1.1*e, o.Low, false, 0)
	x += letters.wide(o.Low, false) + 0.5*e
	field := func(wide float64, value func(t float64) float64) {
		for j := int(y + 0.2*e); j < int(y+1.3*e); j++ {
			for i := 0; i < int(wide); i++ {
				r, g, b := toneOf(value(float64(i)/wide), int(x)+i, j)
				page.SetRGBA(int(x)+i, j, color.RGBA{encode(r), encode(g), encode(b), 255})
			}
		}
		x += wide + 0.5*e
	}
	field(8*e, func(t float64) float64 { return t })
	letters.write(text, x, y+1.1*e, o.High, false, 0)
	x += letters.wide(o.High, false) + 1.5*e
	if o.Out != "" {
		field(2*e, func(float64) float64 { return -1 })
		letters.write(text, x, y+1.1*e, o.Out, false, 0)
	}
}

// toneOf runs from a dark blue at 0 over a grey green to straw at 1, its lightness
// growing evenly; below 0 it is a rust with pale stripes.
func toneOf(v float64, x, y int) (r, g, b float64) {
	if v < 0 {
		if (x+y)%7 < 2 {
			return 0.80, 0.70, 0.62
		}
		return 0.24, 0.06, 0.03
	}
	v = min(v, 1)
	stops := [...][3]float64{{0.04, 0.07, 0.19}, {0.10, 0.24, 0.32}, {0.34, 0.46, 0.36}, {0.86, 0.76, 0.47}}
	t := v * float64(len(stops)-1)
	k := min(int(t), len(stops)-2)
	t -= float64(k)
	mix := func(c int) float64 { return stops[k][c] + t*(stops[k+1][c]-stops[k][c]) }
	return mix(0), mix(1), mix(2)
}
