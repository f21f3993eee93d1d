package sampling

import (
	"fmt"
	"math"
	"strconv"

	"fettle"
	"fettle/internal/trade/learn"

	"gonum.org/v1/gonum/stat/distuv"
)

// asReadings is how many readings the natural scatter counts for beside a sample's own.
const asReadings = 3.0

// confidence is the share of further readings that a limit shall hold.
const confidence = 0.95

// grade1 is the Ra of grade N1 in µm; each grade doubles it (ISO 1302:1992, annex).
const grade1 = 0.025

func gradeOf(ra float64) float64 { return 1 + math.Log2(ra/grade1) }

// limiter makes the limits of one acceptance.
type limiter struct {
	plan     *fettle.Plan
	sys      fettle.System
	readings []fettle.Reading
	notes    []string
}

func (l *limiter) note(format string, args ...any) {
	l.notes = append(l.notes, fmt.Sprintf(format, args...))
}

const onFace = "face"

// last are the values read last on the face, of one kind, and the root mean square of
// the spreads that were stated with them, 0 unless all were.
func last(rs []fettle.Reading, kind fettle.ReadingKind) (values []float64, stated float64) {
	at := math.Inf(-1)
	for _, r := range rs {
		if r.Kind == kind && (kind == fettle.ReadJammed || face(r.Place)) {
			at = max(at, r.AtH)
		}
	}
	n := 0.0
	for _, r := range rs {
		if r.Kind != kind || r.AtH != at || kind != fettle.ReadJammed && !face(r.Place) {
			continue
		}
		values = append(values, r.Value)
		if r.Spread > 0 {
			stated += r.Spread * r.Spread
			n++
		}
	}
	if n == 0 || int(n) < len(values) {
		return values, 0
	}
	return values, math.Sqrt(stated / n)
}

func face(place string) bool { return place == "" || place == onFace }

// interval is the half width, in the logarithm, within which one further reading of n
// with the standard deviation own is held; see [Accept].
func interval(n int, own, sigma float64) float64 {
	root := math.Sqrt(1 + 1/float64(n))
	if n < 3 {
		return normal95 * sigma * root
	}
	nu := asReadings + float64(n-1)
	s := math.Sqrt((asReadings*sigma*sigma + float64(n-1)*own*own) / nu)
	return student(nu) * s * root
}

var normal95 = distuv.UnitNormal.Quantile((1 + confidence) / 2)

// student is the two-sided deviate of Student's distribution.
func student(nu float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile((1 + confidence) / 2)
}

// meanSD are the mean and the standard deviation (n − 1) of values.
func meanSD(vs []float64) (mean, sd float64) {
	for _, v := range vs {
		mean += v
	}
	mean /= float64(len(vs))
	for _, v := range vs {
		sd += (v - mean) * (v - mean)
	}
	if len(vs) > 1 {
		sd = math.Sqrt(sd / float64(len(vs)-1))
	}
	return mean, sd
}

// limits are those of all kinds, in a fixed order.
func (l *limiter) limits() []fettle.AcceptLimit {
	var out []fettle.AcceptLimit
	raMean := 0.0
	for _, k := range []fettle.ReadingKind{fettle.ReadRa, fettle.ReadRz, fettle.ReadSq, fettle.ReadGloss} {
		if a, ok := l.rough(k, raMean); ok {
			if k == fettle.ReadRa && a.N > 0 {
				raMean = a.Sample
			}
			out = append(out, a)
		}
	}
	if a, ok := l.grade(); ok {
		out = append(out, a)
	}
	if a, ok := l.marks(); ok {
		out = append(out, a)
	}
	if a, ok := l.jammed(); ok {
		out = append(out, a)
	}
	for _, k := range []fettle.ReadingKind{fettle.ReadGrams, fettle.ReadMicron} {
		if a, ok := l.told(k); ok {
			out = append(out, a)
		}
	}
	if l.readings != nil && raMean == 0 {
		l.note("Ra was not read on the sample: its limits are the look's. Read the sample's face before the lot is begun.")
	}
	for i := range out {
		out[i].Says = l.says(out[i])
	}
	return out
}

// drawing is the drawing's limit on a kind, 0 for none.
func (l *limiter) drawing(k fettle.ReadingKind) float64 {
	switch k {
	case fettle.ReadRa:
		return l.plan.Brief.RaMaxUM
	case fettle.ReadRz:
		return l.plan.Brief.RzMaxUM
	}
	return 0
}

// band is the look's band for a kind of roughness. Looks are bands of Ra; for another
// number they are scaled by what the sample read of both, since one texture keeps its
// shape.
func (l *limiter) band(k fettle.ReadingKind, mean, raMean float64) (lo, hi float64) {
	b := l.plan.Look.RaUM
	switch {
	case k == fettle.ReadRa:
		return b.Low, b.High
	case (k == fettle.ReadRz || k == fettle.ReadSq) && mean > 0 && raMean > 0:
		return b.Low * mean / raMean, b.High * mean / raMean
	}
	return 0, 0
}

// rough is the limit of a roughness or of gloss. Without a reading only Ra, and Rz where
// the drawing has one, get any.
func (l *limiter) rough(k fettle.ReadingKind, raMean float64) (fettle.AcceptLimit, bool) {
	vs, stated := last(l.readings, k)
	a := fettle.AcceptLimit{Kind: k, Place: onFace, Unit: units[k], N: len(vs)}
	most := l.drawing(k)
	if a.N == 0 {
		lo, hi := l.band(k, 0, 0)
		switch {
		case hi > 0:
			a.Low, a.High, a.Basis = positive(lo), positive(hi), "the look's band"
		case most == 0:
			return a, false
		}
		if most > 0 && (hi == 0 || most < hi) {
			a.High, a.Basis = positive(most), join(a.Basis, "the drawing")
			if lo >= most {
				a.Low = nil
			}
		}
		return a, true
	}
	logs := make([]float64, len(vs))
	for i, v := range vs {
		logs[i] = math.Log(v)
	}
	m, own := meanSD(logs)
	a.Sample = math.Exp(m)
	if k == fettle.ReadGloss {
		a.Sample, _ = meanSD(vs)
	}
	sigma := learn.AtLimit(k) // a sample is read at the end of its charge
	a.Basis = "natural scatter of such readings (starting guess)"
	if stated > 0 {
		sigma, a.Basis = stated, "the spread stated with the readings"
	}
	if a.N >= 3 {
		a.Basis = fmt.Sprintf("the sample's own %d readings and %s, 95 of 100 further ones", a.N, a.Basis)
	} else {
		a.Basis += ", 95 of 100 further ones"
	}
	h := interval(a.N, own, sigma)
	lo, hi := round2(k, a.Sample*math.Exp(-h), l.sys), round2(k, a.Sample*math.Exp(h), l.sys)
	if bl, bh := l.band(k, a.Sample, raMean); bh > 0 {
		if a.Sample >= bl && a.Sample <= bh {
			if lo < bl || hi > bh {
				a.Basis += ", cut off at the look's band"
			}
			lo, hi = max(lo, bl), min(hi, bh)
		} else if k == fettle.ReadRa {
			l.note("The sample reads Ra %s, outside the look's band of %s to %s: what was signed off counts, the name of the look does not.",
				l.value(k, a.Sample), l.value(k, bl), l.value(k, bh))
		}
	}
	if most > 0 {
		if a.Sample > most {
			l.note("The sample reads %s %s, more than the drawing's %s: the drawing wins, so a piece like the sample would be refused. Ask the customer which of them counts.",
				names[k], l.value(k, a.Sample), l.value(k, most))
		}
		if hi > most {
			hi, a.Basis = most, a.Basis+", cut off at the drawing's limit"
		}
		if lo >= hi {
			lo = 0
		}
	}
	a.Low, a.High = positive(lo), positive(hi)
	return a, true
}

// grade is the limit on a comparison plate: one grade either way.
func (l *limiter) grade() (fettle.AcceptLimit, bool) {
	vs, _ := last(l.readings, fettle.ReadGrade)
	if len(vs) == 0 {
		return fettle.AcceptLimit{}, false
	}
	a := fettle.AcceptLimit{Kind: fettle.ReadGrade, Place: onFace, N: len(vs), Basis: "one grade either way, as far as an eye tells"}
	a.Sample, _ = meanSD(vs)
	mid := math.Round(a.Sample)
	lo, hi := max(1, mid-1), min(12, mid+1)
	// A grade is every Ra within half a grade of its own.
	if b := l.plan.Look.RaUM; b.Low > 0 && b.High > b.Low {
		bl, bh := math.Ceil(gradeOf(b.Low)-0.5), math.Floor(gradeOf(b.High)+0.5)
		if mid >= bl && mid <= bh {
			if lo < bl || hi > bh {
				a.Basis += ", cut off at the look's band"
			}
			lo, hi = max(lo, bl), min(hi, bh)
		}
	}
	if most := l.plan.Brief.RaMaxUM; most > 0 {
		g := max(1, math.Floor(gradeOf(most)+1e-9))
		if hi > g {
			hi, a.Basis = g, a.Basis+", cut off at the drawing's limit"
			lo = min(lo, hi)
		}
	}
	a.Low, a.High = &lo, &hi
	return a, true
}

// marks: older marks must be gone, unless the look wants the cutter's own or the
// sample was signed off with them.
func (l *limiter) marks() (fettle.AcceptLimit, bool) {
	vs, _ := last(l.readings, fettle.ReadMarkGone)
	a := fettle.AcceptLimit{Kind: fettle.ReadMarkGone, Place: onFace, N: len(vs), Basis: "the look"}
	one := 1.0
	if len(vs) == 0 {
		a.Low = &one
		return a, !l.plan.Look.CuspsMayShow
	}
	a.Sample, _ = meanSD(vs)
	a.Basis = "the sample"
	if a.Sample < 1 {
		l.note("A mark was still there on the sample when it was signed off: a piece is held to be no worse than the sample beside it.")
		return a, true
	}
	a.Low = &one
	return a, true
}

// jammed: no piece leaves with media in it.
func (l *limiter) jammed() (fettle.AcceptLimit, bool) {
	vs, _ := last(l.readings, fettle.ReadJammed)
	if len(vs) == 0 && !tumbled(l.plan) {
		return fettle.AcceptLimit{}, false
	}
	none := 0.0
	a := fettle.AcceptLimit{Kind: fettle.ReadJammed, Unit: units[fettle.ReadJammed], N: len(vs), High: &none, Basis: "no piece leaves with media in it"}
	for _, v := range vs {
		a.Sample += v
	}
	return a, true
}

func tumbled(p *fettle.Plan) bool {
	for _, s := range p.Route {
		if s.Kind == fettle.StepTumble {
			return true
		}
	}
	return len(p.Charges) > 0
}

// told is a reading that tells how the sample was made; the piece's size is what is
// held.
func (l *limiter) told(k fettle.ReadingKind) (fettle.AcceptLimit, bool) {
	vs, _ := last(l.readings, k)
	if len(vs) == 0 {
		return fettle.AcceptLimit{}, false
	}
	a := fettle.AcceptLimit{Kind: k, Place: onFace, Unit: units[k], N: len(vs), Basis: "the sample; the size is what is held"}
	a.Sample, _ = meanSD(vs)
	return a, true
}

func positive(v float64) *float64 {
	if !(v > 0) {
		return nil
	}
	return &v
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + " and " + b
}

func count(n int) string { return strconv.Itoa(n) }
