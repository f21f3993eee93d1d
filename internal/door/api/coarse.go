package api

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"fettle/internal/shop"
)

// AtMost bounds what a page has to draw.
type AtMost struct {
	Most int `query:"most" minimum:"1000" maximum:"10000000" doc:"triangles, about; left out: all that there are"`
}

func (a *API) addCoarse() {
	add(a, route{
		id: "coarse-mesh", tag: "files", call: "GET /api/meshes/{sha256}", least: hand,
		summary: "A stored mesh with fewer triangles",
		says:    "Of a part or of a media's values on it; borders between faces, openings and zones stay where they are. Made once; until it is there the answer is 202 with the task.",
		fails:   answerFails, answers: a.either("The mesh, a buffer.", bytesOf(bytesType)),
	}, func(ctx context.Context, in *struct {
		SHA256 string `path:"sha256" pattern:"^[0-9a-f]{64}$" doc:"of the mesh"`
		AtMost
		Seen string `header:"If-None-Match"`
	}) (*huma.StreamResponse, error) {
		return a.coarse(ctx, in.SHA256, in.Most)
	})
}

// coarse serves a mesh with at most that many triangles, or the task that makes it; as
// it is for zero.
func (a *API) coarse(ctx context.Context, mesh string, most int) (*huma.StreamResponse, error) {
	if most == 0 {
		return a.serve(ctx, mesh, "mesh", revalidate)
	}
	t, err := a.o.Shop.AskCoarse(ctx, a.by(ctx), mesh, most)
	if err != nil {
		return nil, err
	}
	return answered(t, func(c shop.CoarseAnswer) (*huma.StreamResponse, error) {
		return a.serve(ctx, c.Mesh, "mesh", revalidate)
	})
}
