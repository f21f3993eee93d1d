package fettle

import (
	"bufio"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// floors lists the rooms from the ground up. A room may import rooms that
// stand before it, on its own floor or on a lower one, and nothing else of
// ours.
var floors = []struct {
	dir   string
	rooms []string
}{
	{"internal/shape", []string{"cores", "geom", "mesh", "bvh", "coarse", "form", "patch", "relief", "texture", "field", "convex", "wear", "region", "slide", "typeface", "letter"}},
	{"internal/format", []string{"intake", "intake/intaketest", "stl", "ply", "off", "obj", "threemf", "part21", "brep", "step/steptest", "step", "partfile", "nc", "surface", "pack"}},
	{".", []string{"."}}, // the vocabulary; imports nothing of ours
	{"internal/trade", []string{"stock", "survey", "cavity", "mark", "grain", "cusp", "proof", "rub", "tumble", "jam", "reach", "caution", "learn", "price", "search", "law", "hold", "block", "plug", "finish", "promise", "sampling", "envelope", "recipe"}},
	{"internal/output", []string{"tongue", "draw", "draw/drawtest", "solid", "dxf", "closeup", "buffer", "paper", "offer", "ical", "words"}},
	{"demo", []string{"."}},
	{"internal/work", []string{"."}},
	{"internal/shop", []string{"."}},
	{"internal/door", []string{"store/storetest", "store", "queue", "gate", "api"}},
	{"web", []string{"."}},
	{"cmd/fettle", []string{"."}},
	{"bench", []string{"."}},
	{"build/kernel", []string{"."}},
	{"internal/outside", []string{"."}},
}

const maxLines = 450

// TestImportDirection holds the house to its floors: nothing walks back up.
func TestImportDirection(t *testing.T) {
	rank := map[string]int{}
	vocabulary := -1
	n := 0
	for _, f := range floors {
		for _, r := range f.rooms {
			p := filepath.ToSlash(filepath.Join("fettle", f.dir, r))
			rank[p] = n
			if p == "fettle" {
				vocabulary = n
			}
			n++
		}
	}
	packages := 0
	for dir, files := range goDirs(t) {
		path := filepath.ToSlash(filepath.Join("fettle", dir))
		own, known := rank[path]
		if !known {
			t.Errorf("%s stands on no floor: add it to the list in repo_test.go, at its place", path)
			continue
		}
		packages++
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue // a test may build its material with any room
			}
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
			if err != nil {
				t.Fatal(err)
			}
			for _, imp := range f.Imports {
				target := strings.Trim(imp.Path.Value, `"`)
				if target != "fettle" && !strings.HasPrefix(target, "fettle/") {
					if own == vocabulary && strings.Contains(strings.SplitN(target, "/", 2)[0], ".") {
						t.Errorf("%s imports %s: the vocabulary keeps to the standard library", file, target)
					}
					continue
				}
				at, ok := rank[target]
				if !ok || at >= own {
					t.Errorf("%s imports %s, which does not stand below it", file, target)
				}
			}
		}
	}
	if packages < 5 {
		t.Fatalf("only %d packages found: the walk is broken", packages)
	}
}

// TestPackageComments asks every package for a comment that begins as godoc
// wants it.
func TestPackageComments(t *testing.T) {
	for dir, files := range goDirs(t) {
		var has bool
		for _, file := range files {
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments|parser.PackageClauseOnly)
			if err != nil {
				t.Fatal(err)
			}
			if f.Doc != nil && startsWell(f) {
				has = true
			}
		}
		if !has {
			t.Errorf("%s has no package comment", dir)
		}
	}
}

func startsWell(f *ast.File) bool {
	text := f.Doc.Text()
	return strings.HasPrefix(text, "Package "+f.Name.Name) || (f.Name.Name == "main" && strings.HasPrefix(text, "Command "))
}

// TestFileLength keeps files readable in one sitting.
func TestFileLength(t *testing.T) {
	for _, files := range goDirs(t) {
		for _, file := range files {
			fh, err := os.Open(file)
			if err != nil {
				t.Fatal(err)
			}
			n := 0
			for s := bufio.NewScanner(fh); s.Scan(); {
				n++
			}
			fh.Close()
			if n > maxLines {
				t.Errorf("%s has %d lines; past %d there is a second room in it", file, n, maxLines)
			}
		}
	}
}

// goDirs lists the Go files of each directory, by path from the repository's
// root.
func goDirs(t *testing.T) map[string][]string {
	t.Helper()
	dirs := map[string][]string{}
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && path != "." && (strings.HasPrefix(name, ".") || slices.Contains([]string{"node_modules", "testdata", "bin", "out", "dist"}, name)) {
			return filepath.SkipDir
		}
		if strings.HasSuffix(name, ".go") {
			dirs[filepath.Dir(path)] = append(dirs[filepath.Dir(path)], path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return dirs
}
