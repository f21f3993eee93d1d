package words

import (
	"strings"

	"fettle"
)

// Learned says what a log has taught: each number before and after, by process,
// what was refused, and what to read next.
func (l Voice) Learned(d fettle.Learned, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	readings := v.readings(d.Readings)
	p.text("", v.Count(d.Runs, "One run with %[2]s.", "%d runs with %s.", readings))
	last := ""
	for _, q := range d.Parameters {
		if at := v.where(q); at != last {
			p.title(at)
			last = at
		}
		p.say("  "+pad(q.Name, 18)+" ", "%s, before %s; n = %d: %s.", v.interval(q.Value, q.Unit), v.interval(q.Prior, q.Unit), q.N, plain(q.Says))
	}
	if len(d.Parameters) == 0 {
		p.say("", "Nothing in it bears on a number that is planned with.")
	} else {
		p.head("How to read this")
		p.say("  ", "Each number stands as its median with its 10 and 90 %% bounds, with the log and before it; n counts the readings that bear on it of themselves. Where n is 0 its kin have moved it.")
	}
	section(p, "Refused", d.Refused, v.Sentence)
	section(p, "What to read next", d.Next, func(n fettle.NextReading) string {
		if n.Media != "" {
			return v.Stop(v.Say("%s: %s", n.Media, n.Says))
		}
		return v.Stop(n.Says)
	})
	section(p, "Mind", d.Warnings, v.Sentence)
	return p.String()
}

// readings counts what was measured.
func (v voice) readings(n int) string {
	if n == 0 {
		return v.Say("no readings")
	}
	return v.Count(n, "1 reading", "%d readings")
}

// where is what a parameter belongs to.
func (v voice) where(q fettle.Parameter) string {
	var s []string
	if q.Media == "" {
		s = append(s, v.Say("By hand"))
	} else {
		s = append(s, q.Media)
	}
	if q.Vessel != "" {
		s = append(s, v.Say("in the %s", q.Vessel))
	}
	if q.Class != "" {
		s = append(s, v.Say("on %s", v.metal(q.Class)))
	}
	switch q.Tone {
	case fettle.ToneBright:
		s = append(s, v.Say("run brighter"))
	case fettle.ToneDark:
		s = append(s, v.Say("run darker"))
	}
	return strings.Join(s, " ")
}

// interval is "0.35 µm (0.28–0.44)".
func (v voice) interval(e fettle.Estimate, unit string) string {
	k := 1.0
	switch {
	case v.System == fettle.Inch && strings.HasPrefix(unit, "µm"):
		k, unit = 1/0.0254, strings.Replace(unit, "µm", "µin", 1)
	case unit == "times the usual minutes":
		unit = "×"
	case unit == "share of pieces":
		k, unit = 100, "%"
	case unit == "1":
		unit = ""
	}
	mid := strings.TrimSpace(two(k*e.Value) + " " + unit)
	if e.Low == e.High {
		return mid
	}
	return mid + " (" + two(k*e.Low) + "–" + two(k*e.High) + ")"
}
