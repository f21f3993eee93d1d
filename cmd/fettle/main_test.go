package main

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"fettle": main})
}

// TestScripts runs the program as a user does, from the scripts in testdata.
// Under -short, which is how the race detector runs it, the scripts that plan
// part after part are left out: the rooms below have tests of their own there.
func TestScripts(t *testing.T) {
	p := testscript.Params{Dir: "testdata", UpdateScripts: os.Getenv("UPDATE") != "", RequireExplicitExec: true}
	if testing.Short() {
		p.Dir = ""
		for _, name := range []string{"survey", "cusp", "texture", "proof", "learn"} {
			p.Files = append(p.Files, filepath.Join("testdata", name+".txtar"))
		}
	}
	testscript.Run(t, p)
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
