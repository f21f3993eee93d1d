package work

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/solid"
	"fettle/internal/shape/form"
	"fettle/internal/trade/stock"

	"gonum.org/v1/gonum/spatial/r2"
)

// bored writes a plate of 30 × 20 × 6 mm with a bore of 4 mm and a pocket.
func bored(t *testing.T, dir string) string {
	t.Helper()
	m := form.Plate(form.Rectangle(r2.Vec{}, 30, 20, 2, 8), 6,
		form.Through(form.Circle(r2.Vec{X: -9}, 4, 64)),
		form.Blind(form.Rectangle(r2.Vec{X: 5}, 12, 12, 1.5, 8), 3))
	path := filepath.Join(dir, "bored.stl")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := solid.WriteSTL(f, m, "bored"); err != nil {
		t.Fatal(err)
	}
	return path
}

// One kind of media that goes through, one that sticks, one that stays out: the
// answer tells them apart, puts the one that sticks last and offers to plug the
// bore for it.
func TestReachTellsMediaApart(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "seen")
	cell, want := 0.0, 6
	if testing.Short() { // the race detector is ten times slower, drawing above all
		cell, want, out = 0.5, 0, ""
	}
	r, files, err := ReachFile(context.Background(), ReachRequest{
		Part: Model{File: bored(t, dir), Units: "mm", Up: [3]float64{0, 0, 1}}, Out: out, CellMM: cell,
		Media: []string{"porcelain-ball-4", "ceramic-fast-15", "porcelain-ball-1.5"},
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Media) != 3 || r.Media[2].Name != "porcelain-ball-4" || r.Media[2].Rank != 3 {
		t.Fatalf("in the order %+v", r.Media)
	}
	enters := map[string]fettle.Entry{}
	for _, m := range r.Media {
		for _, j := range m.Jams {
			if j.Opening == "hole-1" && j.State == fettle.New {
				enters[m.Name] = j.Enters
			}
		}
		if len(m.Zones) != len(r.Zones) {
			t.Errorf("%s: %d zones of %d", m.Name, len(m.Zones), len(r.Zones))
		}
	}
	if enters["ceramic-fast-15"] != fettle.CannotEnter || enters["porcelain-ball-4"] != fettle.CanBeHeld {
		t.Errorf("at the bore: %v", enters)
	}
	if len(r.Plugs) == 0 || r.Plugs[0].Opening != "hole-1" || !strings.Contains(r.Plugs[0].Says, "porcelain-ball-4") {
		t.Errorf("plugs %+v", r.Plugs)
	}
	if len(files) != want {
		t.Errorf("%d files: %v", len(files), files)
	}
	for _, f := range files {
		if info, err := os.Stat(f); err != nil || info.Size() < 1000 {
			t.Errorf("%s: %v", f, err)
		}
	}
	for _, o := range r.Openings {
		if len(o.Profile) == 0 || o.CellMM != r.CellMM {
			t.Errorf("%s has a profile of %d widths on a cell of %g mm", o.ID, len(o.Profile), o.CellMM)
		}
	}
}

// What cannot be asked is refused in a sentence, and what is stopped leaves
// nothing behind.
func TestReachRefuses(t *testing.T) {
	dir := t.TempDir()
	part := bored(t, dir)
	shelf := func(name string, change func(*fettle.Shelf)) string {
		s := stock.Shelf()
		change(s)
		data, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, c := range []struct {
		req  ReachRequest
		code fettle.Code
		says string
	}{
		{ReachRequest{Part: Model{File: part}, Things: Things{ShelfFile: shelf("none.json", func(s *fettle.Shelf) { s.Media = nil })}}, fettle.NotFound, "holds no media"},
		{ReachRequest{Part: Model{File: part}, Things: Things{ShelfFile: shelf("star.json", func(s *fettle.Shelf) { s.Media[0].Shape = "star" })}}, fettle.BadFile, "the shape star is not known"},
		{ReachRequest{Part: Model{File: part}, Things: Things{ShelfFile: shelf("thin.json", func(s *fettle.Shelf) { s.Media[0].SizeMM[1] = 0 })}}, fettle.BadFile, "size_mm"},
		{ReachRequest{Part: Model{File: part}, Media: []string{"gravel"}}, fettle.NotFound, "gravel"},
		{ReachRequest{Part: Model{File: part}, CellMM: 0.02}, fettle.Invalid, "million is the most"},
		{ReachRequest{Part: Model{File: part}, CellMM: 50}, fettle.Invalid, "tells nothing of a part of 30 mm"},
		{ReachRequest{Part: Model{File: part}, CellMM: -1}, fettle.Invalid, "cells of -1 mm"},
	} {
		if _, _, err := ReachFile(context.Background(), c.req, nil); fettle.CodeOf(err) != c.code || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v", c.req, err)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	out := filepath.Join(dir, "stopped")
	_, _, err := ReachFile(ctx, ReachRequest{Part: Model{File: part}, Media: []string{"porcelain-ball-4"}, Out: out}, func(doing string, _, _ int) {
		if strings.Contains(doing, "void") {
			stop()
		}
	})
	if err == nil {
		t.Error("a stopped question is answered")
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("a stopped question leaves files")
	}
}
