package proof

import (
	"fmt"
	"math"

	"fettle"
)

// firstCut puts what was measured into the proof's words.
func (w *cutting) firstCut(t *tool, m *meeting) *fettle.FirstCut {
	wide := func(b bite) float64 {
		if b.cells == 0 {
			return 0
		}
		return math.Min(b.side-b.left, t.cutter.DiameterMM)
	}
	f := &fettle.FirstCut{
		Tool: t.number, Line: int(m.line), AtMM: m.at,
		DepthMM: m.real.depth, WidthMM: wide(m.real),
	}
	f.NominalDepthMM, f.NominalWidthMM = f.DepthMM, f.WidthMM
	if w.ordered != nil {
		f.NominalDepthMM, f.NominalWidthMM = m.nominal.depth, wide(m.nominal)
	}
	f.ForceN = w.force(t, f, m)
	return f
}

// force is the mean cutting force of the teeth by Kienzle's law,
// Fc = kc1.1 · b · h^(1−mc), with the mean chip thickness
// h = fz · √(ae/D) of side milling and the depth as the chip's width. It is
// good to ±20 % where the shelf's numbers are (catalogue values after DIN/ISO
// 513), and says nothing of a worn edge.
func (w *cutting) force(t *tool, f *fettle.FirstCut, m *meeting) *fettle.Estimate {
	mat := w.Material
	if mat == nil || !(mat.KC11 > 0) || t.flutes() < 1 || !(m.rpm > 0) || !(m.feed > 0) || !(f.DepthMM > 0) || !(f.WidthMM > 0) {
		return nil
	}
	tooth := m.feed / (m.rpm * float64(t.flutes()))
	h := tooth * math.Sqrt(math.Min(1, f.WidthMM/t.cutter.DiameterMM))
	n := mat.KC11 * f.DepthMM * math.Pow(h, 1-mat.MC)
	e := fettle.Guess(n, 0.8*n, 1.2*n, "Kienzle with the shelf's kc1.1 for "+mat.Title+", one tooth in the cut")
	return &e
}

// sayFirst tells of a first cut that is heavy, or heavier than planned because
// of what the saw left.
func (w *cutting) sayFirst(t *tool) {
	f := t.first
	d := t.cutter.DiameterMM
	force := ""
	if f.ForceN != nil {
		force = fmt.Sprintf(", about %.0f N on a tooth", f.ForceN.Value)
	}
	more := f.DepthMM > f.NominalDepthMM+0.2 || f.WidthMM > f.NominalWidthMM+math.Max(0.2, 2*w.cell)
	heavy := f.DepthMM > d || t.cutter.Shape == fettle.Ball && f.DepthMM > d/2
	switch {
	case w.ordered != nil && more:
		nominal := "would not touch it"
		if f.NominalDepthMM > 0 {
			nominal = fmt.Sprintf("would take %s deep and %s wide", w.sys.Length(f.NominalDepthMM), w.sys.Length(f.NominalWidthMM))
		}
		w.check(f.Line, "first cut", "face or side-mill the sawn edges first, or slow the first pass",
			"on the saw-cut blank the first cut of %s (line %d) is %s deep and %s wide%s; on the blank as ordered it %s",
			t.called(), f.Line, w.sys.Length(f.DepthMM), w.sys.Length(f.WidthMM), force, nominal)
	case heavy:
		w.check(f.Line, "first cut", "rough first, or take it in steps",
			"the first cut of %s (line %d) is %s deep and %s wide%s: deeper than such a cutter takes at once",
			t.called(), f.Line, w.sys.Length(f.DepthMM), w.sys.Length(f.WidthMM), force)
	}
}
