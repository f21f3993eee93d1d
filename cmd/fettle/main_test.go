package main

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/trade/stock"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"fettle": main})
}

// TestScripts runs the program as a user does, from the scripts in testdata.
// Under -short, which is how the race detector runs it, the scripts that survey
// or plan part after part are left out: the rooms below have tests of their own there.
func TestScripts(t *testing.T) {
	p := testscript.Params{
		Dir: "testdata", UpdateScripts: os.Getenv("UPDATE") != "", RequireExplicitExec: true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"shelfof": shelfOf, "logbook": logbook},
	}
	if testing.Short() {
		p.Dir = ""
		for _, name := range []string{"cusp", "texture", "proof", "learn"} {
			p.Files = append(p.Files, filepath.Join("testdata", name+".txtar"))
		}
	}
	testscript.Run(t, p)
}

// shelfOf writes a shelf with few things on it: shelfof FILE NAME... holds of
// cutters, media and mops only those that are named, and all else.
func shelfOf(ts *testscript.TestScript, _ bool, args []string) {
	shelf := stock.Shelf()
	shelf.Cutters = slices.DeleteFunc(shelf.Cutters, func(c fettle.Cutter) bool { return !slices.Contains(args[1:], c.Name) })
	shelf.Media = slices.DeleteFunc(shelf.Media, func(m fettle.Media) bool { return !slices.Contains(args[1:], m.Name) })
	shelf.Mops = slices.DeleteFunc(shelf.Mops, func(m fettle.Mop) bool { return !slices.Contains(args[1:], m.Name) })
	if n := len(shelf.Cutters) + len(shelf.Media) + len(shelf.Mops); n != len(args)-1 {
		ts.Fatalf("%d of %d things are on the shelf", n, len(args)-1)
	}
	writeDoc(ts, args[0], shelf)
}

// logbook writes the log of the sample shop: logbook FILE.
func logbook(ts *testscript.TestScript, _ bool, args []string) {
	writeDoc(ts, args[0], demo.Logbook())
}

func writeDoc(ts *testscript.TestScript, name string, doc any) {
	b, err := json.Marshal(doc)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(name), b, 0o644))
}

// A mistake of ours that panics is one sentence and status 4, not a stack
// trace.
func TestPanicIsOneSentence(t *testing.T) {
	var out, errw bad
	if status := run(context.Background(), []string{"shelf"}, &out, &errw); status != 4 {
		t.Errorf("status %d, want 4", status)
	}
	if n := errw.lines; n != 1 {
		t.Errorf("%d lines of complaint, want 1", n)
	}
}

// bad panics on the first write of an answer and counts lines otherwise.
type bad struct{ lines int }

func (b *bad) Write(p []byte) (int, error) {
	for _, c := range p {
		if c == '\n' {
			b.lines++
		}
	}
	if b.lines > 5 {
		panic("boom")
	}
	return len(p), nil
}
