package recipe

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/trade/learn"
)

// Map lays a recipe over a shelf. For every step it finds what stands there for each
// thing that was used, says what that changes, and works out how long a charge runs
// with it; book is what this shop's own log says, and may be nil. The wishes are for a
// brief of this shop ([fettle.Brief.Steps]): with them its planner takes the recipe's
// steps, and checks on its own part what no recipe can know, such as where media jam.
// It fails with Invalid on a recipe that [Validate] refuses.
//
// Ready speaks of the steps alone. A material or a finish that the shelf does not have
// stands among what is missing, with what was taken for it.
func Map(ctx context.Context, r fettle.Recipe, shelf *fettle.Shelf, book *learn.Book) (fettle.Mapping, error) {
	if err := Validate(r); err != nil {
		return fettle.Mapping{}, err
	}
	m := &mapper{r: r, shelf: shelf, book: book}
	out := fettle.Mapping{Recipe: r.Title, Steps: make([]fettle.MappedStep, 0, len(r.Steps)), Ready: true, Missing: []string{}, Wishes: []fettle.StepWish{}}
	m.material()
	m.look()
	m.ladder()
	for i := range r.Steps {
		if err := ctx.Err(); err != nil {
			return fettle.Mapping{}, err
		}
		s := m.step(i)
		out.Steps = append(out.Steps, s)
		out.Ready = out.Ready && s.Grade != fettle.NoMatch
		if w, ok := m.wish(i, s); ok && !slices.Contains(out.Wishes, w) {
			out.Wishes = append(out.Wishes, w)
		}
	}
	slices.SortStableFunc(m.lacks, func(a, b lack) int { return cmp.Compare(a.rank, b.rank) })
	for _, l := range m.lacks {
		out.Missing = append(out.Missing, l.says)
	}
	return out, nil
}

// mapper is one recipe on its way to one shelf.
type mapper struct {
	r     fettle.Recipe
	shelf *fettle.Shelf
	book  *learn.Book
	mat   fettle.Material // as this shelf has it, or the recipe's own
	grits map[int]*fettle.Grit
	lacks []lack
}

// lack is something missing; the lowest rank is the worst.
type lack struct {
	rank int
	says string
}

// The ranks of what is missing: what makes the finish, what it is asked by, what
// leads up to it.
const (
	rankCharge = iota
	rankMop
	rankGrit
	rankCutter
	rankMaterial
	rankLook
)

func (m *mapper) lacking(rank int, says string, args ...any) {
	m.lacks = append(m.lacks, lack{rank, fmt.Sprintf(says, args...)})
}

// material finds the recipe's metal by any of its names.
func (m *mapper) material() {
	was := m.r.Material
	for _, n := range append([]string{was.Name, was.Title}, was.Aliases...) {
		if got, err := m.shelf.Material(n); n != "" && err == nil {
			m.mat = got
			if got.Class != was.Class {
				m.lacking(rankMaterial, "The material %s counts as %s on this shelf and as %s in the recipe; hours are worked out for the one here: see which is right.", got.Name, class(got), class(was))
			}
			return
		}
	}
	m.mat = was
	like := ""
	for _, o := range m.shelf.Materials {
		if o.Class == was.Class && was.Class != "" {
			like = fmt.Sprintf(", or plan with %s, which is of the same class", o.Name)
			break
		}
	}
	m.lacking(rankMaterial, "The material %s is not on this shelf; hours are worked out for its class of hardness as the recipe has it, %s: enter it on the shelf before a part of it is planned%s.", was.Name, class(was), like)
}

// class names the class of hardness that the laws take for a metal.
func class(mat fettle.Material) string {
	switch mat.Class {
	case fettle.ClassAluminium, fettle.ClassBrass, fettle.ClassMildSteel, fettle.ClassStainless, fettle.ClassTitanium, fettle.ClassHardened:
		return string(mat.Class)
	case "":
		return string(fettle.ClassStainless) + ", for want of one"
	}
	return fmt.Sprintf("%s, for %q is not known", fettle.ClassStainless, mat.Class)
}

// look asks for the recipe's finish on this shelf.
func (m *mapper) look() {
	l := m.r.Look
	if _, err := m.shelf.Look(l.Name); err != nil {
		m.lacking(rankLook, "The finish %s is not on this shelf: enter it with Ra %s, as the recipe has it, and agree it by sample.", l.Name, fettle.Metric.Range(l.RaUM))
	}
}

// step maps one step.
func (m *mapper) step(i int) fettle.MappedStep {
	s := m.r.Steps[i]
	out := fettle.MappedStep{Was: s.Key, Grade: fettle.SameThing, Uses: []fettle.Stand{}, Says: []string{}}
	switch {
	case s.Charge != nil || s.Kind == fettle.StepTumble:
		m.charge(i, &out)
	case s.Pass != nil || s.Kind == fettle.StepSurface:
		m.pass(i, &out)
	case s.Rub != nil || s.Kind == fettle.StepRub:
		m.rub(i, &out)
	case s.Buff != nil || s.Kind == fettle.StepBuff:
		m.buff(i, &out)
	default: // by hand and eye: nothing of a shelf is in it
		out.Now = s.Key
	}
	for _, u := range out.Uses {
		out.Grade = worse(out.Grade, u.Grade)
	}
	if out.Grade == fettle.NoMatch {
		out.Now = ""
	}
	return out
}

func worse(a, b fettle.MatchGrade) fettle.MatchGrade {
	order := []fettle.MatchGrade{fettle.SameThing, fettle.CloseKin, fettle.NoMatch}
	return order[max(slices.Index(order, a), slices.Index(order, b))]
}

// longestPinnedH is the longest that a brief can pin a charge to.
const longestPinnedH = 720

// wish is a mapped step as a brief keeps it. Of the passes the planner chooses only the
// one over the face that is judged, which leads the route; washing, drying and
// inspection come by themselves.
func (m *mapper) wish(i int, s fettle.MappedStep) (fettle.StepWish, bool) {
	w := fettle.StepWish{Do: "keep", Step: s.Now}
	switch m.r.Steps[i].Kind {
	case fettle.StepSurface:
		first := slices.IndexFunc(m.r.Steps, func(o fettle.RecipeStep) bool { return o.Kind == fettle.StepSurface })
		return w, s.Now != "" && i == first
	case fettle.StepTumble:
		if h := s.HoursNow; h != nil && h.Value <= longestPinnedH {
			w.Hours = rounded(h.Value)
		}
		return w, s.Now != ""
	case fettle.StepDeburr, fettle.StepRub, fettle.StepBuff:
		return w, s.Now != ""
	}
	return w, false
}

// startUM is the Ra of the face that goes into a step: what the step before on the
// same zone left; 0 where none is known.
func (m *mapper) startUM(i int) float64 {
	for k := i - 1; k >= 0; k-- {
		if s := m.r.Steps[k]; s.Zone == m.r.Steps[i].Zone && s.RaUM.Value > 0 {
			return s.RaUM.Value
		}
	}
	return 0
}

// last reports whether nothing works the face after a step.
func (m *mapper) last(i int) bool {
	for _, s := range m.r.Steps[i+1:] {
		switch s.Kind {
		case fettle.StepRub, fettle.StepTumble, fettle.StepBuff:
			return false
		}
	}
	return true
}

// stand fills in what stands for one thing.
func stand(kind fettle.RecordKind, was, now string, g fettle.MatchGrade, says ...string) fettle.Stand {
	return fettle.Stand{Kind: kind, Was: was, Now: now, Grade: g, Says: strings.Join(says, " ")}
}

// byName is the stand of a thing that the recipe only names.
func byName(kind fettle.RecordKind, was string, found bool) fettle.Stand {
	if !found {
		return stand(kind, was, "", fettle.NoMatch, fmt.Sprintf("The recipe only names %s, and nothing here is called so.", was))
	}
	return stand(kind, was, was, fettle.CloseKin, fmt.Sprintf("The recipe only names %s; what is called so here is taken for it.", was))
}

// sameThing is the sentence of a thing that is here under this or another name.
func sameThing(was, now string) string {
	if fettle.FoldName(was) == fettle.FoldName(now) {
		return "The same."
	}
	return fmt.Sprintf("The same, called %s here.", now)
}
