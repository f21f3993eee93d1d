package hold

import (
	"slices"

	"fettle"
)

// Mounting is how a pair is to be mounted. Empty fields leave it open.
type Mounting struct {
	Fixed, Moving fettle.JawTurn // of the jaw on the fixed and on the moving side
	// Swapped asks for each jaw in the other's place, Kept for each in its own.
	Swapped, Kept bool
}

// is reports whether a pose agrees with it.
func (m Mounting) is(p fettle.PocketPose) bool {
	return (m.Fixed == "" || m.Fixed == p.Fixed) && (m.Moving == "" || m.Moving == p.Moving) &&
		!(m.Swapped && !p.Swapped) && !(m.Kept && p.Swapped)
}

// ways are those of mounting a pair that it leaves open, without those that the
// holes do not allow. None where nothing is asked for.
func (m Mounting) ways(j fettle.Jaws) []way {
	if m == (Mounting{}) {
		return nil
	}
	var out []way
	for _, swapped := range []bool{false, true} {
		for _, a := range fettle.JawTurns() {
			for _, b := range fettle.JawTurns() {
				w := way{turns: [2]fettle.JawTurn{a, b}, swapped: swapped}
				if !m.is(w.pose(fettle.PocketPose{})) {
					continue
				}
				one, _ := Mountable(j, a)
				other, _ := Mountable(j, b)
				if one && other {
					out = append(out, w)
				}
			}
		}
	}
	return out
}

// mountable keeps the pairs that can be mounted as asked.
func (j *job) mountable() error {
	m := j.Mounted
	for _, t := range []fettle.JawTurn{m.Fixed, m.Moving} {
		if t != "" && !slices.Contains(fettle.JawTurns(), t) {
			return fettle.Errorf(fettle.Invalid, "no jaw can be mounted %q; there is: as new, end for end, upside down, upside down and end for end", t)
		}
	}
	if m.Swapped && m.Kept {
		return fettle.Errorf(fettle.Invalid, "the jaws cannot stand in their own places and in each other's; ask for one of them")
	}
	why := ""
	var can []fettle.Jaws
	for _, p := range j.Pairs {
		says := ""
		for _, t := range []fettle.JawTurn{m.Fixed, m.Moving} {
			if ok, not := Mountable(p, t); t != "" && !ok {
				says = p.Name + ": " + not
			}
		}
		if says == "" {
			can = append(can, p)
		} else if why == "" {
			why = says
		}
	}
	if len(can) == 0 {
		return fettle.Errorf(fettle.Invalid, "the jaws cannot be mounted like that (%s); choose another way", why)
	}
	j.Pairs = can
	return nil
}
