package shop

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"

	"fettle"
	"fettle/internal/work"
)

// PocketAnswer is where the answer about a pocket is stored: a [fettle.TriedPocket],
// and what the shelf should remember once it has been cut.
type PocketAnswer struct {
	Pocket string `json:"pocket"`
	Cuts   string `json:"cuts"`
}

type pocketArgs struct {
	modelArgs
	Up       [3]float64        `json:"up"`
	Name     string            `json:"name"`
	Material string            `json:"material"`
	Display  fettle.System     `json:"display"`
	Paper    string            `json:"paper"`
	Against  []fettle.Cut      `json:"against"`
	Shelf    string            `json:"shelf_sha256"` // jaws, cutters and the material alone
	Wish     fettle.PocketWish `json:"wish"`
}

// AskPocket asks for a pocket for the second side of a job's part, in the jaws as they
// are now. The part is held against roughing and against the passes of the job's plan,
// where it has one.
func (s *Shop) AskPocket(ctx context.Context, by, job string, wish fettle.PocketWish) (fettle.Task, error) {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return fettle.Task{}, err
	}
	j, err := bodyOf[fettle.Job](rec)
	if err != nil {
		return fettle.Task{}, err
	}
	if rec.Links["file"] == "" {
		return fettle.Task{}, fettle.Errorf(fettle.Invalid, "job %q has no model file; link one to it first", j.Title)
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return fettle.Task{}, err
	}
	if wish.Pair != "" {
		pair, err := shelf.Pair(wish.Pair)
		if err != nil {
			return fettle.Task{}, err
		}
		wish.Pair = pair.Name
	}
	a := pocketArgs{Up: j.Brief.Up, Material: j.Brief.Material, Display: j.Brief.Display, Wish: wish, Against: []fettle.Cut{}}
	if a.modelArgs, err = s.argsOf(ctx, rec.Links["file"], j.Brief.ModelUnits, j.Brief.Body); err != nil {
		return fettle.Task{}, err
	}
	a.Name = work.PocketName(j.Brief.Title, a.File)
	material, err := shelf.Material(a.Material)
	if err != nil {
		return fettle.Task{}, err
	}
	plan, sheet, err := s.planOfJob(ctx, rec)
	switch {
	case err == nil:
		a.Against = append(a.Against, work.PlannedCuts(plan, shelf.Cutters)...)
		a.Paper = paperOf(sheet)
	case fettle.CodeOf(err) != fettle.NotFound:
		return fettle.Task{}, err
	}
	// What else stands on the shelf changes nothing, and must not have it worked out
	// again.
	some := fettle.Shelf{Materials: []fettle.Material{material}, Cutters: shelf.Cutters, Jaws: shelf.Jaws, Rates: shelf.Rates}
	if a.Shelf, err = s.document(ctx, some); err != nil {
		return fettle.Task{}, err
	}
	return s.ask(ctx, fettle.TaskPocket, by, a)
}

func (s *Shop) pocket(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error) {
	a, err := read[pocketArgs](args)
	if err != nil {
		return nil, err
	}
	shelf, err := stored[fettle.Shelf](ctx, s, a.Shelf)
	if err != nil {
		return nil, err
	}
	model, done, err := s.modelOf(ctx, a.modelArgs)
	if err != nil {
		return nil, err
	}
	defer done()
	model.Up = a.Up
	dir, err := os.MkdirTemp(s.store.Scratch(), "pocket-*")
	if err != nil {
		return nil, noRoom(err)
	}
	defer os.RemoveAll(dir)
	tried, cuts, files, err := work.TryPocket(ctx, work.JawRequest{
		Part: model, Name: a.Name, Material: a.Material, Against: a.Against, Paper: a.Paper, Display: a.Display,
		Things: work.Things{Shelf: &shelf}, Out: filepath.Join(dir, "jaws.dxf"),
	}, a.Wish, say)
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		k, err := s.keepFile(ctx, dir, f)
		if err != nil {
			return nil, err
		}
		tried.Files[k.Name] = k.SHA256
	}
	var out PocketAnswer
	if out.Pocket, err = s.document(ctx, tried); err != nil {
		return nil, err
	}
	out.Cuts, err = s.document(ctx, cuts)
	return write(out), err
}

// KeepPocket has a pair on the shelf remember that a pocket was cut in it. The id is
// that of the pocket which the person saw: where the jaws were cut meanwhile it is
// another one, and nothing is kept.
func (s *Shop) KeepPocket(ctx context.Context, by string, answer PocketAnswer, id string) (fettle.Record, error) {
	var none fettle.Record
	tried, err := stored[fettle.TriedPocket](ctx, s, answer.Pocket)
	if err != nil {
		return none, err
	}
	cuts, err := stored[[]fettle.JawCut](ctx, s, answer.Cuts)
	if err != nil {
		return none, err
	}
	switch {
	case tried.Wish.Reuse != "":
		return none, fettle.Errorf(fettle.Invalid, "the pocket %q is remembered already; nothing was entered twice", tried.Pocket.Name)
	case tried.Pocket.ID != id:
		return none, fettle.Errorf(fettle.Conflict, "the jaws or the job were changed since this pocket was shown, and it would now be another one; look at it again before you say what was cut")
	}
	r, err := s.store.Named(ctx, fettle.KeptJaws, tried.Pair.Name)
	if err != nil {
		return none, err
	}
	pair, err := bodyOf[fettle.Jaws](r)
	if err != nil {
		return none, err
	}
	if err := work.Remember(&pair, cuts, s.now()); err != nil {
		return none, err
	}
	r.Body = write(pair)
	return s.Alter(ctx, by, r)
}
