package sampling

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fettle"
)

// mostLot is the largest lot that is planned for.
const mostLot = 1_000_000_000

// Plan is the single plan for a lot. Level is "S1" to "S4", "I", "II" or "III" (empty
// for II), aql one of [AQLs] in % (0 for 1.0), severity [Normal] (empty too) or
// [Tightened]. The plan's letter is the one that the arrows lead to, its size never
// more than the lot. The error is Invalid.
func Plan(lot int, level string, aql float64, severity string) (fettle.SamplingPlan, error) {
	none := fettle.SamplingPlan{}
	if lot < 1 || lot > mostLot {
		return none, fettle.Errorf(fettle.Invalid, "a lot of %d pieces cannot be sampled; give a lot of 1 to %d", lot, mostLot)
	}
	level, err := parseLevel(level)
	if err != nil {
		return none, err
	}
	col, err := parseAQL(aql)
	if err != nil {
		return none, err
	}
	severity, err = parseSeverity(severity)
	if err != nil {
		return none, err
	}
	from := codeLetter(lot, level)
	at, accept := tables[severity].follow(from, col)
	p := fettle.SamplingPlan{
		Lot: lot, Level: level, AQL: AQLs[col], Severity: severity,
		Letter: letters[at : at+1], Size: sizes[at], Accept: accept, Reject: accept + 1,
		Source: Source,
	}
	if p.Size >= lot {
		p.Size, p.All = lot, true
	}
	p.Says = says(p, letters[from:from+1])
	return p, nil
}

func parseLevel(s string) (string, error) {
	level := strings.ToUpper(strings.ReplaceAll(strings.TrimSpace(s), "-", ""))
	if level == "" {
		return UsualLevel, nil
	}
	if !slices.Contains(Levels, level) {
		return "", fettle.Errorf(fettle.Invalid, "the inspection level %q is not known; choose %s", s, strings.Join(Levels, ", "))
	}
	return level, nil
}

// parseAQL finds an AQL in the standard's series, by its place.
func parseAQL(aql float64) (int, error) {
	if aql == 0 {
		aql = UsualAQL
	}
	for i, v := range AQLs {
		if math.Abs(aql-v) < 1e-6*v {
			return i, nil
		}
	}
	if math.IsNaN(aql) || aql < AQLs[0] || aql > AQLs[len(AQLs)-1] {
		return 0, fettle.Errorf(fettle.Invalid, "an AQL of %g %% has no plan here; choose one from %g to %g", aql, AQLs[0], AQLs[len(AQLs)-1])
	}
	i := slices.IndexFunc(AQLs, func(v float64) bool { return v > aql })
	return 0, fettle.Errorf(fettle.Invalid, "an AQL of %g %% is not in the standard's series; choose %g or %g", aql, AQLs[i-1], AQLs[i])
}

func parseSeverity(s string) (string, error) {
	switch severity := strings.ToLower(strings.TrimSpace(s)); severity {
	case "", Normal:
		return Normal, nil
	case Tightened:
		return Tightened, nil
	case "reduced":
		return "", fettle.Errorf(fettle.Invalid, "there are no plans for reduced inspection here; stay with %s", Normal)
	case Discontinued:
		return "", fettle.Errorf(fettle.Invalid, "inspection was discontinued, so there is no plan; find the cause and begin again with %s inspection", Tightened)
	}
	return "", fettle.Errorf(fettle.Invalid, "inspection %q is not known; choose %s or %s", s, Normal, Tightened)
}

// Accepts reports whether a lot is taken with so many pieces of its sample that fail.
// The error is Invalid for more pieces than were looked at.
func Accepts(p fettle.SamplingPlan, bad int) (bool, error) {
	if bad < 0 || bad > p.Size {
		return false, fettle.Errorf(fettle.Invalid, "%d of %d pieces cannot have failed; count again", bad, p.Size)
	}
	return bad <= p.Accept, nil
}

// Shares of bad pieces that a plan is judged by in words: one that a customer may
// live with, one that nobody should.
const (
	shareFew  = 0.01
	shareMany = 0.20
)

// says is the plan in words. from is the letter that table 1 gives.
func says(p fettle.SamplingPlan, from string) string {
	letter := "code letter " + p.Letter
	if from != p.Letter {
		letter = fmt.Sprintf("code letter %s, whose arrow points to %s", from, p.Letter)
	}
	if p.All {
		if p.Lot == 1 {
			return "look at the one piece"
		}
		return fmt.Sprintf("look at all %d pieces: the plan (%s) asks for at least as many as there are; what fails is put right or put aside, piece by piece", p.Lot, letter)
	}
	take := "none fails"
	if p.Accept == 1 {
		take = "at most 1 fails"
	} else if p.Accept > 1 {
		take = fmt.Sprintf("at most %d fail", p.Accept)
	}
	return fmt.Sprintf("of %d pieces look at %d (%s); take the lot if %s, refuse it at %d; a lot with %g %% bad passes %s, one with %g %% %s, and one with %s %% still passes 1 time in 10",
		p.Lot, p.Size, letter, take, p.Reject, 100*shareFew, InHundred(PassChance(p, shareFew)), 100*shareMany, InHundred(PassChance(p, shareMany)), Percent(PassesAt(p, 0.10)))
}

// InHundred is a chance in words: "92 times in 100".
func InHundred(p float64) string {
	switch {
	case p > 0 && p < 0.005:
		return "less than once in 200"
	case p < 1 && p > 0.995:
		return "more than 199 times in 200"
	}
	return fmt.Sprintf("%.0f times in 100", 100*p)
}

// Percent shows a share in per cent, to two figures, without the sign.
func Percent(share float64) string {
	return strconv.FormatFloat(100*share, 'g', 2, 64)
}
