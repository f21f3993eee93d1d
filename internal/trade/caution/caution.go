// Package caution puts the usual warnings beside the steps that can hurt. [Of] is
// the way in. A caution says what can happen and what is done about it, and defers
// to data sheets, manuals, local codes and licensed practice.
package caution

import (
	"slices"
	"strings"

	"fettle"
)

// job is what hazards are told by, besides the step.
type job struct {
	mat   fettle.Material
	shelf *fettle.Shelf
	// deburred tells that a step of the route breaks the edges by hand.
	deburred bool
}

// silica reports whether the dust of media may hold crystalline silica; media that
// the shelf does not know are taken to.
func (j *job) silica(media string) bool {
	m, err := j.shelf.MediaNamed(media)
	return err != nil || m.Silica
}

// plant reports whether media are of cob or nut shell.
func (j *job) plant(media string) bool {
	m, err := j.shelf.MediaNamed(media)
	return err == nil && (m.Kind == fettle.Cob || m.Kind == fettle.Walnut)
}

// closed reports whether gas stays in a vessel; one that the shelf does not know
// is taken to keep it.
func (j *job) closed(vessel string) bool {
	v, err := j.shelf.Vessel(vessel)
	return err != nil || v.Closed
}

// kind is how a vessel moves, empty for one that the shelf does not know.
func (j *job) kind(vessel string) fettle.VesselKind {
	v, err := j.shelf.Vessel(vessel)
	if err != nil {
		return ""
	}
	return v.Kind
}

// Of puts a short caution beside every step of a route that can hurt, in its
// Caution, and lists the hazards of the whole route, those that hurt worst first,
// each with the names of its steps. Media and vessels are looked up on the shelf,
// which may be nil; what it does not know is taken for the worse.
func Of(route fettle.Route, mat fettle.Material, shelf *fettle.Shelf) []fettle.Caution {
	if shelf == nil {
		shelf = &fettle.Shelf{}
	}
	j := &job{mat, shelf, slices.ContainsFunc(route, func(s fettle.Step) bool { return s.Kind == fettle.StepDeburr })}
	all := []fettle.Caution{}
	for i := range route {
		var beside []string
		for _, h := range hazards {
			if h.when(j, route[i]) {
				beside = append(beside, j.beside(h))
			}
		}
		route[i].Caution = strings.Join(beside, "; ")
	}
	for _, h := range hazards {
		c := h.Caution
		if c.ID == metalCaution {
			c.Says = mat.Caution
		}
		for _, s := range route {
			if h.when(j, s) && !slices.Contains(c.Steps, s.Name) {
				c.Steps = append(c.Steps, s.Name)
			}
		}
		if len(c.Steps) > 0 {
			all = append(all, c)
		}
	}
	return all
}

// beside is a hazard's short form; of a metal's own caution it is what stands
// before the first colon, which says what can happen.
func (j *job) beside(h hazard) string {
	if h.ID != metalCaution {
		return h.short
	}
	head, _, _ := strings.Cut(j.mat.Caution, ":")
	return lowerFirst(strings.TrimSpace(head)) + " (see the cautions)"
}

func lowerFirst(s string) string {
	if s == "" || len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
