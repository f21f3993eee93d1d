package finish

import (
	"strings"

	"fettle"
)

// hazard is a caution with the test of whether a step calls for it.
type hazard struct {
	fettle.Caution
	short string // what stands beside the step
	when  func(p *planner, s fettle.Step) bool
}

func onKind(kinds ...fettle.StepKind) func(*planner, fettle.Step) bool {
	return func(_ *planner, s fettle.Step) bool {
		for _, k := range kinds {
			if s.Kind == k {
				return true
			}
		}
		return false
	}
}

func wetCharge(_ *planner, s fettle.Step) bool { return s.Charge != nil && s.Charge.WaterL.Value > 0 }

// hazards are in the order of how badly they hurt. The texts are ours; what
// they defer to is named so that it can be read.
var hazards = []hazard{
	{
		fettle.Caution{
			ID:    metalCaution,
			Says:  "", // the metal's own, from the shelf
			Defer: "the metal's safety data sheet and the local fire code; NFPA 484 for metals that burn", Basis: "the shelf's entry of the metal",
		},
		"",
		func(p *planner, s fettle.Step) bool {
			return p.mat.Caution != "" && (s.Kind == fettle.StepSurface || s.Kind == fettle.StepRub || s.Kind == fettle.StepDeburr || s.Charge != nil)
		},
	},
	{
		fettle.Caution{
			ID:    "gas",
			Says:  "wet fines of this metal free hydrogen, and in a closed barrel pressure and an explosive mixture build up: vent it at the stated hours, away from flames, and never seal it for longer",
			Defer: "the barrel's manual and the compound's safety data sheet", Basis: "stoichiometry of the metal and water; common practice for the hours",
		},
		"gas builds up in a closed barrel with this metal; open it at the stated hours, no flame near",
		func(p *planner, s fettle.Step) bool {
			return wetCharge(p, s) && p.mat.HydrogenLPerG > 0 && s.Charge.VentEveryH > 0
		},
	},
	{
		fettle.Caution{
			ID:    "spindle",
			Says:  "a spindle catches gloves, sleeves and paper: no gloves near it, guards shut, and never hold abrasive paper against anything that turns under power",
			Defer: "the mill's manual and 29 CFR 1910 subpart O or the local rule for machine guarding", Basis: "29 CFR 1910 subpart O, from memory",
		},
		"guards shut, no gloves or loose sleeves near the spindle, eye protection",
		onKind(fettle.StepSurface),
	},
	{
		fettle.Caution{
			ID:    "barrel",
			Says:  "a turning barrel draws in hands and cloth and a full one is heavy: guard it, stop it and pull the plug before the lid is touched, and lift with two",
			Defer: "the machine's manual and 29 CFR 1910 subpart O or the local rule for machine guarding", Basis: "29 CFR 1910 subpart O, from memory",
		},
		"stop and unplug before the lid is touched; guard what turns; lift with two",
		onKind(fettle.StepTumble),
	},
	{
		fettle.Caution{
			ID:    "wet",
			Says:  "water and mains stand side by side here: a residual-current device on the socket, cables off the floor, the floor kept dry enough to walk on",
			Defer: "the local electrical code and a licensed electrician", Basis: fettle.BasisPractice,
		},
		"wet floor and mains: residual-current device on the socket, cables off the floor",
		wetCharge,
	},
	{
		fettle.Caution{
			ID:    "silica",
			Says:  "the dust of ceramic and porcelain media can hold crystalline silica, which scars lungs: keep it wet, never blow or sweep it dry, and wear a fitted respirator when sieving",
			Defer: "29 CFR 1910.1053 (limit 50 µg/m³, action at 25) and the media's safety data sheet", Basis: "29 CFR 1910.1053",
		},
		"media dust may hold silica: keep it wet, do not blow or sweep it, respirator when sieving",
		func(p *planner, s fettle.Step) bool { return s.Charge != nil && p.bathOf(*s.Charge).Silica },
	},
	{
		fettle.Caution{
			ID:    "dust",
			Says:  "sanding and dry media make fine metal dust: work wet or with extraction, wear a respirator that fits and eye protection, wash hands before eating",
			Defer: "the safety data sheets of metal, paper and paste", Basis: fettle.BasisPractice,
		},
		"fine metal dust: wet or with extraction, respirator and eye protection",
		func(p *planner, s fettle.Step) bool {
			return s.Kind == fettle.StepRub || s.Charge != nil && s.Charge.WaterL.Value == 0
		},
	},
	{
		fettle.Caution{
			ID:    "edges",
			Says:  "fresh edges and burrs cut and splinter: cut-resistant gloves for handling and filing (away from anything that turns), eye protection, no bare fingers along an edge",
			Defer: "the shop's own rules", Basis: fettle.BasisPractice,
		},
		"burrs cut: gloves for handling, eye protection, file away from the hand",
		onKind(fettle.StepDeburr),
	},
	{
		fettle.Caution{
			ID:    "effluent",
			Says:  "used liquid holds metal fines and soap: let it settle, do not pour it down a drain without leave, and give the sludge to a licensed carrier",
			Defer: "40 CFR 403 (and 433 where plating is done), the local sewer authority and the compound's data sheet", Basis: "40 CFR 403",
		},
		"used liquid holds metal: settle it, and ask before it goes down a drain",
		func(p *planner, s fettle.Step) bool { return wetCharge(p, s) || s.Kind == fettle.StepWash },
	},
}

// cautions puts a short caution beside every step that can hurt, and lists the
// hazards of the whole route.
func (p *planner) cautions(route fettle.Route) []fettle.Caution {
	all := []fettle.Caution{}
	for i := range route {
		var beside []string
		for _, h := range hazards {
			if h.when(p, route[i]) {
				beside = append(beside, p.beside(h))
			}
		}
		route[i].Caution = strings.Join(beside, "; ")
	}
	for _, h := range hazards {
		c := h.Caution
		if c.ID == metalCaution {
			c.Says = p.mat.Caution
		}
		for _, s := range route {
			if h.when(p, s) {
				c.Steps = append(c.Steps, s.Name)
			}
		}
		if len(c.Steps) > 0 {
			all = append(all, c)
		}
	}
	return all
}

// metalCaution is the caution that the shelf keeps with the metal itself.
const metalCaution = "metal"

// beside is a hazard's short form; of a metal's own caution it is what stands
// before the first colon.
func (p *planner) beside(h hazard) string {
	if h.ID != metalCaution {
		return h.short
	}
	head, _, _ := strings.Cut(p.mat.Caution, ":")
	return lowerFirst(strings.TrimSpace(head)) + " (see the cautions)"
}
