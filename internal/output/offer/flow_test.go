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
		// Where words begin that a line can hold, counted without spaces; one that is cut
		// begins on a line of its own.
		whole := map[int]string{}
		at := 0
		for _, word := range strings.Fields(paper.Clean(says)) {
			if paper.Metric(word, s.size, s.bold) <= w {
				whole[at] = word
			}
			at += len(word)
		}
		at = 0
		for i, l := range lines {
			if got := paper.Metric(l, s.size, s.bold); got > w+1e-9 {
				t.Fatalf("%q is %.2f mm wide, of %.2f", l, got, w)
			}
			if word, ok := whole[at]; ok && i > 0 && paper.Metric(lines[i-1]+" "+word, s.size, s.bold) <= w {
				t.Fatalf("%q had room after %q", word, lines[i-1])
			}
			at += len(squeeze(l))
		}
		if squeeze(strings.Join(lines, "")) != squeeze(paper.Clean(says)) {
			t.Fatalf("%q became %q", says, lines)
		}
	})
}
