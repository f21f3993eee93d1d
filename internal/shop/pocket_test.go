package shop_test

import (
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shop"
)

// block is a block of 30 × 24 × 14 mm.
const block = "OFF\n8 6 0\n-15 -12 0\n15 -12 0\n15 12 0\n-15 12 0\n-15 -12 14\n15 -12 14\n15 12 14\n-15 12 14\n" +
	"4 0 3 2 1\n4 4 5 6 7\n4 0 1 5 4\n4 1 2 6 5\n4 2 3 7 6\n4 3 0 4 7\n"

// held is a shop with a job for the block.
func held(t *testing.T) (*shop.Shop, string) {
	t.Helper()
	s := open(t)
	part, err := s.Make(t.Context(), "owner", "", fettle.Record{Kind: fettle.KeptPart, Body: body(t, fettle.Part{Name: "Block"})})
	if err != nil {
		t.Fatal(err)
	}
	file, err := s.AddFile(t.Context(), "owner", "", part.ID, "block.off", strings.NewReader(block))
	if err != nil {
		t.Fatal(err)
	}
	job, err := s.Make(t.Context(), "owner", "", fettle.Record{
		Kind: fettle.KeptJob, Links: map[string]string{"part": part.ID, "file": file.ID},
		Body: body(t, fettle.Job{Title: "Blocks", Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 4, ModelUnits: "mm", Up: [3]float64{0, 0, 1}, Title: "Block"}}),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s, job.ID
}

// tried asks for a pocket and reads the answer.
func tried(t *testing.T, s *shop.Shop, job string, wish fettle.PocketWish) (fettle.TriedPocket, shop.PocketAnswer) {
	t.Helper()
	task, err := s.AskPocket(t.Context(), "hand", job, wish)
	if err != nil {
		t.Fatal(err)
	}
	var a shop.PocketAnswer
	if err := json.Unmarshal(task.Result, &a); err != nil {
		t.Fatal(err)
	}
	f, _, err := s.OpenStored(t.Context(), a.Pocket)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	var p fettle.TriedPocket
	if err := json.Unmarshal(data, &p); err != nil {
		t.Fatal(err)
	}
	return p, a
}

// TestPocket tries a pocket, keeps it in the shelf's pair, finds it there, and takes it
// back.
func TestPocket(t *testing.T) {
	s, job := held(t)
	shift := 12.5
	wish := fettle.PocketWish{Pair: "soft-100", Moving: fettle.UpsideDown, ShiftMM: &shift, GripMM: 4}
	p, answer := tried(t, s, job, wish)
	if q := p.Pocket; q.Pair != "soft-100" || q.Pose.ShiftMM != 12.5 || q.Pose.GripMM != 4 || q.Pose.Moving != fettle.UpsideDown || q.Holding == nil || !q.LoadsClear {
		t.Errorf("%+v", q.Pose)
	}
	// 30 mm along the jaws, 4 mm deep in them: 120 mm² on either side, less what stands
	// over the relief for the burr.
	for _, b := range p.Pocket.Bearings {
		if sum := b.AreaMM2 + b.LostMM2; b.AreaMM2 < 60 || math.Abs(sum-120) > 0.5 {
			t.Errorf("jaw %d bears on %.1f mm², and loses %.1f mm²", b.Jaw, b.AreaMM2, b.LostMM2)
		}
	}
	if len(p.Older) != 0 || len(p.Pair.Cuts) != 0 {
		t.Errorf("something was cut in new jaws: %+v", p.Older)
	}
	for _, name := range []string{"jaws.dxf", "jaws.pdf", "jaws-fixed.stl", "jaws-moving.stl"} {
		f, _, err := s.OpenStored(t.Context(), p.Files[name])
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		f.Close()
	}

	if _, err := s.KeepPocket(t.Context(), "owner", answer, "another"); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("a pocket that nobody saw was kept: %v", err)
	}
	kept, err := s.KeepPocket(t.Context(), "owner", answer, p.Pocket.ID)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.KeepPocket(t.Context(), "owner", answer, p.Pocket.ID); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("it was kept twice: %v", err)
	}
	shelf, err := s.Shelf(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	pair, err := shelf.Pair("soft-100")
	if err != nil || len(pair.Cuts) != 2 || pair.Cuts[0].Date != "2026-03-31" || pair.Cuts[0].Pocket != p.Pocket.ID {
		t.Fatalf("%+v, %v", pair.Cuts, err)
	}

	// The next pocket goes round it, or another way up; the part goes in this one again.
	next, _ := tried(t, s, job, fettle.PocketWish{Pair: "soft-100"})
	if len(next.Older) != 2 || len(next.Pocket.Tried) < 8 {
		t.Errorf("%d cuts are remembered, %d ways were tried", len(next.Older), len(next.Pocket.Tried))
	}
	again, answer := tried(t, s, job, fettle.PocketWish{Reuse: p.Pocket.ID})
	if !again.Pocket.LoadsClear || again.Pocket.Pose != p.Pocket.Pose {
		t.Errorf("laid in it again: %+v", again.Pocket.Pose)
	}
	if _, err := s.KeepPocket(t.Context(), "owner", answer, again.Pocket.ID); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a pocket that was there was kept: %v", err)
	}

	if _, err := s.Undo(t.Context(), "owner", fettle.KeptJaws, kept.ID, kept.Rev); err != nil {
		t.Fatal(err)
	}
	if shelf, err = s.Shelf(t.Context()); err != nil {
		t.Fatal(err)
	}
	if pair, _ := shelf.Pair("soft-100"); len(pair.Cuts) != 0 {
		t.Errorf("taken back, there are %d cuts", len(pair.Cuts))
	}
}

// TestNoPocket: every wish that cannot be is answered with one sentence.
func TestNoPocket(t *testing.T) {
	s, job := held(t)
	number := func(v float64) *float64 { return &v }
	for says, wish := range map[string]fettle.PocketWish{
		"is not on the shelf":     {Pair: "soft-99"},
		"past the end of soft-":   {ShiftMM: number(190)},
		"swallows the part":       {GripMM: 50},
		"no jaw can be mounted":   {Fixed: "sideways"},
		"no jaws on the shelf":    {Reuse: "none"},
		"a turn of 1e+09 is none": {TurnDeg: number(1e9)},
	} {
		_, err := s.AskPocket(t.Context(), "hand", job, wish)
		if c := fettle.CodeOf(err); err == nil || c == fettle.Internal || !strings.Contains(err.Error(), says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%+v: %v, want %q", wish, err, says)
		}
	}
	bare, err := s.Make(t.Context(), "owner", "", fettle.Record{Kind: fettle.KeptJob, Body: body(t, fettle.Job{Title: "Nothing yet", Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 1}})})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AskPocket(t.Context(), "hand", bare.ID, fettle.PocketWish{}); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "no model file") {
		t.Error(err)
	}
}
