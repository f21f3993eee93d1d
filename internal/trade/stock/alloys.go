package stock

import "fettle"

// Litres of hydrogen at 0 °C and 1 atm that a gram of metal frees from water:
// stoichiometry with a molar volume of 22.414 l. Copper alloys and steels react
// too slowly in a barrel to matter.
const (
	hydrogenAl = 1.2461 // 2 Al + 6 H₂O → 2 Al(OH)₃ + 3 H₂
	hydrogenMg = 0.9222 // Mg + 2 H₂O → Mg(OH)₂ + H₂
	hydrogenTi = 0.9365 // Ti + 2 H₂O → TiO₂ + 2 H₂
)

// The cautions that belong to a metal whatever is done with it.
const (
	cautionMagnesium = "Magnesium chips and dust burn violently, and water makes it worse: cut dry or in mineral oil with sharp tools, " +
		"clear the chips often, keep a class D extinguisher and dry sand at hand, and rub it wet or not at all. " +
		"In a barrel it frees hydrogen: never seal one, vent it outdoors, and keep fines from drying out in a heap. " +
		"See the metal's safety data sheet and NFPA 484."
	cautionTitanium = "Titanium chips and dust burn: keep tools sharp and cool, never grind or rub it dry where sparks from steel can fall, " +
		"keep wet fines wet, and never let dust settle. See the metal's safety data sheet and NFPA 484."
	cautionAluminium = "Aluminium dust burns and its fines free hydrogen from water: rub wet, vent a closed barrel, " +
		"and never mix its dust with steel's. See NFPA 484."
	cautionLead = "This alloy holds lead: no dry rubbing without extraction, wash hands before eating, and keep fines and rinse water out of the drain. " +
		"See the metal's safety data sheet."
	cautionChromium = "Grinding dust of stainless steel holds chromium and nickel: rub wet or with extraction. See the metal's safety data sheet."
)

// family is what alloys that machine and wear alike have in common.
type family struct {
	class    fettle.HardnessClass
	iso      string
	speed    [3]float64 // m/min, carbide ball at its effective diameter
	feed     float64    // mm a tooth, 6 mm ball
	hydrogen float64
	dustFire bool
	rusts    bool
	caution  string
}

var (
	brasses    = family{fettle.ClassBrass, "N", [3]float64{150, 75, 300}, 0.035, 0, false, false, ""}
	aluminiums = family{fettle.ClassAluminium, "N", [3]float64{250, 120, 500}, 0.040, hydrogenAl, true, false, cautionAluminium}
	stainless  = family{fettle.ClassStainless, "M", [3]float64{80, 45, 115}, 0.025, 0, false, false, cautionChromium}
	titaniums  = family{fettle.ClassTitanium, "S", [3]float64{60, 30, 100}, 0.025, hydrogenTi, true, false, cautionTitanium}
	steels     = family{fettle.ClassMildSteel, "P", [3]float64{110, 60, 200}, 0.030, 0, false, true, ""}
)

// alloy makes a material. kc and mc are of the table's row, density and
// hardness handbook values from memory, price US$ a kilogram.
func (f family) alloy(name, title string, density, hb, kc, mc, price float64, aliases ...string) fettle.Material {
	return fettle.Material{
		Name: name, Title: title, Aliases: aliases,
		Class: f.class, ISOGroup: f.iso,
		Density: density, HardnessB: hb, KC11: kc, MC: mc,
		CutSpeed:      fettle.Guess(f.speed[0], f.speed[1], f.speed[2], supplier),
		FeedPerTooth:  fettle.Guess(f.feed, f.feed*0.6, f.feed*1.4, supplier),
		PricePerKg:    about(price, 2),
		HydrogenLPerG: f.hydrogen,
		DustFire:      f.dustFire,
		Rusts:         f.rusts,
		Caution:       f.caution,
		Basis:         "kc1.1 and its exponent: " + kienzle + "; density and hardness: handbook values from memory",
	}
}

func alloys() []fettle.Material {
	freeCutting, leaded := brasses, brasses
	freeCutting.caution, leaded.caution = cautionLead, cautionLead
	copper := brasses
	copper.speed, copper.feed = [3]float64{120, 60, 240}, 0.030
	// A magnesium alloy wears like a soft aluminium one and burns unlike it.
	magnesium := aluminiums
	magnesium.hydrogen, magnesium.caution = hydrogenMg, cautionMagnesium
	mg := magnesium.alloy("AZ31", "Magnesium AZ31B", 1.77, 49, 280, 0.19, 60, "magnesium", "M1311", "AZ31B")
	mg.Basis = "kc1.1, its exponent, density and hardness from memory: the catalogue has no row for magnesium"
	hard := stainless
	hard.iso = "P"

	all := []fettle.Material{
		brasses.alloy("naval brass", "Naval brass C46400", 8.41, 100, 700, 0.27, 18, "C46400", "464"),
		freeCutting.alloy("free-cutting brass", "Free-cutting brass C36000", 8.49, 110, 700, 0.27, 16, "C36000", "360", "brass"),
		brasses.alloy("cartridge brass", "Cartridge brass C26000", 8.53, 90, 700, 0.27, 17, "C26000", "260"),
		copper.alloy("copper", "Copper C11000", 8.94, 85, 700, 0.27, 22, "C11000", "110", "ETP copper"),
		leaded.alloy("bearing bronze", "Bearing bronze C93200", 8.93, 65, 700, 0.27, 28, "C93200", "932", "SAE 660"),
		aluminiums.alloy("6061-T6", "Aluminium 6061-T6", 2.70, 95, 800, 0.25, 12, "6061", "aluminium", "aluminum"),
		aluminiums.alloy("7075-T6", "Aluminium 7075-T6", 2.81, 150, 800, 0.25, 20, "7075"),
		aluminiums.alloy("2024-T351", "Aluminium 2024-T351", 2.78, 120, 800, 0.25, 22, "2024", "2024-T3"),
		stainless.alloy("303", "Stainless steel 303", 8.00, 180, 2150, 0.20, 13, "303 stainless", "S30300", "1.4305"),
		stainless.alloy("304", "Stainless steel 304", 8.00, 180, 2150, 0.20, 12, "304 stainless", "S30400", "1.4301", "stainless"),
		stainless.alloy("316L", "Stainless steel 316L", 8.00, 160, 2150, 0.20, 15, "316", "316L stainless", "S31603", "1.4404"),
		hard.alloy("17-4PH", "Stainless steel 17-4PH, solution annealed", 7.80, 330, 1875, 0.21, 25, "17-4", "S17400", "1.4542", "630"),
		titaniums.alloy("titanium grade 2", "Titanium grade 2", 4.51, 150, 1700, 0.23, 70, "grade 2", "Ti-2", "CP titanium", "R50400"),
		titaniums.alloy("Ti-6Al-4V", "Titanium Ti-6Al-4V (grade 5), annealed", 4.43, 330, 2110, 0.22, 90, "titanium grade 5", "grade 5", "titanium", "Ti64", "R56400"),
		steels.alloy("1018", "Mild steel 1018", 7.87, 126, 1350, 0.21, 5, "mild steel", "1018 steel", "G10180"),
		steels.alloy("4140", "Steel 4140, annealed", 7.85, 197, 1775, 0.24, 7, "4140 annealed", "G41400", "42CrMo4"),
		mg,
	}
	for i := range all {
		if all[i].Sold = sold(all[i]); all[i].Sold != nil {
			all[i].Basis += "; sizes sold: common sizes, from memory"
		}
	}
	return all
}
