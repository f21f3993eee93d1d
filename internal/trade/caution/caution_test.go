package caution

import (
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"
)

func metal(t *testing.T, name string) fettle.Material {
	t.Helper()
	m, err := stock.Shelf().Material(name)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func charge(vessel, media string, waterL float64) fettle.Step {
	return fettle.Step{
		Name: media + " in " + vessel, Kind: fettle.StepTumble,
		Charge: &fettle.Charge{Vessel: vessel, Media: media, WaterL: fettle.Exactly(waterL, "test")},
	}
}

func step(k fettle.StepKind) fettle.Step { return fettle.Step{Name: string(k), Kind: k} }

func rubbed(wet bool) fettle.Step {
	return fettle.Step{Name: "rub", Kind: fettle.StepRub, Rub: &fettle.Rub{Wet: wet}}
}

func long(s fettle.Step) fettle.Step {
	s.MinutesAttended = fettle.Exactly(300, "test")
	return s
}

// What each step calls for, by the trade's own sense: kept apart from the tests in
// the list of hazards.
func TestEachStepHasItsCautions(t *testing.T) {
	shelf := stock.Shelf()
	seen := map[string]bool{}
	for name, c := range map[string]struct {
		metal string
		step  fettle.Step
		want  string // ids, alphabetical
	}{
		"a pass in brass":                    {"naval brass", step(fettle.StepSurface), "air edges spindle"},
		"a pass in titanium":                 {"Ti-6Al-4V", step(fettle.StepSurface), "air edges metal spindle"},
		"burrs":                              {"naval brass", step(fettle.StepDeburr), "edges"},
		"burrs of leaded brass, all day":     {"free-cutting brass", long(step(fettle.StepDeburr)), "edges metal strain"},
		"wet paper on brass":                 {"naval brass", rubbed(true), "slurry"},
		"dry paper on brass":                 {"naval brass", rubbed(false), "dust"},
		"paper of which nothing is known":    {"naval brass", step(fettle.StepRub), "dust"},
		"dry paper on titanium":              {"Ti-6Al-4V", rubbed(false), "dust fire metal"},
		"wet paper on aluminium":             {"6061-T6", rubbed(true), "fire metal slurry"},
		"wet paper all day":                  {"1018", long(rubbed(true)), "slurry strain"},
		"a mop on steel":                     {"1018", step(fettle.StepBuff), "dust mop noise"},
		"a mop on magnesium":                 {"AZ31", step(fettle.StepBuff), "dust fire metal mop noise"},
		"brass in a closed wet barrel":       {"naval brass", charge("wet barrel", "ceramic-fine-5", 1), "barrel compound effluent pressure silica wet"},
		"titanium in a closed wet barrel":    {"Ti-6Al-4V", charge("wet barrel", "plastic-cone-15", 1), "barrel compound effluent gas metal wet"},
		"aluminium in an open bowl":          {"6061-T6", charge("bowl", "plastic-cone-15", 2), "barrel compound effluent metal noise wet"},
		"aluminium in a centrifugal barrel":  {"6061-T6", charge("centrifugal barrel", "plastic-cone-15", 0.3), "barrel compound effluent gas metal noise turret wet"},
		"steel in a centrifugal barrel":      {"1018", charge("centrifugal barrel", "porcelain-ball-4", 0.3), "barrel compound effluent noise silica turret wet"},
		"brass in dry cob":                   {"naval brass", charge("dry barrel", "cob-2", 0), "barrel dust shell"},
		"titanium in dry walnut":             {"titanium grade 2", charge("dry barrel", "walnut-1.5", 0), "barrel dust fire metal shell"},
		"media and a barrel from elsewhere":  {"1018", charge("the old one", "grandfather's", 1), "barrel compound effluent pressure silica wet"},
		"aluminium in a barrel of elsewhere": {"6061-T6", charge("the old one", "steel-ball-3", 1), "barrel compound effluent gas metal wet"},
		"a charge that is not made up yet":   {"naval brass", step(fettle.StepTumble), "barrel"},
		"a wash":                             {"naval brass", step(fettle.StepWash), "air effluent wet"},
		"an inspection":                      {"AZ31", step(fettle.StepInspect), ""},
	} {
		route := fettle.Route{c.step}
		var got []string
		for _, k := range Of(route, metal(t, c.metal), shelf) {
			got = append(got, k.ID)
			seen[k.ID] = true
			if !slices.Equal(k.Steps, []string{c.step.Name}) {
				t.Errorf("%s: %s stands beside %v", name, k.ID, k.Steps)
			}
		}
		slices.Sort(got)
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %q, want %q", name, s, c.want)
		}
		if parts := strings.Split(route[0].Caution, "; "); len(got) > 0 && (route[0].Caution == "" || len(parts) < len(got)) {
			t.Errorf("%s: %d hazards, beside the step stands %q", name, len(got), route[0].Caution)
		}
	}
	for _, h := range hazards {
		if !seen[h.ID] {
			t.Errorf("no step here calls for %s", h.ID)
		}
	}
}

// A metal of the user's own that burns, without a caution, is warned of from its
// first chip.
func TestBurningMetalWithoutWords(t *testing.T) {
	own := fettle.Material{Name: "own", DustFire: true, HydrogenLPerG: 0.5}
	route := fettle.Route{step(fettle.StepSurface), charge("wet barrel", "ceramic-fine-5", 1)}
	all := Of(route, own, stock.Shelf())
	if all[0].ID != "fire" || !strings.Contains(route[0].Caution, "burns") || !strings.Contains(route[1].Caution, "gas") {
		t.Errorf("%+v\n%s\n%s", all, route[0].Caution, route[1].Caution)
	}
}

// The worst comes first, a step of one name is named once, and the shelf stays
// what it was; without one nothing falls over.
func TestWholeRoute(t *testing.T) {
	route := fettle.Route{
		step(fettle.StepSurface), rubbed(true), rubbed(true), charge("wet barrel", "ceramic-fine-5", 1),
		step(fettle.StepWash), step(fettle.StepBuff), step(fettle.StepInspect),
	}
	for _, shelf := range []*fettle.Shelf{stock.Shelf(), nil} {
		all := Of(route, metal(t, "Ti-6Al-4V"), shelf)
		if all[0].ID != metalCaution || all[1].ID != "fire" || all[2].ID != "gas" {
			t.Errorf("first come %s, %s and %s", all[0].ID, all[1].ID, all[2].ID)
		}
		if !slices.Equal(all[1].Steps, []string{"rub", "buff"}) {
			t.Errorf("fire stands beside %v", all[1].Steps)
		}
		for i, s := range route {
			if (s.Caution == "") != (s.Kind == fettle.StepInspect) {
				t.Errorf("step %d, %s: %q", i+1, s.Kind, s.Caution)
			}
		}
	}
	route = append(route[:1:1], step(fettle.StepDeburr))
	for _, c := range Of(route, metal(t, "naval brass"), stock.Shelf()) {
		if c.ID == "edges" && !slices.Equal(c.Steps, []string{"deburr"}) {
			t.Errorf("edges that are broken by hand stand beside %v", c.Steps)
		}
	}
	if all := Of(nil, fettle.Material{}, nil); all == nil || len(all) != 0 {
		t.Errorf("no route: %v", all)
	}
}

// Every caution says what to do and where to read on, calmly, and is short beside
// its step.
func TestTexts(t *testing.T) {
	seen := map[string]bool{}
	for _, h := range hazards {
		if seen[h.ID] || h.ID == "" || h.Defer == "" || h.Basis == "" {
			t.Errorf("%q stands twice or lacks where to read on: %+v", h.ID, h.Caution)
		}
		seen[h.ID] = true
		if h.ID == metalCaution {
			continue
		}
		for _, text := range []string{h.Says, h.short} {
			if text == "" || strings.ContainsAny(text, "!") || strings.HasSuffix(text, ".") || strings.ToLower(text[:1]) != text[:1] {
				t.Errorf("%s: %q", h.ID, text)
			}
		}
		if n := len([]rune(h.short)); n > 130 {
			t.Errorf("%s: %d letters are too many beside a step", h.ID, n)
		}
		if !strings.Contains(h.Says, ":") {
			t.Errorf("%s says what can happen and not what to do: %q", h.ID, h.Says)
		}
	}
	if !seen["gas"] || !seen["mop"] {
		t.Error("the list of hazards is not whole")
	}
}
