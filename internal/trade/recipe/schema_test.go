package recipe

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// published is the schema as a text and as a library that others wrote compiles it.
func published(t *testing.T) (map[string]any, *jsonschema.Schema) {
	t.Helper()
	text, err := os.ReadFile("../../../docs/recipe.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	if err := c.AddResource("urn:fettle:recipe:1", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("urn:fettle:recipe:1")
	if err != nil {
		t.Fatal(err)
	}
	return doc.(map[string]any), s
}

func full(t *testing.T, opts ...Options) fettle.Recipe {
	t.Helper()
	shelf := stock.Shelf()
	plan := made(t, shelf, hours(8), hours(12))
	plan.Route[0].Pass.Simulated = &fettle.Simulated{CuspUM: 5}
	plan.AllowanceUM = map[string]fettle.Estimate{"show": fettle.Exactly(12, "test")}
	plan.Cautions = []fettle.Caution{{ID: "dust", Says: "x", Defer: "y", Basis: "z", Steps: []string{"a"}}}
	fit := fettle.Exactly(40, "test")
	c := plan.Route[5].Charge
	c.Jams = []fettle.Jam{{Opening: "hole-1", Media: c.Media, State: fettle.New, Enters: fettle.PassesFree, Chance: fettle.ChanceOf(0.2), HoursToFit: &fit}}
	c.Leaves = []fettle.LeftAsCut{{Place: "corner", Opening: "pocket-1"}}
	c.Apart = "by hand"
	learned := []fettle.Parameter{{
		Name: learn.NameTime, Media: c.Media, Vessel: c.Vessel, Class: plan.Material.Class, Tone: c.Tone, Unit: "h", Value: hours(3), Prior: hours(5), N: 4, Says: "x",
	}}
	return Of(plan, shelf, learned, "test", opts...)
}

func asJSON(t *testing.T, r fettle.Recipe) string {
	t.Helper()
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestRecipesFollowTheSchema(t *testing.T) {
	_, s := published(t)
	check := func(text string) error {
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		return s.Validate(doc)
	}
	bare := stock.Shelf()
	for _, r := range []fettle.Recipe{full(t), full(t, Options{Money: true}), Of(made(t, bare, hours(1), hours(1)), &fettle.Shelf{}, nil, "test")} {
		if err := check(asJSON(t, r)); err != nil {
			t.Error(err)
		}
	}
	good := asJSON(t, full(t))
	for _, c := range []struct{ old, with string }{
		{`"title":"Bright on Mild steel 1018",`, ``},
		{`"lot":12`, `"lot":-1`},
		{`"lot":12`, `"lot":1.5`},
		{`"steps":[`, `"customer":"x","steps":[`},
		{`"kind":"tumble"`, `"kind":"shake"`},
		{`"kind":"rotary barrel"`, `"kind":"mixer"`},
		{`"scale":"P"`, `"scale":"J"`},
		{`"shape":"ball"`, `"shape":"drill"`},
		{`"size_mm":[10,10]`, `"size_mm":[10]`},
		{`"size_mm":[10,10]`, `"size_mm":[10,0]`},
		{`"density_g_cm3":7.87`, `"density_g_cm3":0`},
		{`"tone":"brighter"`, `"tone":"pink"`},
		{`"n":4`, `"n":"4"`},
		{`"word":"real"`, `"word":"maybe"`},
		{`"basis":"test"`, `"bases":"test"`},
	} {
		bad := strings.Replace(good, c.old, c.with, 1)
		if bad == good {
			t.Errorf("%s is not in the recipe", c.old)
		} else if check(bad) == nil {
			t.Errorf("the schema takes %s", c.with)
		}
	}
	if err := check(strings.Replace(good, `"steps":[`, `"steps":[],"x":[`, 1)); err == nil {
		t.Error("the schema takes a recipe without steps")
	}
}

// Every key that a recipe can have is in the schema with a description, and the schema
// has no key that a recipe cannot have. What never leaves the shop is in neither.
func TestTheSchemaHasEveryKey(t *testing.T) {
	doc, _ := published(t)
	defs := doc["$defs"].(map[string]any)
	stays := map[string]bool{"Media.lots": true, "Vessel.free_in_h": true, "Vessel.count": true, "Material.sold": true, "Cutter.used_h": true, "Rates.display": true}
	var walk func(typ reflect.Type, node map[string]any, at string)
	walk = func(typ reflect.Type, node map[string]any, at string) {
		for {
			r, ok := node["$ref"].(string)
			if !ok {
				break
			}
			node = defs[strings.TrimPrefix(r, "#/$defs/")].(map[string]any)
		}
		switch typ.Kind() {
		case reflect.Pointer:
			walk(typ.Elem(), node, at)
		case reflect.Map:
			walk(typ.Elem(), node["additionalProperties"].(map[string]any), at+".*")
		case reflect.Slice, reflect.Array:
			walk(typ.Elem(), node["items"].(map[string]any), at+"[]")
		case reflect.Struct:
			props, _ := node["properties"].(map[string]any)
			left := map[string]bool{}
			for k := range props {
				left[k] = true
			}
			for i := range typ.NumField() {
				name, how, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
				p, ok := props[name].(map[string]any)
				switch {
				case stays[typ.Name()+"."+name]:
					if ok {
						t.Errorf("%s.%s stays in the shop", at, name)
					}
					continue
				case !ok:
					t.Errorf("the schema lacks %s.%s", at, name)
					continue
				case p["description"] == nil:
					t.Errorf("%s.%s has no description", at, name)
				}
				needed := false
				for _, r := range node["required"].([]any) {
					needed = needed || r == name
				}
				if needed == strings.Contains(how, "omit") {
					t.Errorf("%s.%s is required: %t", at, name, needed)
				}
				delete(left, name)
				walk(typ.Field(i).Type, p, at+"."+name)
			}
			for k := range left {
				t.Errorf("no recipe has %s.%s", at, k)
			}
		}
	}
	walk(reflect.TypeFor[fettle.Recipe](), doc, "recipe")
}
