package paper

import (
	"regexp"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/tongue"
)

// say is a sentence in the language of the paper.
func (t *traveler) say(english string, args ...any) string { return t.tongue.Say(english, args...) }

// count is a sentence that turns with a number.
func (t *traveler) count(n int, one, many string, args ...any) string {
	return t.tongue.Count(n, one, many, args...)
}

// told is a sentence of the plan's: its lengths in the units of the paper, with a
// capital and a full stop.
func (t *traveler) told(s string) string { return sentence(t.reword(s)) }

// reword puts the lengths of a sentence of the plan's into the units of the paper.
func (t *traveler) reword(s string) string {
	if t.sys == fettle.Inch {
		s = sizes.ReplaceAllString(s, "$1 mm × $2 mm × $3 mm")
	}
	return t.sys.Reword(s)
}

// sizes finds three lengths with one unit, which are to be turned one by one.
var sizes = regexp.MustCompile(`(\d+(?:\.\d+)?) × (\d+(?:\.\d+)?) × (\d+(?:\.\d+)?) mm\b`)

// words are those that stand as data in a plan and are read by a person.
var words = map[string]tongue.Key{
	"stiff block": "a stiff block", "formed block": "a formed block", "soft pad": "a soft pad", "free hand": "the free hand",
	string(fettle.ToneBright): "brighter", string(fettle.ToneDark): "darker", string(fettle.ToneUsual): "as usual",
	string(fettle.New): "new", string(fettle.Now): "present", string(fettle.Worn): "worn",
	"none": "none", "slight": "slight", "real": "real", "near certain": "near certain",
	"along the passes": "along the passes", "across the passes": "across the passes", "across the feed": "across the feed",
	"along the long side": "along the long side", "along the short side": "along the short side",
	"along X": "along X", "along Y": "along Y", "crossed": "crossed",
	"cusps": "cusps", "feed marks": "feed marks", "chord facets": "chord facets",
}

// word is a word of the plan's in the language of the paper; a word that is not
// known stands as it is.
func (t *traveler) word(s string) string {
	if k, ok := words[s]; ok {
		return k.In(t.tongue)
	}
	return s
}

var weekdays = [7]tongue.Key{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"}

// clock is a time as its hour and its day, each short: "08:30", "Tue 2026-03-03".
func (t *traveler) clock(at time.Time) (hour, day string) {
	return at.Format("15:04"), weekdays[at.Weekday()].In(t.tongue) + " " + at.Format(time.DateOnly)
}

// moment is a time in one line.
func (t *traveler) moment(at time.Time) string {
	hour, day := t.clock(at)
	return day + " " + hour
}

// ranged is an estimate as a value with its interval.
func ranged(e fettle.Estimate, show func(float64) string) string {
	s := show(e.Value)
	if e.Low != e.High {
		s += " (" + between(show(e.Low), show(e.High)) + ")"
	}
	return s
}

// points joins clauses of a list whose items hold commas.
func points(says []string) string { return strings.Join(says, "; ") }
