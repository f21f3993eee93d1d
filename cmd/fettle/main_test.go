package main

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/format/step/steptest"
	"fettle/internal/trade/stock"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	// Whoever runs the tests may have a shop; it is none of theirs. Scripts start this
	// binary under the program's name, in an environment of their own.
	if name := filepath.Base(os.Args[0]); !strings.HasPrefix(name, "fettle") || strings.HasSuffix(name, ".test") {
		os.Setenv("XDG_DATA_HOME", filepath.Join(os.TempDir(), "no-such-shop"))
		os.Unsetenv("FETTLE_WORKSPACE")
		os.Unsetenv("FETTLE_DATABASE")
	}
	testscript.Main(withPostgres{m}, map[string]func(){"fettle": main})
}

// TestScripts runs the program as a user does, from the scripts in testdata.
// Under -short, which is how the race detector runs it, the scripts that survey
// or plan part after part are left out: the rooms below have tests of their own there.
func TestScripts(t *testing.T) {
	p := testscript.Params{
		Dir: "testdata", UpdateScripts: os.Getenv("UPDATE") != "", RequireExplicitExec: true,
		Cmds:  map[string]func(*testscript.TestScript, bool, []string){"shelfof": shelfOf, "logbook": logbook, "stepof": stepOf, "remember": remember},
		Setup: keepKernel,
	}
	if testing.Short() {
		p.Dir = ""
		for _, name := range []string{"cusp", "texture", "proof", "learn", "records"} {
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

// remember puts what a pattern finds in the last output into the environment:
// remember NAME PATTERN, with one group.
func remember(ts *testscript.TestScript, _ bool, args []string) {
	m := regexp.MustCompile("(?m)" + args[1]).FindStringSubmatch(ts.ReadFile("stdout"))
	if len(m) != 2 {
		ts.Fatalf("%q finds nothing in the output", args[1])
	}
	ts.Setenv(args[0], m[1])
}

// stepOf writes a STEP file: stepof KIND FILE.
func stepOf(ts *testscript.TestScript, _ bool, args []string) {
	var f steptest.File
	cube := [3]float64{20, 20, 20}
	switch args[0] {
	case "cube":
		f.Part("cube", f.Box("", [3]float64{}, cube))
	case "inch": // the same, in inches
		f.Inch = true
		f.Part("cube", f.Box("", [3]float64{}, [3]float64{20 / fettle.MMPerInch, 20 / fettle.MMPerInch, 20 / fettle.MMPerInch}))
	case "stand": // a cube on two feet, with a line of construction
		top := f.Box("", [3]float64{}, cube)
		f.Present(f.Colour(top, [3]float64{1, 0.2, 0}))
		line := f.Add("POLYLINE('',(#%d,#%d))", f.Point([3]float64{}), f.Point([3]float64{500, 0, 0}))
		parts := []int{f.Part("cube", top), f.Part("foot", f.Box("", [3]float64{}, [3]float64{4, 4, 6}))}
		f.Product("axis", "GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION", f.Add("GEOMETRIC_CURVE_SET('',(#%d))", line))
		stand := f.Product("stand", "SHAPE_REPRESENTATION")
		f.Place(stand, parts[0], [3]float64{0, 0, 6})
		f.Place(stand, parts[1], [3]float64{})
		f.Place(stand, parts[1], [3]float64{16, 16, 0})
	case "wire":
		line := f.Add("POLYLINE('',(#%d,#%d))", f.Point([3]float64{}), f.Point([3]float64{1, 0, 0}))
		f.Product("wire", "GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION", f.Add("GEOMETRIC_CURVE_SET('',(#%d))", line))
	default:
		ts.Fatalf("stepof makes no %s", args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), f.Bytes(), 0o644))
}

// keepKernel lets scripts find what the kernel was compiled to, which is kept in
// the cache folder of who runs the tests.
func keepKernel(env *testscript.Env) error {
	dir, err := os.UserCacheDir()
	env.Setenv("XDG_CACHE_HOME", dir)
	env.Setenv("LocalAppData", dir)
	env.Setenv("XDG_DATA_HOME", filepath.Join(env.WorkDir, "data"))
	return err
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
