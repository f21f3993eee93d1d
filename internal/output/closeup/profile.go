package closeup

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/output/draw"
)

// ProfileOptions say how a trace is drawn and what is marked on it.
type ProfileOptions struct {
	Width, Height float64 // of the drawing on paper, mm; 0: 170 and 76
	Display       fettle.System
	// Caption stands above the plot.
	Caption string
	// RaUM and RzUM are the values that are marked, as an evaluation with its
	// filters gave them, and PeakUM how far the upper of the Rz lines lies over
	// the mean line (Rp; 0: the mean height of the highest points of five equal
	// lengths of the trace). RaUM and RzUM of 0 are replaced by those of the
	// trace as it is, over five equal lengths, and then named Pa and Pz, as ISO
	// 21920-2 names parameters of the unfiltered profile.
	RaUM, RzUM, PeakUM float64
}

// Plot is a drawn trace and what is needed to measure in it.
type Plot struct {
	draw.Drawing
	Width, Height float64 // mm on paper
	// X0 is the place of the trace's first sample on paper, MeanY that of the
	// mean line; PerMM is the paper's mm per mm along the trace, PerUM those per
	// µm of height. Exaggeration is 1000·PerUM over PerMM: a round number.
	X0, MeanY, PerMM, PerUM, Exaggeration float64
	RaUM, RzUM                            float64 // as marked
	PeakUM                                float64 // of the upper Rz line over the mean line
}

// SVG is the plot as an SVG document on white, black on it: it stays readable on
// a dark page and in print.
func (p *Plot) SVG() []byte { return p.Drawing.SVG(p.Width, p.Height, "") }

// metric measures text in the face that [Light] letters in.
func metric(s string, size float64, bold bool) float64 { return size * of(bold).Width(s) }

// Profile draws a trace of heights in µm, dx mm apart, with round numbers on its
// axes (mm and µm, or inches and µin), its mean line, a band of Ra on either side
// of it and the two lines that lie Rz apart. How much heights are exaggerated
// against lengths is a round number and stands above the plot. NaN is a gap. The
// trace is drawn as it is given: form and slope are for the caller to take out.
// The error is fettle.Invalid for a trace without at least two heights.
func Profile(z []float64, dx float64, o ProfileOptions) (*Plot, error) {
	if o.Width == 0 {
		o.Width = 170
	}
	if o.Height == 0 {
		o.Height = 76
	}
	if !(o.Width >= 80 && o.Width <= 2000 && o.Height >= 40 && o.Height <= 2000) {
		return nil, fettle.Errorf(fettle.Invalid, "a plot of %g by %g mm cannot be drawn; choose at least 80 by 40 mm", o.Width, o.Height)
	}
	if !(dx > 0) || math.IsInf(dx, 0) {
		return nil, fettle.Errorf(fettle.Invalid, "a trace with %g mm between its points cannot be drawn; check the spacing in its file", dx)
	}
	if !(o.RaUM >= 0 && o.RzUM >= 0 && o.PeakUM >= 0) || math.IsInf(o.RaUM+o.RzUM+o.PeakUM, 0) {
		return nil, fettle.Errorf(fettle.Invalid, "Ra %g, Rz %g µm cannot be marked; give values above 0", o.RaUM, o.RzUM)
	}
	mean, count := 0.0, 0
	for _, v := range z {
		if math.IsInf(v, 0) {
			return nil, fettle.Errorf(fettle.Invalid, "the trace holds an infinite height; check the file that it came from")
		}
		if v == v {
			mean += v
			count++
		}
	}
	if count < 2 {
		return nil, fettle.Errorf(fettle.Invalid, "the trace has %d heights, so there is nothing to draw; it needs at least two", count)
	}
	mean /= float64(count)
	t := newTrace(z, mean)
	p := &Plot{Width: o.Width, Height: o.Height, RaUM: o.RaUM, RzUM: o.RzUM, PeakUM: o.PeakUM}
	ra, rz := "Ra", "Rz"
	if p.RaUM == 0 {
		p.RaUM, ra = t.ra, "Pa"
	}
	if p.RzUM == 0 {
		p.RzUM, rz = t.rz, "Pz"
	}
	if p.PeakUM == 0 {
		p.PeakUM = t.peak
	}
	p.lay(t, float64(len(z)-1)*dx, &o)
	p.axes(float64(len(z)-1)*dx, &o)
	p.marks(ra, rz, &o)
	p.trace(z, mean, dx)
	return p, nil
}

// trace is what is read off the points themselves, over their mean.
type trace struct{ low, high, ra, rz, peak float64 }

func newTrace(z []float64, mean float64) trace {
	t := trace{low: math.Inf(1), high: math.Inf(-1)}
	const lengths = 5
	n, parts := 0, 0
	for k := range lengths {
		low, high := math.Inf(1), math.Inf(-1)
		for _, v := range z[len(z)*k/lengths : len(z)*(k+1)/lengths] {
			if v == v {
				low, high = min(low, v-mean), max(high, v-mean)
				t.ra += math.Abs(v - mean)
				n++
			}
		}
		if low <= high {
			t.low, t.high = min(t.low, low), max(t.high, high)
			t.rz += high - low
			t.peak += high
			parts++
		}
	}
	t.ra /= float64(n)
	t.rz /= float64(parts)
	t.peak /= float64(parts)
	return t
}

// The frame of the plot inside the drawing, mm.
const (
	padLeft, padRight = 17.0, 27.0
	padTop, padBottom = 9.5, 12.0
)

func (p *Plot) right() float64  { return p.Width - padRight }
func (p *Plot) bottom() float64 { return p.Height - padBottom }

// lay chooses the scales.
func (p *Plot) lay(t trace, length float64, o *ProfileOptions) {
	p.X0, p.PerMM = padLeft, (p.right()-padLeft)/length
	high := max(t.high, p.PeakUM, p.RaUM)
	low := min(t.low, p.PeakUM-p.RzUM, -p.RaUM)
	span := max(high-low, 1e-4) // a level trace: a tenth of a nanometre
	room := p.bottom() - padTop - 5
	p.Exaggeration = roundDown(room/span*1000/p.PerMM, []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8})
	p.PerUM = p.Exaggeration * p.PerMM / 1000
	p.MeanY = (padTop+p.bottom())/2 + (high+low)/2*p.PerUM

	p.FillRect(1, 0, 0, p.Width, p.Height)
	head := fmt.Sprintf("heights × %s", plain(p.Exaggeration))
	p.Texts = append(p.Texts, draw.Text{At: draw.Pt{X: p.right(), Y: padTop - 3}, S: head, Size: draw.TextSize, Align: draw.Right})
	h := hand{em: draw.TextSize}
	room = p.right() - padLeft - metric(head, draw.TextSize, false) - 4
	p.Texts = append(p.Texts, draw.Text{At: draw.Pt{X: padLeft, Y: padTop - 3}, S: h.clip(clean(o.Caption), room, true), Size: draw.TextSize, Bold: true})
}

// y is where a height over the mean line lies on paper.
func (p *Plot) y(um float64) float64 { return p.MeanY - um*p.PerUM }

// axes draws the frame, ticks, faint lines across and numbers.
func (p *Plot) axes(length float64, o *ProfileOptions) {
	perX, unitX, perZ, unitZ := 1.0, "mm", 1.0, "µm"
	if o.Display == fettle.Inch {
		perX, unitX, perZ, unitZ = fettle.MMPerInch, "in", 0.0254, "µin"
	}
	const size, tickLen = draw.TextSize * 0.9, 1.2
	bottom, right := p.bottom(), p.right()
	across := max(3, int((right-padLeft)/22))
	for _, t := range ticks(0, length/perX, across) {
		x := p.X0 + t.v*perX*p.PerMM
		p.Stroke(draw.WeightThin, draw.Pt{X: x, Y: bottom}, draw.Pt{X: x, Y: bottom + tickLen})
		p.Texts = append(p.Texts, draw.Text{At: draw.Pt{X: x, Y: bottom + tickLen + size}, S: t.text, Size: size, Align: draw.Centre})
	}
	p.Texts = append(p.Texts, draw.Text{At: draw.Pt{X: (padLeft + right) / 2, Y: p.Height - 1.5}, S: unitX, Size: size, Align: draw.Centre})
	lo, hi := (p.MeanY-bottom)/p.PerUM/perZ, (p.MeanY-padTop)/p.PerUM/perZ
	for _, t := range ticks(lo, hi, max(2, int((bottom-padTop)/9))) {
		y := p.y(t.v * perZ)
		p.Stroke(draw.WeightThin, draw.Pt{X: padLeft - tickLen, Y: y}, draw.Pt{X: padLeft, Y: y})
		p.Lines = append(p.Lines, draw.Line{Pts: []draw.Pt{{X: padLeft, Y: y}, {X: right, Y: y}}, Weight: 0.1, Shade: 0.8})
		p.Texts = append(p.Texts, draw.Text{At: draw.Pt{X: padLeft - tickLen - 0.8, Y: y + 0.36*size}, S: t.text, Size: size, Align: draw.Right})
	}
	p.Texts = append(p.Texts, draw.Text{At: draw.Pt{X: size + 0.6, Y: (padTop + bottom) / 2}, S: unitZ, Size: size, Align: draw.Centre, Angle: 90})
	p.Rect(draw.WeightThin, padLeft, padTop, right-padLeft, bottom-padTop)
}

// marks draws the mean line, the band of Ra and the lines of Rz with their
// values on the right.
func (p *Plot) marks(ra, rz string, o *ProfileOptions) {
	right := p.right()
	up, down := p.y(p.RaUM), p.y(-p.RaUM)
	p.FillRect(0.87, padLeft, up, right-padLeft, down-up)
	p.Lines = append(p.Lines, draw.Line{
		Pts:    []draw.Pt{{X: padLeft, Y: p.MeanY}, {X: right + 2, Y: p.MeanY}},
		Weight: 0.18, Dash: []float64{5, 1, 0.6, 1},
	})
	top, low := p.y(p.PeakUM), p.y(p.PeakUM-p.RzUM)
	const at = 4.0 // of the arrows, right of the plot
	for _, y := range []float64{top, low} {
		p.Lines = append(p.Lines, draw.Line{Pts: []draw.Pt{{X: padLeft, Y: y}, {X: right + at + 1, Y: y}}, Weight: 0.18, Dash: []float64{2, 1}})
	}
	if low-top > 6 {
		a, b := draw.Pt{X: right + at, Y: top}, draw.Pt{X: right + at, Y: low}
		p.Stroke(draw.WeightThin, a, b)
		p.Arrow(a, b)
		p.Arrow(b, a)
	}
	// Ra beside its band, Rz beside its upper line, clear of each other.
	const lead = 1.35 * draw.TextSize
	yRa := p.MeanY + 0.36*draw.TextSize
	yRz := min(top+0.36*draw.TextSize+lead/2, yRa-lead)
	for _, t := range []struct {
		y    float64
		name string
		um   float64
	}{{yRz, rz, p.RzUM}, {yRa, ra, p.RaUM}} {
		p.Texts = append(p.Texts, draw.Text{At: draw.Pt{X: right + at + 1.6, Y: t.y}, S: t.name + " " + o.Display.Height(t.um), Size: draw.TextSize})
	}
}

// trace draws the heights. Where many fall on one width of the pen, the lowest
// and the highest are kept, in their order.
func (p *Plot) trace(z []float64, mean, dx float64) {
	const pen = 0.08
	x := func(i int) float64 { return p.X0 + float64(i)*dx*p.PerMM }
	var pts []draw.Pt
	flush := func() {
		if len(pts) == 1 { // a single height between gaps
			pts = append(pts, draw.Pt{X: pts[0].X + pen, Y: pts[0].Y})
		}
		if len(pts) > 1 {
			p.Lines = append(p.Lines, draw.Line{Pts: pts, Weight: 0.25})
		}
		pts = nil
	}
	put := func(i int) { pts = append(pts, draw.Pt{X: x(i), Y: p.y(z[i] - mean)}) }
	for i := 0; i < len(z); {
		if z[i] != z[i] {
			flush()
			i++
			continue
		}
		lo, hi, end := i, i, i
		for end < len(z) && z[end] == z[end] && (end == i || x(end)-x(i) < pen) {
			if z[end] < z[lo] {
				lo = end
			}
			if z[end] > z[hi] {
				hi = end
			}
			end++
		}
		put(min(lo, hi))
		if lo != hi {
			put(max(lo, hi))
		}
		i = end
	}
	flush()
}
