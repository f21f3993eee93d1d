package caution

import (

	"fettle"
)

// hazard is a caution with the test of whether a step calls for it.
type hazard struct {
	fettle.Caution
	short string // what stands beside the step
	when  func(j *job, s fettle.Step) bool
}

func onKind(kinds ...fettle.StepKind) func(*job, fettle.Step) bool {
	return func(_ *job, s fettle.Step) bool {
		for _, k := range kinds {
			if s.Kind == k {
				return true
			}
		}
		return false
	}
}

func wetCharge(_ *job, s fettle.Step) bool { return s.Charge != nil && s.Charge.WaterL.Value > 0 }

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
		func(j *job, s fettle.Step) bool {
			return j.mat.Caution != "" && (s.Kind == fettle.StepSurface || s.Kind == fettle.StepRub || s.Kind == fettle.StepDeburr || s.Charge != nil)
		},
	},
	{
		fettle.Caution{
			ID:    "gas",
			Says:  "wet fines of this metal free hydrogen, and in a closed barrel pressure and an explosive mixture build up: vent it at the stated hours, away from flames, and never seal it for longer",
			Defer: "the barrel's manual and the compound's safety data sheet", Basis: "stoichiometry of the metal and water; common practice for the hours",
		},
		"gas builds up in a closed barrel with this metal; open it at the stated hours, no flame near",
		func(j *job, s fettle.Step) bool {
			return wetCharge(j, s) && j.mat.HydrogenLPerG > 0 && s.Charge.VentEveryH > 0
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
			ID:    "mop",
			Says:  "a polishing wheel snatches a part at an edge and throws it: work below the middle of the wheel with the edge trailing, hold small parts in a fixture and never in a cloth or a glove, tie back hair and sleeves, face shield on, nobody in line with the wheel; parts come off hot, and lint with metal dust in the hood burns when a spark falls in",
			Defer: "the polisher's manual, 29 CFR 1910 subpart O or the local rule for machine guarding, and NFPA 484 for the dust of metals that burn", Basis: fettle.BasisPractice,
		},
		"a wheel snatches edges and throws parts: below its middle, edge trailing, no gloves, face shield, extraction; parts get hot",
		onKind(fettle.StepBuff),
	},
	{
		fettle.Caution{
			ID:    "turret",
			Says:  "a centrifugal barrel throws a lid or a drum that is not locked: check lids, clamps and balance before every start, keep the interlock as it was made, and let pressure off before a drum is opened, away from the face: it comes out warm",
			Defer: "the machine's manual", Basis: fettle.BasisPractice,
		},
		"lids and clamps locked, drums of one weight, interlock as made; let pressure off away from the face",
		func(j *job, s fettle.Step) bool {
			if s.Charge == nil {
				return false
			}
			v, err := j.shelf.Vessel(s.Charge.Vessel)
			return err == nil && v.Kind == fettle.Centrifugal
		},
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
		func(j *job, s fettle.Step) bool { return s.Charge != nil && j.silica(s.Charge.Media) },
	},
	{
		fettle.Caution{
			ID:    "dust",
			Says:  "sanding and dry media make fine metal dust: work wet or with extraction, wear a respirator that fits and eye protection, wash hands before eating",
			Defer: "the safety data sheets of metal, paper and paste", Basis: fettle.BasisPractice,
		},
		"fine metal dust: wet or with extraction, respirator and eye protection",
		func(j *job, s fettle.Step) bool {
			return s.Kind == fettle.StepRub || s.Kind == fettle.StepBuff || s.Charge != nil && s.Charge.WaterL.Value == 0
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
		func(j *job, s fettle.Step) bool { return wetCharge(j, s) || s.Kind == fettle.StepWash },
	},
}

// metalCaution is the caution that the shelf keeps with the metal itself.
const metalCaution = "metal"
