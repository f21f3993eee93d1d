package draw

import "fmt"

// fewKey is how many levels the table lists before it leaves some out.
const fewKey = 7

const keyLead = 1.32 * TextSize

// keyRow is one line of the key: a symbol or a depth, and what it is.
type keyRow struct {
	left, says, right string
	bold              bool
	symbol            func(d *Drawing, x, y float64) // around (x, y)
}

// keyRows are the table of levels and what the symbols mean.
func (j *jawPlan) keyRows() []keyRow {
	rows := []keyRow{{left: "Depth", says: "what is open", right: "area", bold: true}}
	level := func(i int) keyRow {
		l := j.p.Levels[i]
		return keyRow{left: j.size(l.DepthMM), says: l.Says, right: j.opt.Display.Area(l.AreaMM2)}
	}
	n := len(j.p.Levels)
	for i := range j.p.Levels {
		if n > fewKey && i >= 2 && i < n-2 {
			if i == 2 {
				rows = append(rows, keyRow{left: "…", says: fmt.Sprintf("%d more between", n-4)})
			}
			continue
		}
		rows = append(rows, level(i))
	}
	if !j.p.Stepped {
		rows = append(rows, keyRow{left: "!", says: "curved floor: cut it from the STL", bold: true})
	}
	if j.short {
		return rows
	}
	rows = append(rows, keyRow{})
	cutter := "the pocket, cut with " + j.p.Cutter + ", Ø " + j.size(j.p.CutterMM)
	rows = append(rows, keyRow{symbol: func(d *Drawing, x, y float64) { d.Stroke(0.7, Pt{x - 4, y}, Pt{x + 4, y}) }, says: cutter})
	if j.p.Stop.Towards != [2]float64{} && !j.saysPush() {
		rows = append(rows, keyRow{symbol: func(d *Drawing, x, y float64) {
			d.Stroke(1.2, Pt{x - 4, y}, Pt{x, y})
			d.Fills = append(d.Fills, Fill{Pts: []Pt{{x + 4, y}, {x, y - 1.5}, {x, y + 1.5}}})
		}, says: "push the part here"})
	}
	if len(j.p.Reliefs) > 0 {
		rows = append(rows, keyRow{symbol: func(d *Drawing, x, y float64) { relief(d, Pt{x, y}, 1.2) },
			says: fmt.Sprintf("corner relief, %d ×, Ø %s", len(j.p.Reliefs), j.size(2*j.p.Reliefs[0].RadiusMM))})
	}
	rows = append(rows, keyRow{symbol: func(d *Drawing, x, y float64) { bearingMark(d, Pt{x, y}) }, says: "middle of what a jaw bears on"})
	if len(j.notes) > 0 {
		rows = append(rows, keyRow{symbol: func(d *Drawing, x, y float64) {
			d.FillRect(shadeOlder, x-4, y-1.4, 8, 2.8)
			d.Lines = append(d.Lines, Line{Pts: []Pt{{x - 4, y - 1.4}, {x + 4, y - 1.4}, {x + 4, y + 1.4}, {x - 4, y + 1.4}}, Weight: WeightEdge, Dash: dashOlder, Closed: true})
		}, says: "cut before"})
	}
	dashed := func(dash []float64) func(d *Drawing, x, y float64) {
		return func(d *Drawing, x, y float64) {
			d.Lines = append(d.Lines, Line{Pts: []Pt{{x - 4.5, y}, {x + 4.5, y}}, Weight: WeightThin, Dash: dash})
		}
	}
	if len(j.pair.Holes) > 0 {
		rows = append(rows, keyRow{symbol: dashed(dashHidden), says: j.holesSay()})
	}
	return append(rows, keyRow{symbol: dashed(dashPhantom), says: "the pocket's outline over the gap"})
}

// Columns of the key: where the words begin, and how wide they may be.
const (
	keyIn   = 15.0
	keySays = 62.0
)

// keySize is the room the key takes.
func (j *jawPlan) keySize() (w, h float64) {
	says, right := 0.0, 0.0
	rows := j.keyRows()
	for _, r := range rows {
		n := j.opt.Metric(clipTo(r.says, keySays, j.opt.Metric), TextSize, r.bold)
		if r.right != "" {
			right = max(right, j.opt.Metric(r.right, TextSize, r.bold)+3)
			n = max(n, 0)
		}
		says = max(says, n)
	}
	return keyIn + says + right, keyLead * float64(len(rows))
}

// key draws it.
func (j *jawPlan) key() {
	w, _ := j.keySize()
	y := j.keyY
	table := true
	for i, r := range j.keyRows() {
		mid := y + keyLead/2
		base := mid + 0.36*TextSize
		if r.says == "" && r.left == "" && r.symbol == nil {
			table = false
			y += keyLead
			continue
		}
		put := func(x float64, s string, a Align) {
			if s != "" {
				j.out.Texts = append(j.out.Texts, Text{At: Pt{x, base}, S: s, Size: TextSize, Bold: r.bold, Align: a})
			}
		}
		if r.symbol != nil {
			r.symbol(j.out, j.keyX+5, mid)
		} else {
			put(j.keyX+keyIn-3, r.left, Right)
		}
		put(j.keyX+keyIn, clipTo(r.says, keySays, j.opt.Metric), Left)
		put(j.keyX+w, r.right, Right)
		if table {
			weight := WeightThin
			if i == 0 {
				weight = WeightEdge
			}
			j.out.Stroke(weight, Pt{j.keyX, y + keyLead}, Pt{j.keyX + w, y + keyLead})
		}
		y += keyLead
	}
}
