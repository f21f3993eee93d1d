package work

import (
	"context"
	"path/filepath"

	"fettle"
	"fettle/internal/output/paper"
	"fettle/internal/trade/hold"
)

// TryPocket designs a pocket as wished for and leaves its files after req.Out. It
// returns what the shelf should remember once the pocket has been cut.
func TryPocket(ctx context.Context, req JawRequest, wish fettle.PocketWish, say Progress) (*fettle.TriedPocket, []fettle.JawCut, []string, error) {
	req.Pair, req.TurnDeg, req.ShiftMM, req.GripMM, req.Reuse = wish.Pair, wish.TurnDeg, wish.ShiftMM, wish.GripMM, wish.Reuse
	req.Mounted = hold.Mounting{Fixed: wish.Fixed, Moving: wish.Moving}
	if wish.Swapped != nil {
		req.Mounted.Swapped, req.Mounted.Kept = *wish.Swapped, !*wish.Swapped
	}
	made, _, err := req.design(ctx, say)
	if err != nil {
		return nil, nil, nil, err
	}
	size, err := paper.ParseSize(req.Paper)
	if err != nil {
		return nil, nil, nil, err
	}
	say.say("drawing the pocket", 0, 1)
	_, files, err := jawAnswer(req.Out, made, size, req.Display)
	if err != nil {
		return nil, nil, nil, err
	}
	out := &fettle.TriedPocket{
		Wish: wish, Pocket: made.Doc, Pair: made.Pair, Older: hold.OlderCuts(made.Pair, made.Doc.Pose),
		Bores: hold.Bores(made.Pair, made.Doc.Pose), Files: map[string]string{},
	}
	for _, f := range files {
		out.Files[filepath.Base(f)] = ""
	}
	return out, made.Cuts, files, nil
}

// PlannedCuts are those of a plan's passes, as a part is held against them.
func PlannedCuts(p *fettle.Plan, cutters []fettle.Cutter) []fettle.Cut {
	var out []fettle.Cut
	shelf := fettle.Shelf{Cutters: cutters}
	for _, s := range p.Route {
		if s.Pass == nil {
			continue
		}
		if c, err := shelf.Cutter(s.Pass.Cutter); err == nil {
			out = append(out, hold.CutOf(s.Pass, c, p.Material, 2))
		}
	}
	return out
}

// PocketName is how a plan names the pocket of its second side.
func PocketName(title, file string) string { return jobName(title, file) }
