package price

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
)

// runs is how often a vessel is filled for how long.
type runs struct {
	loads int
	hours fettle.Estimate
}

// bottleneck is what the lot waits for longest: a person, the mill, or a vessel, each
// taken alone. Equal ones go by that order.
func (s *sheet) bottleneck() fettle.Bottleneck {
	day := s.Rates.Day()
	var person, mill fettle.Estimate
	for _, l := range s.lines {
		person = person.Plus(l.AttendedMin.Scale(1.0 / 60))
		mill = mill.Plus(l.mill.Scale(1.0 / 60))
	}
	person.Basis, mill.Basis = s.Rates.Basis, s.Rates.Basis
	type limit struct {
		fettle.Bottleneck
		how string
	}
	all := []limit{
		{fettle.Bottleneck{Kind: "person", Name: "a person", BusyH: person, Days: person.Value / day}, fmt.Sprintf("%s h at %s h a day", tenths(person.Value), num(day))},
		{fettle.Bottleneck{Kind: "mill", Name: s.Mill.Name, BusyH: mill, Days: mill.Value / day}, fmt.Sprintf("%s h at %s h a day, for it is not left alone at night", tenths(mill.Value), num(day))},
	}
	for _, v := range s.Vessels {
		var charges []runs
		busy := fettle.Estimate{}
		for _, st := range s.Route {
			if c := st.Charge; c != nil && c.Vessel == v.Name {
				charges = append(charges, runs{c.Loads, c.Hours})
				busy = busy.Plus(c.Hours.Scale(float64(c.Loads)))
			}
		}
		if len(charges) == 0 {
			continue
		}
		days := vesselDays(charges, max(1, v.Count), day, s.nights())
		all = append(all, limit{fettle.Bottleneck{Kind: "vessel", Name: v.Name, BusyH: busy, Days: days}, s.loadsSay(charges, max(1, v.Count), day)})
	}
	worst := 0
	for i, l := range all {
		if l.Days > all[worst].Days {
			worst = i
		}
	}
	out, how := all[worst].Bottleneck, all[worst].how
	all = slices.Delete(all, worst, worst+1)
	slices.SortStableFunc(all, func(a, b limit) int { return cmp.Compare(b.Days, a.Days) })
	says := fmt.Sprintf("%s: %s: %s", the(out.Kind, out.Name), how, inDays(out.Days))
	for i, l := range all {
		if i == 0 {
			says += fmt.Sprintf("; %s needs %s", the(l.Kind, l.Name), tenths(l.Days))
		} else {
			says += fmt.Sprintf(", %s %s", the(l.Kind, l.Name), tenths(l.Days))
		}
	}
	out.Says = says
	return out
}

// nights tells whether a vessel may run on when nobody is in: where the calendar says
// so, or where there is none.
func (j Job) nights() bool { return len(j.Rates.Calendar.Week) == 0 || j.Rates.Calendar.Nights }

// vesselDays is how many working days a vessel takes for its charges, one load after
// the other. By night nothing is filled, but what was begun by day runs on, and a load
// that ends at night waits for the morning; where nothing may run at night its hours
// are all by day. count vessels share the loads.
func vesselDays(charges []runs, count int, day float64, nights bool) float64 {
	if !nights {
		sum := 0.0
		for _, c := range charges {
			sum += float64(each(c.loads, count)) * c.hours.Value
		}
		return sum / day
	}
	const eps = 1e-9
	at := 0.0 // hours by the clock since the first morning
	end := 0.0
	for _, c := range charges {
		for range each(c.loads, count) {
			at += c.hours.Value
			end = at
			if of := math.Mod(at, 24); of > day-eps { // filled again in the morning
				at = 24 * (math.Floor(at/24) + 1)
			}
		}
	}
	return math.Floor(end/24) + math.Min(1, math.Mod(end, 24)/day)
}

// each is how many loads one of count vessels has.
func each(loads, count int) int { return (loads + count - 1) / count }

// loadsSay is "12 loads of 14 h, a night each".
func (s *sheet) loadsSay(charges []runs, count int, day float64) string {
	var parts []string
	for _, c := range charges {
		loads := "one load"
		if c.loads != 1 {
			loads = fmt.Sprintf("%d loads", c.loads)
		}
		says := loads + " of " + fettle.Minutes(c.hours.Value*60)
		switch {
		case c.hours.Value <= day:
		case !s.nights():
			says += ", by day only"
		case c.hours.Value <= 24 && c.loads == 1:
			says += ", a night"
		case c.hours.Value <= 24:
			says += ", a night each"
		default:
			says += ", on through the nights"
		}
		parts = append(parts, says)
	}
	out := strings.Join(parts, " and ")
	if count > 1 {
		out += fmt.Sprintf(", in %d of them", count)
	}
	return out
}

func the(kind, name string) string {
	switch kind {
	case "person":
		return name
	case "mill":
		return "the mill"
	}
	return "the " + name
}

// tenths writes hours and days to a tenth.
func tenths(v float64) string { return num(math.Round(v*10) / 10) }

func inDays(d float64) string {
	if s := tenths(d); s != "1" {
		return s + " days"
	}
	return "1 day"
}
