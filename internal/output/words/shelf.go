package words

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
)

// Shelf lists what a plan may choose from.
func (l Voice) Shelf(s *fettle.Shelf, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	section(p, "Alloys", s.Materials, func(m fettle.Material) string {
		return v.Say("%s: %s, %.2f g/cm³, %s", m.Name, m.Title, m.Density, v.metal(m.Class))
	})
	section(p, "Finishes", s.Looks, func(l fettle.Look) string {
		return v.Say("%s: Ra %s. %s", l.Name, v.Range(l.RaUM), l.Says)
	})
	section(p, "Cutters", s.Cutters, func(c fettle.Cutter) string {
		return v.Say("%s: %s, reach %s", c.Name, c.Title, v.Length(c.ReachMM))
	})
	section(p, "Grits", s.Grits, func(g fettle.Grit) string {
		return v.Say("%s: grain %s, leaves Ra %s", g.Name, v.Height(g.GrainUM), v.Range(g.RaUM))
	})
	section(p, "Media", s.Media, func(m fettle.Media) string {
		return v.Say("%s: %s, tends to Ra %s", m.Name, m.Title, v.Range(m.LimitRaUM))
	})
	section(p, "Barrels and bowls", s.Vessels, func(b fettle.Vessel) string {
		return v.Say("%s: %s, %s", b.Name, b.Title, v.Liquid(b.VolumeL))
	})
	section(p, "Mills", s.Machines, func(m fettle.Machine) string {
		return v.Say("%s: %s, travel %s", m.Name, m.Title, v.box(m.TravelMM))
	})
	section(p, "Soft jaws", s.Jaws, v.jawsOnShelf)
	section(p, "Soft materials for plugs", s.Softs, func(m fettle.Soft) string { return v.Say("%s: %s; %s", m.Name, m.Title, m.Says) })
	p.head("Rates")
	r := s.Rates
	p.item("An hour of a person costs %s %.0f; the margin is %.0f %%; %.0f %% of the pieces started are scrap (%s).", r.Currency, r.PersonPerH.Value, r.MarginShare*100, r.ScrapShare*100, strings.ToLower(r.Basis))
	return p.String()
}

// metal is what alloys are grouped by.
func (v voice) metal(c fettle.HardnessClass) string {
	switch c {
	case fettle.ClassAluminium:
		return v.Say("aluminium")
	case fettle.ClassBrass:
		return v.Say("brass")
	case fettle.ClassMildSteel:
		return v.Say("mild steel")
	case fettle.ClassStainless:
		return v.Say("stainless")
	case fettle.ClassTitanium:
		return v.Say("titanium")
	case fettle.ClassHardened:
		return v.Say("hardened steel")
	}
	return string(c)
}

// jawsOnShelf is a pair with its size and the pockets that it remembers, oldest first.
func (v voice) jawsOnShelf(j fettle.Jaws) string {
	size := v.box([3]float64{j.WidthMM, j.ThickMM, j.HeightMM})
	var names []string
	for _, c := range j.Cuts {
		if name := fmt.Sprintf("%q", c.Name); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) > 0 {
		return v.Say("%s: %s, %s; cut in it: %s", j.Name, j.Title, size, commas(names...))
	}
	return v.Say("%s: %s, %s", j.Name, j.Title, size)
}
