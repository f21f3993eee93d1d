package price

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
)

// finishLines are the lines that are finishing and nothing else.
var finishLines = []string{
	fettle.LinePass, fettle.LineHand, fettle.LineBarrel, fettle.LineInspect,
	fettle.LinePaper, fettle.LineMediaWear, fettle.LineCompound, fettle.LinePolish,
}

// half is the part of a price past which finishing makes it.
const half = 0.5

// dearest is the step that costs most of a price that finishing makes; nil where it
// does not. one is the same job as a lot of one, which samples are made as.
func dearest(j, one Job, p fettle.Price) *fettle.Dearest {
	if p.Cost.Value.Minor <= 0 {
		return nil
	}
	r := j.Rates
	again := 1.0 / (1 - r.ScrapShare) // lost pieces went the same way
	var sum fettle.Estimate
	add := func(lines []fettle.PriceLine, times func(key string) float64) {
		for _, l := range lines {
			if slices.Contains(finishLines, l.Key) {
				sum = sum.Plus(estimate(l.Cost).Scale(times(l.Key)))
			}
		}
	}
	add(p.Lines, func(key string) float64 {
		if slices.Contains(lostLines, key) {
			return again
		}
		return 1
	})
	add(p.Ladder[0].Lines, func(key string) float64 {
		if slices.Contains(lostLines, key) {
			return r.SampleLoops
		}
		return 0
	})
	finish := sum.Value / p.Cost.Value.Major()
	if finish <= half {
		return nil
	}
	var keys []string
	money := map[string]fettle.Estimate{}
	names := map[string]string{}
	sums := func(j Job, times, inspected float64) {
		for _, st := range j.Route {
			if _, ok := names[st.Key]; !ok {
				keys, names[st.Key] = append(keys, st.Key), st.Name
			}
			k := times
			if st.Kind == fettle.StepInspect {
				k = inspected
			}
			money[st.Key] = money[st.Key].Plus(stepMoney(st, r, j.rateOf(st)).Scale(k))
		}
		for _, w := range j.Wear {
			money[w.Step] = money[w.Step].Plus(w.Cost().Scale(times))
		}
	}
	sums(j, again, 1)
	sums(one, r.SampleLoops, 0)
	d := &fettle.Dearest{FinishShare: finish}
	var most fettle.Estimate
	for _, k := range keys {
		if money[k].Value > most.Value {
			d.Step, most = k, money[k]
		}
	}
	if d.Step == "" {
		return nil
	}
	each := most.Scale(1 / (1 - r.MarginShare) / float64(j.Lot))
	d.Each = fettle.CostOf(each.Because(r.Basis), r.Currency)
	d.Share = most.Value / p.Cost.Value.Major()
	d.Says = fmt.Sprintf("finishing makes %.0f %% of the price, and the step of it that costs most is %s: %s of the %s a piece, %.0f %%",
		math.Round(100*finish), lowerFirst(names[d.Step]), d.Each.Value, p.Each.Value, math.Round(100*d.Share))
	return d
}

func lowerFirst(s string) string {
	if s == "" || len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
