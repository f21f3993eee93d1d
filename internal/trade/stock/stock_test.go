package stock

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"fettle"

	"github.com/google/go-cmp/cmp"
)

// walk calls f with every estimate below v and the path that leads to it.
func walk(v reflect.Value, path string, f func(string, fettle.Estimate)) {
	if e, ok := v.Interface().(fettle.Estimate); ok {
		if e != (fettle.Estimate{}) || !strings.Contains(path, ".Sold") { // a size without a price of its own goes by weight
			f(path, e)
		}
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		name := path
		if n := v.FieldByName("Name"); n.IsValid() {
			name += "[" + n.String() + "]"
		}
		for i := range v.NumField() {
			walk(v.Field(i), name+"."+v.Type().Field(i).Name, f)
		}
	case reflect.Slice:
		for i := range v.Len() {
			walk(v.Index(i), path, f)
		}
	}
}

func TestEveryEstimateIsValidAndSaysWhy(t *testing.T) {
	n := 0
	walk(reflect.ValueOf(*Shelf()), "shelf", func(path string, e fettle.Estimate) {
		n++
		if !e.Valid() {
			t.Errorf("%s = %+v is not a valid estimate", path, e)
		}
		if e.Value <= 0 || e.Low <= 0 {
			t.Errorf("%s = %+v cannot be read as log-normal", path, e)
		}
	})
	if n < 300 {
		t.Errorf("walked over %d estimates only", n)
	}
}

func TestEverythingHasAUniqueNameABasisAndASize(t *testing.T) {
	s := Shelf()
	seen := map[string]string{}
	name := func(kind, name, title, basis string) {
		if name == "" || title == "" || basis == "" {
			t.Errorf("%s %q (%q) lacks a name, a title or a basis", kind, name, title)
		}
		key := kind + "/" + strings.ToLower(name)
		if seen[key] != "" {
			t.Errorf("%s %q stands on the shelf twice", kind, name)
		}
		seen[key] = title
	}
	for _, m := range s.Materials {
		name("material", m.Name, m.Title, m.Basis)
		for _, a := range m.Aliases {
			name("material", a, m.Title, m.Basis)
			if got, err := s.Material(a); err != nil || got.Name != m.Name {
				t.Errorf("alias %q finds %q (%v)", a, got.Name, err)
			}
		}
	}
	for _, l := range s.Looks {
		name("look", l.Name, l.Title, l.Basis)
		if l.Says == "" {
			t.Errorf("look %q says nothing to the customer", l.Name)
		}
	}
	for _, c := range s.Cutters {
		name("cutter", c.Name, c.Title, c.Basis)
		if c.DiameterMM <= 0 || c.ReachMM <= 0 || c.CornerMM > c.DiameterMM/2 || c.Flutes < 1 || c.FluteMM > c.ReachMM {
			t.Errorf("cutter %q has an impossible size: %+v", c.Name, c)
		}
		if c.Shape == fettle.Ball && c.CornerMM != c.DiameterMM/2 {
			t.Errorf("ball %q has a corner radius of %g", c.Name, c.CornerMM)
		}
	}
	for _, j := range s.Jaws {
		name("jaws", j.Name, j.Title, j.Basis)
	}
	for _, g := range s.Grits {
		name("grit", g.Name, g.Name, g.Basis)
	}
	for _, m := range s.Media {
		name("media", m.Name, m.Title, m.Basis)
		if m.SizeMM[0] <= 0 || m.SizeMM[1] <= 0 || m.Worn <= 0 || m.Worn > 1 || m.OnShelfL <= 0 {
			t.Errorf("media %q has an impossible size: %+v", m.Name, m)
		}
	}
	for _, v := range s.Vessels {
		name("vessel", v.Name, v.Title, v.Basis)
		if !v.Wet && !v.Dry {
			t.Errorf("vessel %q runs neither wet nor dry", v.Name)
		}
	}
	for _, m := range s.Machines {
		name("machine", m.Name, m.Title, m.Basis)
	}
	for kind, want := range map[string][2]int{
		"materials": {14, len(s.Materials)}, "cutters": {12, len(s.Cutters)}, "media": {10, len(s.Media)},
		"grits": {10, len(s.Grits)}, "vessels": {3, len(s.Vessels)}, "mills": {2, len(s.Machines)},
		"jaws": {2, len(s.Jaws)}, "looks": {7, len(s.Looks)},
	} {
		if want[1] < want[0] {
			t.Errorf("%d %s on the shelf, want %d or more", want[1], kind, want[0])
		}
	}
}

// Rows of kc1.1 (N/mm²) and its exponent by VDI 3323 group, from a turning
// catalogue of 2017, read; the mapping of alloys to groups is ours. AZ31 has no
// group there.
func TestCuttingForcesAreTheCatalogues(t *testing.T) {
	groups := map[int][2]float64{
		1: {1350, 0.21}, 6: {1775, 0.24}, 13: {1875, 0.21}, 14: {2150, 0.20}, 22: {800, 0.25},
		26: {700, 0.27}, 27: {700, 0.27}, 28: {700, 0.27}, 36: {1700, 0.23}, 37: {2110, 0.22},
	}
	of := map[string]int{
		"naval brass": 27, "free-cutting brass": 26, "cartridge brass": 27, "copper": 28, "bearing bronze": 26,
		"6061-T6": 22, "7075-T6": 22, "2024-T351": 22, "303": 14, "304": 14, "316L": 14, "17-4PH": 13,
		"titanium grade 2": 36, "Ti-6Al-4V": 37, "1018": 1, "4140": 6,
	}
	for _, m := range Shelf().Materials {
		g, ok := of[m.Name]
		if !ok {
			if m.Name != "AZ31" {
				t.Errorf("%s maps to no group", m.Name)
			}
			continue
		}
		if got := [2]float64{m.KC11, m.MC}; got != groups[g] {
			t.Errorf("%s has kc1.1 and mc %v, group %d says %v", m.Name, got, g, groups[g])
		}
	}
}

// Densities in g/cm³ as common handbooks of metals print them, to the 1 % by
// which they differ; kept apart from the shelf's own column.
func TestDensitiesAreTheHandbooks(t *testing.T) {
	handbook := map[string]float64{
		"naval brass": 8.41, "free-cutting brass": 8.50, "cartridge brass": 8.53, "copper": 8.91, "bearing bronze": 8.91,
		"6061-T6": 2.70, "7075-T6": 2.80, "2024-T351": 2.77, "303": 7.98, "304": 7.98, "316L": 7.98, "17-4PH": 7.78,
		"titanium grade 2": 4.51, "Ti-6Al-4V": 4.43, "1018": 7.86, "4140": 7.85, "AZ31": 1.77,
	}
	known := map[fettle.HardnessClass]bool{
		fettle.ClassAluminium: true, fettle.ClassBrass: true, fettle.ClassMildSteel: true,
		fettle.ClassStainless: true, fettle.ClassTitanium: true, fettle.ClassHardened: true,
	}
	for _, m := range Shelf().Materials {
		if d := handbook[m.Name]; math.Abs(m.Density-d) > 0.01*d {
			t.Errorf("%s weighs %g g/cm³, handbooks say %g", m.Name, m.Density, d)
		}
		if !known[m.Class] {
			t.Errorf("%s has the unknown class %q", m.Name, m.Class)
		}
		if m.DustFire && m.Caution == "" {
			t.Errorf("%s burns and carries no caution", m.Name)
		}
	}
	mg, err := Shelf().Material("magnesium")
	if err != nil || !strings.Contains(mg.Caution, "class D") || !strings.Contains(mg.Caution, "NFPA 484") {
		t.Errorf("magnesium's caution is too mild: %q (%v)", mg.Caution, err)
	}
}

// Hydrogen in litres a gram: stoichiometry, electrons over two, with the atomic
// masses of IUPAC and 22.414 l/mol.
func TestHydrogenIsStoichiometric(t *testing.T) {
	for name, want := range map[string]float64{
		"6061-T6": 1.5 * 22.414 / 26.982, "AZ31": 22.414 / 24.305, "Ti-6Al-4V": 2 * 22.414 / 47.867,
		"naval brass": 0, "1018": 0,
	} {
		m, err := Shelf().Material(name)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(m.HydrogenLPerG-want) > 2e-4 {
			t.Errorf("%s frees %g l/g, stoichiometry says %g", name, m.HydrogenLPerG, want)
		}
	}
}

// Mean grain in µm by grade, published table, read.
func TestGrainsAreThePublishedTables(t *testing.T) {
	want := map[string]float64{
		"P80": 201, "P100": 162, "P120": 125, "P150": 100, "P180": 82, "P220": 68, "P240": 60, "P280": 52, "P320": 46,
		"P360": 40, "P400": 35, "P500": 30, "P600": 26, "P800": 22, "P1000": 18, "P1200": 15, "P1500": 13, "P2000": 10,
		"CAMI 120": 116, "CAMI 220": 68, "CAMI 320": 35, "CAMI 400": 22, "CAMI 600": 15,
	}
	got := map[string]float64{}
	for _, g := range Shelf().Grits {
		got[g.Name] = g.GrainUM
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	// ISO 6344-3 gives the medians of the fine grades, from memory; the read
	// column must be the same grains to the width of a grade.
	for name, ds50 := range map[string]float64{
		"P240": 58.5, "P280": 52.2, "P320": 46.2, "P360": 40.5, "P400": 35.0, "P500": 30.2, "P600": 25.8,
		"P800": 21.8, "P1000": 18.3, "P1200": 15.3, "P1500": 12.6, "P2000": 10.3,
	} {
		if math.Abs(got[name]-ds50) > 0.035*ds50 {
			t.Errorf("%s has grains of %g µm, the standard's median is %g", name, got[name], ds50)
		}
	}
}

func TestScratchesTakeInBothPublishedTables(t *testing.T) {
	inside := func(what string, e fettle.Estimate, v float64) {
		if v < e.Low || v > e.High {
			t.Errorf("%s: %g µm lies outside %g–%g", what, v, e.Low, e.High)
		}
	}
	// Ground austenitic stainless across the lay, Ra and Rz in µm; Lexikon der
	// Pharmatechnologie (2013). Grain sizes for grades the shelf does not hold.
	grains := map[string]float64{"P60": 269, "P36": 538}
	for _, g := range append(grits(), extra(grains)...) {
		for grade, row := range map[string][2]float64{
			"P60": {1.8, 7}, "P80": {1.3, 6}, "P120": {1.0, 4}, "P150": {0.8, 3}, "P180": {0.7, 2.2},
			"P220": {0.6, 1.7}, "P240": {0.4, 1.3}, "P280": {0.3, 0.9}, "P320": {0.25, 0.75}, "P360": {0.2, 0.6},
		} {
			if g.Name != grade {
				continue
			}
			inside(grade+" Ra", g.RaUM, row[0])
			inside(grade+" Rz", g.RzUM, row[1])
			// The fit itself follows its own table to a third.
			if r := g.RaUM.Value / row[0]; r < 0.65 || r > 1.5 {
				t.Errorf("%s: the fit gives Ra %g µm for %g", grade, g.RaUM.Value, row[0])
			}
		}
	}
	// Another table of practice, of low trust: it differs by 2 to 4 times.
	for name, ra := range map[string]float64{
		"P120": 3, "P180": 2, "P240": 1.5, "P320": 0.75, "P500": 0.40, "CAMI 320": 0.25,
	} {
		found := false
		for _, g := range grits() {
			if g.Name == name {
				found = true
				inside(name+" of the other table", g.RaUM, ra)
			}
		}
		if !found {
			t.Errorf("%s is not on the shelf", name)
		}
	}
	for grain, ra := range map[float64]float64{192: 1.65, 82: 0.62, 52: 0.45} { // CAMI 80, 180, 240
		inside("CAMI of the other table", scratch(raScale, raPower, grain), ra)
	}
}

func extra(grains map[string]float64) []fettle.Grit {
	var out []fettle.Grit
	for name, d := range grains {
		g := grit(fettle.ScaleP, "P", "ISO 6344", 0, d)
		g.Name = name
		out = append(out, g)
	}
	return out
}

// Thickness of A weight paper in mm, a starting guess to 20 %.
func TestPaperIsAsThickAsItsGrainAsks(t *testing.T) {
	for _, g := range grits() {
		want, ok := map[string]float64{"P120": 0.23, "P240": 0.17, "P400": 0.15}[g.Name]
		if ok && math.Abs(g.ThickMM.Value-want) > 0.005 {
			t.Errorf("%s is %g mm thick, want %g", g.Name, g.ThickMM.Value, want)
		}
	}
}

// Half the volume is the cube root of a half in size.
func TestMediaAreWornOutAtHalfTheirVolume(t *testing.T) {
	if math.Abs(halfVolume-math.Cbrt(0.5)) > 5e-4 {
		t.Errorf("half a volume is %g of the size, not %g", math.Cbrt(0.5), halfVolume)
	}
	for _, m := range Shelf().Media {
		if m.BulkKgL <= 0.3 || m.BulkKgL > 5 {
			t.Errorf("%s weighs %g kg/l", m.Name, m.BulkKgL)
		}
		if m.Kind == fettle.CeramicFast && (m.BulkKgL < 1.52 || m.BulkKgL > 1.76) {
			t.Errorf("%s weighs %g kg/l, ceramics 1.52–1.76", m.Name, m.BulkKgL)
		}
	}
}

func TestShelvesAreSeparateCopies(t *testing.T) {
	a := Shelf()
	a.Materials[0].Density = 1
	a.Materials[0].Aliases[0] = "changed"
	if b := Shelf(); b.Materials[0].Density == 1 || b.Materials[0].Aliases[0] == "changed" {
		t.Error("a change to one shelf shows on the next")
	}
}
