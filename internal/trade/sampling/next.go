package sampling

// Lot is what came of one lot.
type Lot struct {
	// Severity that it was inspected under; empty for that of the question.
	Severity string
	Taken    bool
	// Again marks a lot that had been refused before; such do not count.
	Again bool
}

// Next is the inspection for the next lot, from the lots so far, oldest first, and the
// one of today: the standard's switching rules without reduced inspection (ISO
// 2859-1:1999, 9.3). Normal is tightened when two of five or fewer lots in a row were
// refused. Tightened goes back to normal when five in a row were taken, and is
// discontinued when five in all were refused since it began. From there only a person
// goes on.
func Next(history []Lot, current string) string {
	if current == "" {
		current = Normal
	}
	// Only lots since the present inspection began count.
	begun := len(history)
	for begun > 0 && (history[begun-1].Severity == "" || history[begun-1].Severity == current) {
		begun--
	}
	var first []Lot
	for _, l := range history[begun:] {
		if !l.Again {
			first = append(first, l)
		}
	}
	refused := func(ls []Lot) int {
		n := 0
		for _, l := range ls {
			if !l.Taken {
				n++
			}
		}
		return n
	}
	last := first[max(0, len(first)-5):]
	switch current {
	case Normal:
		if refused(last) >= 2 {
			return Tightened
		}
	case Tightened:
		if refused(first) >= 5 {
			return Discontinued
		}
		if len(last) == 5 && refused(last) == 0 {
			return Normal
		}
	}
	return current
}
