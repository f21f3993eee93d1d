package paper

import (
	"fettle"
	"fettle/internal/output/draw"
)

// finalSymbol is the symbol of what the finish asks of the show face; nil where
// nothing is asked.
func (t *traveler) finalSymbol() *draw.Symbol {
	p := t.plan
	s := &draw.Symbol{Removal: draw.MustRemove, Lay: t.lookLay()}
	ra, rz := p.Brief.RaMaxUM, p.Brief.RzMaxUM
	switch {
	case ra > 0 && rz > 0:
		s.First, s.Second = "Ra "+t.sys.Height(ra), "Rz "+t.sys.Height(rz)
	case ra > 0:
		s.First = "Ra " + t.sys.Height(ra)
	case rz > 0:
		s.First = "Rz " + t.sys.Height(rz)
	case given(p.Look.RaUM) && p.Look.RaUM.Low < p.Look.RaUM.High: // upper and lower limit
		s.First, s.Second = "U Ra "+t.sys.Height(p.Look.RaUM.High), "L Ra "+t.sys.Height(p.Look.RaUM.Low)
	case given(p.Look.RaUM):
		s.First = "Ra " + t.sys.Height(p.Look.RaUM.Value)
	default:
		return nil
	}
	return s
}

// lookLay is the lay that the look asks for, against the edge view, whose plane the
// part's long side lies in: along that side unless the last stroke goes across it, and
// many directions where none may be seen.
func (t *traveler) lookLay() draw.Lay {
	switch t.plan.Look.Lay {
	case fettle.LayOne:
		for i := len(t.plan.Route) - 1; i >= 0; i-- {
			if st := t.plan.Route[i]; st.Pass == nil && st.Rub == nil {
				continue
			}
			if l := t.stepLay(i); l == draw.LaySquare {
				return l
			}
			break
		}
		return draw.LayParallel
	case fettle.LayNone:
		return draw.LayMulti
	}
	return draw.LayNone
}

// stepSymbol is the texture that a step leaves, as a symbol without a range.
func (t *traveler) stepSymbol(i int) draw.Symbol {
	return draw.Symbol{Removal: draw.MustRemove, First: "Ra " + t.sys.Height(t.plan.Route[i].RaUM.Value), Lay: t.stepLay(i)}
}

// stepLay is the lay of what a step itself leaves; none where its direction is not
// known.
func (t *traveler) stepLay(i int) draw.Lay {
	st := t.plan.Route[i]
	switch {
	case st.Kind == fettle.StepTumble:
		return draw.LayMulti
	case st.Pass != nil && st.Pass.Crossed:
		return draw.LayCrossed
	case st.Pass != nil || st.Rub != nil:
		return t.layOf(strongest(st.Marks))
	}
	return draw.LayNone
}

// strongest is the mark of which most is left.
func strongest(marks []fettle.Mark) fettle.Mark {
	var best fettle.Mark
	for _, m := range marks {
		if finite(m.HeightUM.Value) && m.Left*m.HeightUM.Value > best.Left*best.HeightUM.Value {
			best = m
		}
	}
	return best
}

// layOf is the sign for the lay of a mark.
func (t *traveler) layOf(m fettle.Mark) draw.Lay {
	ax := t.axes()
	long := t.plan.Survey.SizeMM[ax[0]] > t.plan.Survey.SizeMM[ax[1]] // along the paper's X
	along := func(first bool) draw.Lay {
		if first {
			return draw.LayParallel
		}
		return draw.LaySquare
	}
	switch m.Lay {
	case "along the long side":
		return draw.LayParallel
	case "along the short side":
		return draw.LaySquare
	case "along X":
		return along(long)
	case "along Y":
		return along(!long)
	case "crossed":
		return draw.LayCrossed
	}
	return draw.LayNone
}
