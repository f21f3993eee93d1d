package nc

import (
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
)

// surfacing writes a zig-zag of short blocks over a wavy face of 60 × 40 mm,
// as finishing programs have them.
func surfacing(blocks int) string {
	var b strings.Builder
	b.Grow(40 * blocks)
	b.WriteString("%\nO1001 (FACE)\nG21 G90 G17 G40 G80\nT5 M6\nG54 S12000 M3\nG0 X0. Y0.\nG43 H5 Z20. M8\nG1 Z2. F1500\n")
	rows := int(math.Sqrt(float64(blocks) * 40 / 60))
	n := 0
	for row := 0; n < blocks; row++ {
		per := blocks / rows
		for i := 0; i <= per && n < blocks; i++ {
			f := float64(i) / float64(per)
			if row%2 == 1 {
				f = 1 - f
			}
			x, y := 60*f, 40*float64(row)/float64(rows)
			fmt.Fprintf(&b, "N%d X%.3f Y%.3f Z%.3f\n", n+10, x, y, math.Sin(x/7)*math.Cos(y/9)-1)
			n++
		}
	}
	b.WriteString("G0 Z50.\nM5\nM30\n%\n")
	return b.String()
}

// BenchmarkRead reads a million blocks and reports what is held beside the
// moves themselves.
func BenchmarkRead(b *testing.B) {
	for _, n := range []int{10_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			data := []byte(surfacing(n))
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			var p *Program
			for b.Loop() {
				var err error
				if p, err = Read(data); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(p.Moves)), "moves")
			var before, after runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&before)
			q, err := Read(data)
			if err != nil {
				b.Fatal(err)
			}
			runtime.ReadMemStats(&after)
			b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(len(q.Moves)), "B/move")
		})
	}
}

// BenchmarkFlatten splits half circles into chords of a micrometre.
func BenchmarkFlatten(b *testing.B) {
	p, err := Read([]byte("G21 G90 G17\nG0 X0. Y0. Z0.\nG3 X40. Y0. I20. J0. F500\nM30\n"))
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	for b.Loop() {
		n = 0
		p.Flatten(&p.Moves[1], 0.001, func(_, _ [3]float64) { n++ })
	}
	b.ReportMetric(float64(n), "chords")
}
