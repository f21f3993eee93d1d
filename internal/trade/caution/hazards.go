package caution

import (
	"slices"

	"fettle"
)

// hazard is a caution with the test of whether a step calls for it.
type hazard struct {
	fettle.Caution
	short string // what stands beside the step
	when  func(j *job, s fettle.Step) bool
}

// metalCaution is the caution that the shelf keeps with the metal itself.
const metalCaution = "metal"

// longByHandMin is the time at one step, minutes, from which hands and wrists want
// to be spared.
const longByHandMin = 120

const (
	guarding = "29 CFR 1910 subpart O or the local rule for machine guarding"
	subpartO = "29 CFR 1910 subpart O, from memory"
)

func onKind(kinds ...fettle.StepKind) func(*job, fettle.Step) bool {
	return func(_ *job, s fettle.Step) bool { return slices.Contains(kinds, s.Kind) }
}

func wetCharge(_ *job, s fettle.Step) bool { return s.Charge != nil && s.Charge.WaterL.Value > 0 }

func dryCharge(_ *job, s fettle.Step) bool { return s.Charge != nil && !(s.Charge.WaterL.Value > 0) }

// closedWet is a charge that gas cannot leave by itself.
func closedWet(j *job, s fettle.Step) bool {
	return wetCharge(j, s) && (s.Charge.VentEveryH > 0 || j.closed(s.Charge.Vessel))
}

func rubbedWet(s fettle.Step) bool {
	return s.Kind == fettle.StepRub && s.Rub != nil && s.Rub.Wet
}

// makesDust is whatever makes dry dust of the metal.
func makesDust(j *job, s fettle.Step) bool {
	return s.Kind == fettle.StepBuff || s.Kind == fettle.StepRub && !rubbedWet(s) || dryCharge(j, s)
}

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
			return j.mat.Caution != "" && (onKind(fettle.StepSurface, fettle.StepRub, fettle.StepDeburr, fettle.StepBuff)(j, s) || s.Charge != nil)
		},
	},
	{
		fettle.Caution{
			ID:    "fire",
			Says:  "fine dust of this metal burns, in the air as an explosion: keep it out of any hood, bench or vacuum that steel sparks, rusty dust or lint go through, use a collector made for it, wipe damp and often, keep sludge wet, and have a class D extinguisher at hand; water on burning metal makes it worse",
			Defer: "NFPA 484, the metal's safety data sheet and the local fire code", Basis: "NFPA 484, from memory",
		},
		"this metal's dust burns: own hood, no steel sparks, wipe damp, class D extinguisher, no water on a fire",
		func(j *job, s fettle.Step) bool {
			// Chips are for the metal's own caution to speak of, where it has one.
			return j.mat.DustFire && (makesDust(j, s) || s.Kind == fettle.StepRub || s.Kind == fettle.StepSurface && j.mat.Caution == "")
		},
	},
	{
		fettle.Caution{
			ID:    "gas",
			Says:  "wet fines of this metal free hydrogen, and in a closed barrel pressure and an explosive mixture build up: vent it at the stated hours, away from flames and switches, and never seal it for longer, nor leave it closed with the load standing",
			Defer: "the barrel's manual and the compound's safety data sheet", Basis: "stoichiometry of the metal and water; common practice for the hours",
		},
		"gas builds up in a closed barrel with this metal; open it at the stated hours, no flame near",
		func(j *job, s fettle.Step) bool { return closedWet(j, s) && j.mat.HydrogenLPerG > 0 },
	},
	{
		fettle.Caution{
			ID:    "mop",
			Says:  "a polishing wheel snatches a part at an edge and throws it: work below the middle of the wheel and away from edges, with the edge trailing, hold small parts in a fixture and never in a cloth or a glove, tie back hair and sleeves, wear a face shield, and let nobody stand in line with the wheel; parts get hot enough to burn, and a bar is put to a turning wheel lightly, below the middle too",
			Defer: "the polisher's manual and " + guarding, Basis: fettle.BasisPractice,
		},
		"a wheel snatches edges and throws parts: below its middle, edge trailing, no gloves, face shield, extraction; parts get hot",
		onKind(fettle.StepBuff),
	},
	{
		fettle.Caution{
			ID:    "turret",
			Says:  "a centrifugal barrel throws a lid or a drum that is not locked: check lids, clamps and balance before every start, drums across from each other of one weight, keep the interlock as it was made, wait until it stands still, and let pressure off before a drum is opened, away from the face: it comes out warm",
			Defer: "the machine's manual and " + guarding, Basis: fettle.BasisPractice,
		},
		"lids and clamps locked, drums of one weight, interlock as made; let pressure off away from the face",
		func(j *job, s fettle.Step) bool {
			return s.Charge != nil && j.kind(s.Charge.Vessel) == fettle.Centrifugal
		},
	},
	{
		fettle.Caution{
			ID:    "spindle",
			Says:  "a spindle catches gloves, sleeves and paper: no gloves near it, guards shut, and never hold abrasive paper against anything that turns under power",
			Defer: "the mill's manual and " + guarding, Basis: subpartO,
		},
		"guards shut, no gloves or loose sleeves near the spindle, eye protection",
		onKind(fettle.StepSurface),
	},
	{
		fettle.Caution{
			ID:    "barrel",
			Says:  "a turning barrel or a running bowl draws in hands and cloth, and a full one is heavy: guard it, stop it and pull the plug before the lid is touched or a hand goes in, and lift with two",
			Defer: "the machine's manual and " + guarding, Basis: subpartO,
		},
		"stop and unplug before the lid is touched or a hand goes in; guard what moves; lift with two",
		onKind(fettle.StepTumble),
	},
	{
		fettle.Caution{
			ID:    "pressure",
			Says:  "a closed wet barrel can stand under pressure from warmth, foam and what its compound does to the metal: let it cool, turn the lid slowly away from the face, and vent it at least every twelve hours",
			Defer: "the barrel's manual and the compound's safety data sheet", Basis: "a barrel's manual, read, for the hours; common practice",
		},
		"a closed barrel may stand under pressure: let it cool, open it slowly, away from the face",
		func(j *job, s fettle.Step) bool {
			return closedWet(j, s) && j.mat.HydrogenLPerG == 0 && j.kind(s.Charge.Vessel) != fettle.Centrifugal
		},
	},
	{
		fettle.Caution{
			ID:    "wet",
			Says:  "water and mains stand side by side here: a residual-current device on the socket, cables off the floor, the floor kept dry enough to walk on",
			Defer: "the local electrical code and a licensed electrician", Basis: fettle.BasisPractice,
		},
		"wet floor and mains: residual-current device on the socket, cables off the floor",
		func(j *job, s fettle.Step) bool { return wetCharge(j, s) || s.Kind == fettle.StepWash },
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
			Says:  "dry sanding, dry media and wheels make fine dust of metal, grit and paste: work with extraction, wear a respirator that fits and eye protection, never blow it off, wash hands before eating",
			Defer: "the safety data sheets of metal, paper and paste", Basis: fettle.BasisPractice,
		},
		"fine metal dust: extraction, respirator and eye protection, hands washed before eating",
		makesDust,
	},
	{
		fettle.Caution{
			ID:    "slurry",
			Says:  "the slurry of wet sanding dries to the same fine dust: wipe it up while it is wet, keep it off the skin and out of the drain, eye protection on, hands washed before eating",
			Defer: "the safety data sheets of metal and paper", Basis: fettle.BasisPractice,
		},
		"wipe the slurry up wet, before it is dust; eye protection, hands washed before eating",
		func(_ *job, s fettle.Step) bool { return rubbedWet(s) },
	},
	{
		fettle.Caution{
			ID:    "shell",
			Says:  "the dust of cob and nut shell burns and makes some people ill: keep flames away, wear a respirator when it is filled and sieved, and let nobody with an allergy to nuts near walnut shell",
			Defer: "the media's safety data sheet", Basis: fettle.BasisPractice,
		},
		"dust of cob and shell: no flame, respirator when sieving, nobody with a nut allergy near walnut",
		func(j *job, s fettle.Step) bool { return s.Charge != nil && j.plant(s.Charge.Media) },
	},
	{
		fettle.Caution{
			ID:    "compound",
			Says:  "compounds can burn skin and eyes, and some must never meet: gloves and goggles for filling and emptying, one compound at a time, the vessel rinsed between two",
			Defer: "the compound's safety data sheet; 29 CFR 1910.1200", Basis: fettle.BasisPractice,
		},
		"compound: gloves and goggles, never two mixed",
		wetCharge,
	},
	{
		fettle.Caution{
			ID:    "edges",
			Says:  "fresh edges and burrs cut and splinter: cut-resistant gloves for handling and filing (away from anything that turns), eye protection, no bare fingers along an edge",
			Defer: "the shop's own rules", Basis: fettle.BasisPractice,
		},
		"burrs cut: gloves for handling but not near what turns, eye protection, file away from the hand",
		func(j *job, s fettle.Step) bool {
			// Where nobody breaks the edges by hand, they come off the mill as they are.
			return s.Kind == fettle.StepDeburr || s.Kind == fettle.StepSurface && !j.deburred
		},
	},
	{
		fettle.Caution{
			ID:    "air",
			Says:  "compressed air drives chips and grit into eyes and skin, and dust into lungs: brush or rinse chips off, blow dry only with a nozzle under 30 psi (2 bar) and a guard, eye protection on, never towards a person",
			Defer: "29 CFR 1910.242(b) or the local rule for compressed air", Basis: "29 CFR 1910.242(b), from memory",
		},
		"no bare air line on chips or parts: low-pressure nozzle, eye protection",
		onKind(fettle.StepSurface, fettle.StepWash),
	},
	{
		fettle.Caution{
			ID:    "noise",
			Says:  "bowls, centrifugal barrels and polishing wheels can be loud enough to cost hearing: lids on, ears covered, and a measurement where it has to be shouted over",
			Defer: "29 CFR 1910.95 (action at 85 dBA over eight hours) or the local rule for noise", Basis: "29 CFR 1910.95, from memory",
		},
		"loud: hearing protection",
		func(j *job, s fettle.Step) bool {
			if s.Charge == nil {
				return s.Kind == fettle.StepBuff
			}
			k := j.kind(s.Charge.Vessel)
			return k == fettle.Vibratory || k == fettle.Centrifugal
		},
	},
	{
		fettle.Caution{
			ID:    "strain",
			Says:  "hours of the same stroke hurt hands, wrists and shoulders: change hands and grip, rest a few minutes in every hour, spread the lot over days, and stop when fingers tingle",
			Defer: "the shop's own rules and a doctor", Basis: fettle.BasisPractice,
		},
		"hours of the same stroke: rest a few minutes in every hour",
		func(j *job, s fettle.Step) bool {
			return s.MinutesAttended.Value > longByHandMin && onKind(fettle.StepRub, fettle.StepDeburr, fettle.StepBuff)(j, s)
		},
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
