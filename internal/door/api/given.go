package api

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

// Given is a document as it is sent: what is left out is empty, what is
// misspelt is refused, and what it means is for the shop to judge. In answers the same
// document has every key; so it is described twice.
type Given[T any] struct{ Value T }

// UnmarshalJSON reads the document.
func (g *Given[T]) UnmarshalJSON(b []byte) error { return json.Unmarshal(b, &g.Value) }

// MarshalJSON writes it in full.
func (g Given[T]) MarshalJSON() ([]byte, error) { return json.Marshal(g.Value) }

const schemas = "#/components/schemas/"

// Schema is that of T without required keys, under names of its own.
func (Given[T]) Schema(r huma.Registry) *huma.Schema {
	// Types that both directions know are built again here: the registry has one
	// answer to what is required.
	own := huma.NewMapRegistry(schemas, func(t reflect.Type, hint string) string {
		return "Given" + huma.DefaultSchemaNamer(t, hint)
	})
	s := own.Schema(reflect.TypeFor[T](), true, "")
	for name, one := range own.Map() {
		if _, there := r.Map()[name]; !there {
			one.Required = nil
			one.PrecomputeMessages()
			r.Map()[name] = one
		}
	}
	return s
}

// places finds the keys of a document by their names: "ra_max_um" is at
// "brief.ra_max_um" in a job. Lists are not looked into, and of two that have
// one name the upper counts.
func places(r huma.Registry, s *huma.Schema) map[string]string {
	found := map[string]string{}
	type step struct {
		s    *huma.Schema
		path string
	}
	for level, deep := []step{{s, ""}}, 0; len(level) > 0 && deep < 4; deep++ {
		var next []step
		for _, at := range level {
			o := at.s
			if o.Ref != "" {
				o = r.SchemaFromRef(o.Ref)
			}
			if o == nil {
				continue
			}
			for _, key := range slices.Sorted(maps.Keys(o.Properties)) {
				path := strings.TrimPrefix(at.path+"."+key, ".")
				if _, there := found[key]; !there {
					found[key] = path
				}
				next = append(next, step{o.Properties[key], path})
			}
		}
		level = next
	}
	return found
}
