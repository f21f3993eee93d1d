package shop

import (
	"context"
	"encoding/json"
	"io"

	"fettle"
	"fettle/internal/work"
)

// CoarseAnswer is where a mesh with fewer triangles is stored.
type CoarseAnswer struct {
	Mesh string `json:"mesh"`
}

type coarseArgs struct {
	Mesh string `json:"mesh_sha256"`
	Most int    `json:"most"`
}

// AskCoarse asks for a stored mesh with at most about most triangles.
func (s *Shop) AskCoarse(ctx context.Context, by, mesh string, most int) (fettle.Task, error) {
	f, _, err := s.store.OpenBlob(ctx, mesh)
	if err != nil {
		return fettle.Task{}, err
	}
	f.Close()
	return s.ask(ctx, fettle.TaskCoarse, by, coarseArgs{mesh, most})
}

func (s *Shop) coarse(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error) {
	a, err := read[coarseArgs](args)
	if err != nil {
		return nil, err
	}
	f, _, err := s.store.OpenBlob(ctx, a.Mesh)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	view, err := io.ReadAll(io.LimitReader(f, 4*MostModel))
	if err != nil {
		return nil, err
	}
	var out CoarseAnswer
	out.Mesh, err = s.buffer(ctx, func(w io.Writer) error { return work.CoarseView(ctx, view, a.Most, w, say) })
	if err != nil {
		return nil, err
	}
	return write(out), nil
}
