package shop

import (
	"bytes"
	"context"
	"slices"

	"fettle"
	"fettle/demo"
	"fettle/internal/output/solid"
)

// Sample makes the sample job, the escutcheon plate of an invented shop, or finds
// the one that there is.
func (s *Shop) Sample(ctx context.Context, by string) (fettle.Record, error) {
	plate := demo.Escutcheon(demo.Fine)
	jobs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptJob})
	if err != nil {
		return fettle.Record{}, err
	}
	if i := slices.IndexFunc(jobs, func(r fettle.Record) bool { return r.Name == plate.Title }); i >= 0 {
		return jobs[i], nil
	}
	var model bytes.Buffer
	if err := solid.Write3MF(&model, plate.Mesh, plate.Title); err != nil {
		return fettle.Record{}, err
	}
	return s.NewJob(ctx, by, NewJob{File: plate.FileName, Model: &model, Over: plate.Brief, Title: plate.Title})
}
