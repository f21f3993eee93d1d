package work

import (
	"context"
	"io"
	"path/filepath"
	"time"

	"fettle"
	"fettle/demo"
	"fettle/internal/output/paper"
	"fettle/internal/output/solid"
	"fettle/internal/trade/stock"
)

// DemoResult is what the demo made, the escutcheon plate first.
type DemoResult struct {
	Plans    []*fettle.Plan
	Promises []*fettle.Promise // one for each plan
	Files    []string          // written, in order
}

// Demo makes the sample parts in code, writes each as a model file, reads that
// file back as any customer's, and plans it as work that may begin then.
func Demo(ctx context.Context, dir string, from time.Time, say Progress) (*DemoResult, error) {
	shelf := stock.Shelf()
	res := &DemoResult{}
	for _, part := range demo.Parts() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		say.say("making "+part.Title, 0, 1)
		folder := filepath.Join(dir, part.ID)
		if err := makeDir(folder); err != nil {
			return nil, err
		}
		file := filepath.Join(folder, part.FileName)
		if err := WriteFile(file, func(w io.Writer) error { return solid.Write3MF(w, part.Mesh, part.Title) }); err != nil {
			return nil, err
		}
		brief := filepath.Join(folder, "brief.json")
		if err := writeJSON(brief, part.Brief); err != nil {
			return nil, err
		}

		p, err := LoadPart(ctx, Model{File: file, Up: part.Brief.Up}, PartOptions{Media: shelf.Media, Fine: true}, say)
		if err != nil {
			return nil, err
		}
		done, err := planPart(ctx, p, part.Brief, shelf, nil, "", say)
		if err != nil {
			return nil, err
		}
		if err := done.schedule(ctx, from); err != nil {
			return nil, err
		}
		if err := done.write(ctx, folder, paper.A4, nil, say); err != nil {
			return nil, err
		}
		res.Plans = append(res.Plans, done.Plan)
		res.Promises = append(res.Promises, done.Promise)
		res.Files = append(append(res.Files, file, brief), done.Files...)
	}
	log := filepath.Join(dir, "logbook.json")
	if err := writeJSON(log, demo.Logbook()); err != nil {
		return nil, err
	}
	res.Files = append(res.Files, log)
	return res, nil
}
