package api

import (
	"context"
	"encoding/json"
	"net/http"
	"sync"

	"github.com/danielgtaylor/huma/v2"
)

// addDescription serves what this API says of itself.
func (a *API) addDescription() {
	for _, d := range []struct {
		ending, mime string
		write        func() ([]byte, error)
	}{
		{"json", "application/json", func() ([]byte, error) { return json.Marshal(a.huma.OpenAPI()) }},
		{"yaml", "application/yaml", func() ([]byte, error) { return a.huma.OpenAPI().YAML() }},
	} {
		// Written when first asked for: all operations are there by then.
		doc := sync.OnceValues(d.write)
		add(a, route{
			id: "describe-" + d.ending, tag: "shop", call: "GET /api/openapi." + d.ending, least: nobody,
			summary: "This description, as " + d.ending, says: "OpenAPI 3.1.",
			answers: map[string]*huma.Response{"200": {Description: "The description.", Content: map[string]*huma.MediaType{d.mime: {Schema: &huma.Schema{}}}}},
		}, func(context.Context, *struct{}) (*huma.StreamResponse, error) {
			b, err := doc()
			if err != nil {
				return nil, err
			}
			return written(func(w http.ResponseWriter, _ *http.Request) {
				w.Header().Set("Content-Type", d.mime)
				w.Write(b)
			}), nil
		})
	}
}

// Description is the OpenAPI description, for tests and for making clients.
func (a *API) Description() ([]byte, error) { return json.Marshal(a.huma.OpenAPI()) }
