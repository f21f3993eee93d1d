package learn

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fettle"
)

// job is a run whose names have been found on the shelf.
type job struct {
	fettle.Run
	mat    fettle.Material
	media  fettle.Media
	vessel fettle.Vessel
	grit   fettle.Grit
}

// charge reports whether the run was one of media.
func (j job) charge() bool { return j.Kind == fettle.StepTumble }

// pieces in the run, at least one.
func (j job) pieces() int { return max(1, j.Pieces) }

// limits of what a reading can be, by kind: outside them a slip of the pen is
// likelier than the thing.
var limits = map[fettle.ReadingKind]struct {
	least, most float64
	unit        string
}{
	fettle.ReadRa:       {0.001, 100, "µm"},
	fettle.ReadRz:       {0.005, 1000, "µm"},
	fettle.ReadSq:       {0.001, 200, "µm"},
	fettle.ReadGrade:    {1, 12, ""},
	fettle.ReadGloss:    {0.1, 2000, "gloss units"},
	fettle.ReadGrams:    {-1, 1e4, "g"},
	fettle.ReadMicron:   {-20, 1e4, "µm"},
	fettle.ReadMarkGone: {0, 1, ""},
	fettle.ReadJammed:   {0, 1e6, "pieces"},
	fettle.ReadMinutes:  {0.05, 6000, "minutes"},
}

const (
	mostHours  = 2000.0
	mostSpread = 3.0 // of a logarithm: a factor of twenty
	mostAreaM2 = 10.0
)

// jobs checks a log against a shelf. Runs with things that the shop no longer has, or
// calls by another name, are left out, each with a sentence.
func jobs(log fettle.Logbook, shelf *fettle.Shelf) (out []job, leftOut []string, err error) {
	if shelf == nil {
		return nil, nil, fettle.Errorf(fettle.Invalid, "a log can only be read beside a shelf")
	}
	seen := map[string]bool{}
	for i, r := range log.Runs {
		name := r.ID
		if name == "" {
			name = fmt.Sprintf("number %d", i+1)
		} else if seen[name] {
			return nil, nil, fettle.Errorf(fettle.Invalid, "run %s stands in the log twice; give each its own id", name)
		}
		seen[r.ID] = true
		j, err := join(r, shelf)
		if fettle.CodeOf(err) == fettle.NotFound {
			leftOut = append(leftOut, fmt.Sprintf("Run %s is left out: %v.", name, err))
			continue
		}
		if err != nil {
			return nil, nil, fettle.Errorf(fettle.Invalid, "run %s: %w", name, err)
		}
		for k, rd := range r.Readings {
			if bad := j.wrong(rd); bad != "" {
				return nil, nil, fettle.Errorf(fettle.Invalid, "run %s, reading %d (%s): %s", name, k+1, rd.Kind, bad)
			}
		}
		out = append(out, j)
	}
	return out, leftOut, nil
}

// join finds the names of a run on the shelf.
func join(r fettle.Run, shelf *fettle.Shelf) (job, error) {
	j := job{Run: r}
	if r.Day != "" {
		if _, err := time.Parse(time.DateOnly, r.Day); err != nil {
			return j, fettle.Errorf(fettle.Invalid, "the day %q is not a date such as 2026-03-31", r.Day)
		}
	}
	var err error
	if j.mat, err = shelf.Material(r.Material); err != nil {
		return j, err
	}
	area := r.AreaMM2 / 1e6
	switch {
	case !(area >= 0 && area <= mostAreaM2):
		return j, fettle.Errorf(fettle.Invalid, "an area of %g mm² cannot be; give that of one piece", r.AreaMM2)
	case !(r.SizeMM >= 0 && r.SizeMM <= 1e4):
		return j, fettle.Errorf(fettle.Invalid, "a size of %g mm cannot be; give the longest side of one piece", r.SizeMM)
	case r.Pieces < 0 || r.Pieces > 1e6:
		return j, fettle.Errorf(fettle.Invalid, "%d pieces cannot be", r.Pieces)
	}
	switch r.Kind {
	case fettle.StepTumble:
		if !slices.Contains([]fettle.Tone{fettle.ToneUsual, fettle.ToneBright, fettle.ToneDark}, r.Tone) {
			return j, fettle.Errorf(fettle.Invalid, "the tone %q is not known; there is: %s, %s, or none for the usual", r.Tone, fettle.ToneBright, fettle.ToneDark)
		}
		if j.media, err = shelf.MediaNamed(r.Media); err != nil {
			return j, err
		}
		j.vessel, err = shelf.Vessel(r.Vessel)
	case fettle.StepRub:
		at := slices.IndexFunc(shelf.Grits, func(g fettle.Grit) bool { return strings.EqualFold(g.Name, r.Grit) })
		if at < 0 {
			return j, fettle.Errorf(fettle.NotFound, "grit %q is not on the shelf", r.Grit)
		}
		j.grit = shelf.Grits[at]
	case "":
		return j, fettle.Errorf(fettle.Invalid, "it does not say what was done; kind is %s or %s", fettle.StepTumble, fettle.StepRub)
	}
	return j, err
}

// wrong says what cannot be about a reading; empty where it can.
func (j job) wrong(r fettle.Reading) string {
	lim, known := limits[r.Kind]
	switch {
	case !known:
		return "this kind is not known; there is: " + kindNames()
	case !(r.AtH >= 0):
		return fmt.Sprintf("it was taken at %g h, before the run began; use 0 for before", r.AtH)
	case r.AtH > mostHours:
		return fmt.Sprintf("it was taken at %g h, which is longer than any run", r.AtH)
	case !(r.Value >= lim.least && r.Value <= lim.most):
		return strings.TrimSpace(fmt.Sprintf("%g %s", r.Value, lim.unit)) + fmt.Sprintf(" cannot be; it must lie between %g and %g", lim.least, lim.most)
	case !(r.Spread >= 0) || math.IsInf(r.Spread, 0):
		return fmt.Sprintf("a spread of %g cannot be; leave it out for the usual", r.Spread)
	case !absolute(r.Kind) && r.Spread > mostSpread:
		return fmt.Sprintf("a spread of %g is of a logarithm and would be a factor of %.0f", r.Spread, math.Exp(math.Min(r.Spread, 30)))
	}
	switch r.Kind {
	case fettle.ReadGrade:
		if r.Value != math.Trunc(r.Value) {
			return "grades are whole numbers from 1 to 12"
		}
	case fettle.ReadMarkGone:
		if r.Value != 0 && r.Value != 1 {
			return "it is 1 for gone and 0 for still there"
		}
		if !(r.DepthUM > 0 && r.DepthUM < 1e4) {
			return fmt.Sprintf("depth_um is %g; say how much had to come off for the mark to go", r.DepthUM)
		}
	case fettle.ReadJammed:
		if r.Value != math.Trunc(r.Value) || int(r.Value) > j.pieces() {
			return fmt.Sprintf("%g of %d pieces cannot be", r.Value, j.pieces())
		}
	case fettle.ReadGrams:
		if !(j.AreaMM2 > 0) {
			return "a loss of grams says nothing without area_mm2, the area of one piece"
		}
		if most := 1e-3 * mostTakenUM * j.AreaMM2 / 1e3 * j.mat.Density; r.Value > most {
			return fmt.Sprintf("%g g would be more than %g mm off an area of %g mm²; give what one piece lost", r.Value, mostTakenUM/1e3, j.AreaMM2)
		}
	}
	if j.charge() && r.Kind == fettle.ReadMinutes {
		return "minutes by hand belong to a run of kind " + string(fettle.StepRub)
	}
	return ""
}

// mostTakenUM is the deepest that anyone tumbles.
const mostTakenUM = 2000.0

// absolute reports whether the spread of a kind is in its own unit.
func absolute(k fettle.ReadingKind) bool {
	return k == fettle.ReadGrams || k == fettle.ReadMicron
}

func kindNames() string {
	var s []string
	for _, k := range []fettle.ReadingKind{
		fettle.ReadRa, fettle.ReadRz, fettle.ReadSq, fettle.ReadGrade, fettle.ReadGloss, fettle.ReadGrams,
		fettle.ReadMicron, fettle.ReadMarkGone, fettle.ReadJammed, fettle.ReadMinutes,
	} {
		s = append(s, string(k))
	}
	return strings.Join(s, ", ")
}

// Fits checks one run, with the readings that it has, beside a shelf: what [Read]
// would refuse or leave out is the error.
func Fits(run fettle.Run, shelf *fettle.Shelf) error {
	_, leftOut, err := jobs(fettle.Logbook{Runs: []fettle.Run{run}}, shelf)
	if err != nil {
		return err
	}
	if len(leftOut) > 0 {
		_, err := join(run, shelf)
		return err
	}
	return nil
}
