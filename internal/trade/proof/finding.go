package proof

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
)

// add records a finding.
func (j *job) add(sev fettle.Severity, line int, kind, try, format string, args ...any) {
	says := fmt.Sprintf(format, args...)
	j.found = append(j.found, fettle.Finding{Severity: sev, Line: line, Kind: kind, Says: strings.TrimRight(says, ". "), Try: try})
}

func (j *job) wrong(line int, kind, try, format string, args ...any) {
	j.add(fettle.Wrong, line, kind, try, format, args...)
}

func (j *job) check(line int, kind, try, format string, args ...any) {
	j.add(fettle.Check, line, kind, try, format, args...)
}

func (j *job) note(line int, kind, try, format string, args ...any) {
	j.add(fettle.Note, line, kind, try, format, args...)
}

// finish puts the findings in order: worst first, then as they come in the
// program.
func (j *job) finish() {
	rank := map[fettle.Severity]int{fettle.Wrong: 0, fettle.Check: 1, fettle.Note: 2}
	slices.SortStableFunc(j.found, func(a, b fettle.Finding) int {
		if d := rank[a.Severity] - rank[b.Severity]; d != 0 {
			return d
		}
		return a.Line - b.Line
	})
	j.out.Findings = j.found
	if j.out.Findings == nil {
		j.out.Findings = []fettle.Finding{}
	}
}

// once counts how often something happens and remembers where first.
type once struct {
	line, n int
	worst   float64 // of a measure that goes with it
	at      int     // line of the worst
}

func (o *once) see(line int32, measure float64) {
	if o.n == 0 {
		o.line, o.worst, o.at = int(line), measure, int(line)
	} else if measure > o.worst {
		o.worst, o.at = measure, int(line)
	}
	o.n++
}

// where says where it happens: "line 14" or "line 14 and 3 more places".
func (o *once) where() string {
	switch o.n {
	case 1:
		return fmt.Sprintf("line %d", o.line)
	case 2:
		return fmt.Sprintf("line %d and one more place", o.line)
	}
	return fmt.Sprintf("line %d and %d more places", o.line, o.n-1)
}

// listed says "T1", "T1 and T2", "T1, T2 and T3".
func listed(words []string) string {
	switch len(words) {
	case 0:
		return "none"
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
