// Package envelope says whether a part is the shop's, and why not: [Judge] holds a
// survey and a brief to the limits of a [fettle.Envelope], and [Default] proposes
// limits from what stands on the shelf.
package envelope

import (
	"fmt"
	"math"
	"strings"

	"fettle"
)

// Validate checks an envelope on its own: limits that are numbers of zero (none) or
// more, in order, and names that are there and differ. It fails with Invalid.
func Validate(env fettle.Envelope) error {
	for _, q := range []struct {
		key string
		v   float64
	}{
		{"max_mm", env.MaxMM[0]}, {"max_mm", env.MaxMM[1]}, {"max_mm", env.MaxMM[2]}, {"min_mm", env.MinMM}, {"max_kg", env.MaxKg},
		{"min_lot", float64(env.MinLot)}, {"max_lot", float64(env.MaxLot)}, {"holes_under_mm", env.HolesUnderMM},
	} {
		if !(q.v >= 0) || math.IsInf(q.v, 0) {
			return fettle.Errorf(fettle.Invalid, "%s of the envelope is %g; give a number above zero, or 0 for no limit", q.key, q.v)
		}
	}
	longest := math.Inf(1)
	for _, v := range env.MaxMM {
		if v > longest {
			return fettle.Errorf(fettle.Invalid, "max_mm of the envelope has %g mm after %g mm; give the longest side first, then the others by falling size", v, longest)
		}
		if v > 0 {
			longest = v
		}
	}
	switch {
	case env.MaxMM[0] > 0 && env.MinMM > env.MaxMM[0]:
		return fettle.Errorf(fettle.Invalid, "the envelope takes parts from %g mm and up to %g mm, which none is; give a min_mm below the first of max_mm", env.MinMM, env.MaxMM[0])
	case env.MaxLot > 0 && env.MinLot > env.MaxLot:
		return fettle.Errorf(fettle.Invalid, "the envelope takes lots from %d and up to %d pieces, which none is; give a min_lot below max_lot", env.MinLot, env.MaxLot)
	}
	for _, l := range []struct {
		key   string
		names []string
	}{{"materials", env.Materials}, {"finishes", env.Finishes}} {
		seen := map[string]bool{}
		for _, n := range l.names {
			switch k := fettle.FoldName(n); {
			case k == "":
				return fettle.Errorf(fettle.Invalid, "%s of the envelope has an empty name; take it out, and leave the list empty to take all", l.key)
			case seen[k]:
				return fettle.Errorf(fettle.Invalid, "%s of the envelope names %q twice; take one out", l.key, n)
			default:
				seen[k] = true
			}
		}
	}
	return nil
}

// Judge holds a part, as it was surveyed, and what is asked of it to what the shop
// takes. What the brief does not say yet is not judged; what the survey cannot say is
// told under Open. It fails with Invalid on an envelope that makes no sense and with
// BadFile on a survey without a size.
func Judge(env fettle.Envelope, s *fettle.Survey, brief fettle.Brief, shelf *fettle.Shelf) (fettle.Fit, error) {
	if err := Validate(env); err != nil {
		return fettle.Fit{}, err
	}
	j := judge{env: env, survey: s, brief: brief, shelf: shelf, fit: fettle.Fit{Because: []fettle.Refusal{}, Open: []fettle.Refusal{}}}
	if err := j.size(); err != nil {
		return fettle.Fit{}, err
	}
	j.mass()
	j.material()
	j.finish()
	j.lot()
	j.openings()
	j.fit.Ours = len(j.fit.Because) == 0
	return j.fit, nil
}

type judge struct {
	env    fettle.Envelope
	survey *fettle.Survey
	brief  fettle.Brief
	shelf  *fettle.Shelf
	fit    fettle.Fit
}

func (j *judge) refuse(limit, says string, args ...any) {
	j.fit.Because = append(j.fit.Because, fettle.Refusal{Limit: limit, Says: fmt.Sprintf(says, args...)})
}

func (j *judge) open(limit, says string, args ...any) {
	j.fit.Open = append(j.fit.Open, fettle.Refusal{Limit: limit, Says: fmt.Sprintf(says, args...)})
}

// mass is judged by volume and density. Where the model does not close, the block that
// the part would be cut from weighs at least as much, which may settle it.
func (j *judge) mass() {
	most := j.env.MaxKg
	if most == 0 {
		return
	}
	mat, err := j.shelf.Material(j.brief.Material)
	if err != nil || !(mat.Density > 0) {
		if j.brief.Material != "" {
			j.open("max_kg", "the mass cannot be judged, for the density of %s is not on the shelf; the shop takes up to %s: enter the material, or weigh a piece", j.brief.Material, kg(most))
		}
		return
	}
	const kgPerMM3 = 1e-6 // at 1 g/cm³
	if v := j.survey.VolumeMM3; v > 0 {
		if m := v * mat.Density * kgPerMM3; m > most {
			j.refuse("max_kg", "%s of %s; the shop takes up to %s", apart(kg, m, most), mat.Name, kg(most))
		}
		return
	}
	block := math.Inf(1)
	for _, p := range j.poses() {
		block = math.Min(block, p.mm[0]*p.mm[1]*p.mm[2]*mat.Density*kgPerMM3)
	}
	if block > most {
		j.open("max_kg", "the mass cannot be judged, for the model does not close and has no volume; a full block of its size in %s is %s and the shop takes up to %s: mend the model, or weigh a piece", mat.Name, apart(kg, block, most), kg(most))
	}
}

func (j *judge) material() {
	if len(j.env.Materials) == 0 || j.brief.Material == "" {
		return
	}
	names := map[string]bool{fettle.FoldName(j.brief.Material): true}
	if m, err := j.shelf.Material(j.brief.Material); err == nil {
		for _, n := range append([]string{m.Name, m.Title}, m.Aliases...) {
			names[fettle.FoldName(n)] = true
		}
	}
	for _, n := range j.env.Materials {
		if names[fettle.FoldName(n)] {
			return
		}
	}
	j.refuse("materials", "of %s; the shop works %s", j.brief.Material, listed(j.env.Materials, "and"))
}

func (j *judge) finish() {
	if len(j.env.Finishes) == 0 || j.brief.Finish == "" {
		return
	}
	names := map[string]bool{fettle.FoldName(j.brief.Finish): true}
	for _, l := range j.shelf.Looks {
		if fettle.FoldName(l.Name) == fettle.FoldName(j.brief.Finish) || fettle.FoldName(l.Title) == fettle.FoldName(j.brief.Finish) {
			names[fettle.FoldName(l.Name)], names[fettle.FoldName(l.Title)] = true, true
		}
	}
	for _, n := range j.env.Finishes {
		if names[fettle.FoldName(n)] {
			return
		}
	}
	j.refuse("finishes", "finished %s; the shop finishes %s", j.brief.Finish, listed(j.env.Finishes, "or"))
}

func (j *judge) lot() {
	lot := j.brief.Lot
	switch {
	case lot <= 0:
	case j.env.MinLot > 0 && lot < j.env.MinLot:
		j.refuse("min_lot", "a lot of %d; the shop takes lots from %d", lot, j.env.MinLot)
	case j.env.MaxLot > 0 && lot > j.env.MaxLot:
		j.refuse("max_lot", "a lot of %d; the shop takes lots up to %d", lot, j.env.MaxLot)
	}
}

// mostNamed is how many openings one sentence names.
const mostNamed = 6

// openings are held to the least width: those that go through and have walls.
func (j *judge) openings() {
	least := j.env.HolesUnderMM
	if least == 0 {
		return
	}
	var which []string
	more := 0
	for _, o := range j.survey.Openings {
		if !o.Through || o.Kind == fettle.Gap || !(o.WidthMM < least) {
			continue
		}
		if len(which) < mostNamed {
			which = append(which, fmt.Sprintf("%s %s wide", o.ID, apart(mm, o.WidthMM, least)))
		} else {
			more++
		}
	}
	if more > 0 {
		which = append(which, fmt.Sprintf("%d more", more))
	}
	if len(which) > 0 {
		j.refuse("holes_under_mm", "%s; the shop works through holes and slots from %s", listed(which, "and"), mm(least))
	}
}

// listed joins names as a sentence does.
func listed(names []string, word string) string {
	n := len(names)
	if n == 1 {
		return names[0]
	}
	return strings.Join(names[:n-1], ", ") + " " + word + " " + names[n-1]
}
