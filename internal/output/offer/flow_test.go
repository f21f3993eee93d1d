package offer

import (
	"strings"
	"testing"

	"fettle/internal/output/paper"

	"pgregory.net/rapid"
)

// Lines are no wider than asked, lose nothing and are full: the first word of a line
// did not fit the line before.
func TestWrap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		says := strings.Join(rapid.SliceOfN(rapid.StringMatching(`[a-zäµ0-9.,-]{1,40}`), 0, 30).Draw(t, "words"), " ")
		s := style{size: rapid.Float64Range(1, 8).Draw(t, "size"), bold: rapid.Bool().Draw(t, "bold")}
		w := rapid.Float64Range(12, 180).Draw(t, "width")
		lines := wrap(says, w, s)
		for i, l := range lines {
			if got := paper.Metric(l, s.size, s.bold); got > w+1e-9 {
				t.Fatalf("%q is %.2f mm wide, of %.2f", l, got, w)
			}
			if word, _, _ := strings.Cut(l, " "); i > 0 {
				if paper.Metric(lines[i-1]+word, s.size, s.bold) <= w && paper.Metric(lines[i-1]+" "+word, s.size, s.bold) <= w {
					t.Fatalf("%q had room after %q", word, lines[i-1])
				}
			}
		}
		if squeeze(strings.Join(lines, "")) != squeeze(paper.Clean(says)) {
			t.Fatalf("%q became %q", says, lines)
		}
	})
}
