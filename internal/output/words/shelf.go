package words

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
)

// Shelf lists what a plan may choose from.
func Shelf(s *fettle.Shelf, sys fettle.System) string {
	var p page
	section(&p, "Alloys", s.Materials, func(m fettle.Material) string {
		return fmt.Sprintf("%s: %s, %.2f g/cm³, %s", m.Name, m.Title, m.Density, m.Class)
	})
	section(&p, "Finishes", s.Looks, func(l fettle.Look) string {
		return fmt.Sprintf("%s: Ra %s. %s", l.Name, sys.Range(l.RaUM), l.Says)
	})
	section(&p, "Cutters", s.Cutters, func(c fettle.Cutter) string {
		return fmt.Sprintf("%s: %s, reach %s", c.Name, c.Title, sys.Length(c.ReachMM))
	})
	section(&p, "Grits", s.Grits, func(g fettle.Grit) string {
		return fmt.Sprintf("%s: grain %s, leaves Ra %s", g.Name, sys.Height(g.GrainUM), sys.Range(g.RaUM))
	})
	section(&p, "Media", s.Media, func(m fettle.Media) string {
		return fmt.Sprintf("%s: %s, tends to Ra %s", m.Name, m.Title, sys.Range(m.LimitRaUM))
	})
	section(&p, "Barrels and bowls", s.Vessels, func(v fettle.Vessel) string {
		return fmt.Sprintf("%s: %s, %s", v.Name, v.Title, sys.Liquid(v.VolumeL))
	})
	section(&p, "Mills", s.Machines, func(m fettle.Machine) string {
		return fmt.Sprintf("%s: %s, travel %s × %s × %s", m.Name, m.Title, number(m.TravelMM[0], sys), number(m.TravelMM[1], sys), sys.Length(m.TravelMM[2]))
	})
	section(&p, "Soft jaws", s.Jaws, func(j fettle.Jaws) string { return jawsOnShelf(j, sys) })
	section(&p, "Soft materials for plugs", s.Softs, func(m fettle.Soft) string { return fmt.Sprintf("%s: %s; %s", m.Name, m.Title, m.Says) })
	p.head("Rates")
	r := s.Rates
	p.item("a person %s %.0f an hour; margin %.0f %%; scrap %.0f %%; %s", r.Currency, r.PersonPerH.Value, r.MarginShare*100, r.ScrapShare*100, strings.ToLower(r.Basis))
	return p.String()
}

// jawsOnShelf is a pair with its size and the pockets that it remembers, oldest first.
func jawsOnShelf(j fettle.Jaws, sys fettle.System) string {
	t := fmt.Sprintf("%s: %s, %s × %s × %s", j.Name, j.Title, number(j.WidthMM, sys), number(j.ThickMM, sys), sys.Length(j.HeightMM))
	var names []string
	for _, c := range j.Cuts {
		if name := fmt.Sprintf("%q", c.Name); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) > 0 {
		t += "; cut in it: " + strings.Join(names, ", ")
	}
	return t
}
