package fettle

import (
	"sort"
	"strings"
)

// Rates are what an hour costs, in one currency.
type Rates struct {
	Currency    string   `json:"currency"`
	PersonPerH  Estimate `json:"person_per_h"`
	MarginShare float64  `json:"margin_share"`  // of the price
	ScrapShare  float64  `json:"scrap_share"`   // pieces lost, of those started
	ProgramH    Estimate `json:"program_h"`     // programming and fixtures, once a lot
	SetupMin    Estimate `json:"setup_min"`     // each set-up of the mill
	SampleLoops float64  `json:"sample_loops"`  // rounds with the customer before the lot
	HandlingMin Estimate `json:"handling_min"`  // load, unload, rinse, a piece
	RoughMinCM3 Estimate `json:"rough_min_cm3"` // roughing, minutes per cm³ of mild steel
	StockOverMM float64  `json:"stock_over_mm"` // saw-cut oversize on each side
	// DayH is how many hours of a day a person is at it; see [Rates.Day].
	DayH         float64  `json:"day_h"`
	CompoundPerL Estimate `json:"compound_per_l"`
	// Learning of work by hand over a lot.
	Learning Learning `json:"learning,omitzero"`
	// Sawing: minutes of a person for each cut, what the blade turns to chips, and
	// which share of a bar's rest the lot pays, 0 to 1.
	SawMin    Estimate `json:"saw_min,omitzero"`
	KerfMM    float64  `json:"kerf_mm,omitempty"`
	DropShare float64  `json:"drop_share,omitempty"`
	// PrintPerCM3 is what a cubic centimetre of a printed block or plug costs,
	// JawsEach the metal of a pair of jaws, and JawMin the minutes, of a person and the
	// mill, to cut a pocket.
	PrintPerCM3 Estimate `json:"print_per_cm3,omitzero"`
	JawsEach    Estimate `json:"jaws_each,omitzero"`
	JawMin      Estimate `json:"jaw_min,omitzero"`
	// Calendar is when somebody is in.
	Calendar Calendar `json:"calendar,omitzero"`
	// Display is the units in which the shop reads its numbers; empty means metric.
	Display System `json:"display,omitempty"`
	Basis   string `json:"basis"`
}

// Day is how many hours of a day a person is at it: 8 where the shelf does not say.
func (r Rates) Day() float64 {
	if r.DayH > 0 {
		return r.DayH
	}
	return 8
}

// Shelf is everything the shop owns, by name.
type Shelf struct {
	Materials []Material `json:"materials"`
	Looks     []Look     `json:"looks"`
	Cutters   []Cutter   `json:"cutters"`
	Jaws      []Jaws     `json:"jaws"`
	Grits     []Grit     `json:"grits"`
	Mops      []Mop      `json:"mops"`
	Softs     []Soft     `json:"softs"`
	Media     []Media    `json:"media"`
	Vessels   []Vessel   `json:"vessels"`
	Machines  []Machine  `json:"machines"`
	Rates     Rates      `json:"rates"`
}

// Material finds an alloy by name, title or alias.
func (s *Shelf) Material(name string) (Material, error) {
	for _, m := range s.Materials {
		for _, n := range append([]string{m.Name, m.Title}, m.Aliases...) {
			if sameName(n, name) {
				return m, nil
			}
		}
	}
	return Material{}, notOnShelf("material", name, s.Materials, func(m Material) string { return m.Name })
}

// Look finds a finish by name.
func (s *Shelf) Look(name string) (Look, error) {
	return find("finish", name, s.Looks, func(l Look) string { return l.Name })
}

// Cutter finds a cutter by name.
func (s *Shelf) Cutter(name string) (Cutter, error) {
	return find("cutter", name, s.Cutters, func(c Cutter) string { return c.Name })
}

// MediaNamed finds media by name.
func (s *Shelf) MediaNamed(name string) (Media, error) {
	return find("media", name, s.Media, func(m Media) string { return m.Name })
}

// Mop finds a mop by name.
func (s *Shelf) Mop(name string) (Mop, error) {
	return find("mop", name, s.Mops, func(m Mop) string { return m.Name })
}

// Soft finds a soft material by name; an empty name finds the first.
func (s *Shelf) Soft(name string) (Soft, error) {
	if name == "" && len(s.Softs) > 0 {
		return s.Softs[0], nil
	}
	return find("soft material", name, s.Softs, func(m Soft) string { return m.Name })
}

// Grit finds a grit by name.
func (s *Shelf) Grit(name string) (Grit, error) {
	return find("grit", name, s.Grits, func(g Grit) string { return g.Name })
}

// Pair finds a pair of soft jaws by name.
func (s *Shelf) Pair(name string) (Jaws, error) {
	return find("pair of jaws", name, s.Jaws, func(j Jaws) string { return j.Name })
}

// Vessel finds a barrel or bowl by name.
func (s *Shelf) Vessel(name string) (Vessel, error) {
	return find("barrel or bowl", name, s.Vessels, func(v Vessel) string { return v.Name })
}

// find returns the item whose name is the one asked for, or says what there
// is.
func find[T any](kind, name string, items []T, nameOf func(T) string) (T, error) {
	for _, it := range items {
		if sameName(nameOf(it), name) {
			return it, nil
		}
	}
	var none T
	return none, notOnShelf(kind, name, items, nameOf)
}

func notOnShelf[T any](kind, name string, items []T, nameOf func(T) string) error {
	names := make([]string, 0, len(items))
	for _, it := range items {
		names = append(names, nameOf(it))
	}
	sort.Strings(names)
	if len(names) == 0 {
		return Errorf(NotFound, "%s %q is not on the shelf, which holds none yet", kind, name)
	}
	return Errorf(NotFound, "%s %q is not on the shelf; there is: %s", kind, name, strings.Join(names, ", "))
}

// sameName compares without case, and with spaces, hyphens and underscores
// alike.
func sameName(a, b string) bool { return FoldName(a) == FoldName(b) }

// FoldName is a name as it is compared: without case, spaces, hyphens and
// underscores.
func FoldName(s string) string {
	return strings.ToLower(strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' || r == '_' {
			return -1
		}
		return r
	}, s))
}

// Mill finds a machine by name; an empty name finds the first.
func (s *Shelf) Mill(name string) (Machine, error) {
	if name == "" && len(s.Machines) > 0 {
		return s.Machines[0], nil
	}
	return find("mill", name, s.Machines, func(m Machine) string { return m.Name })
}
