//go:build outside

package outside

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"fettle/demo"
	"fettle/internal/output/solid"
	"fettle/internal/work"
)

// things are the blocks, jaws and plugs of the sample parts, as a user gets them,
// made once for all tests here.
var things = sync.OnceValues(func() ([]string, error) {
	dir, err := keep("things")
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	var files []string
	for _, p := range demo.Parts() {
		model := filepath.Join(dir, p.FileName)
		var b bytes.Buffer
		if err := solid.Write3MF(&b, p.Mesh, p.Title); err != nil {
			return nil, err
		}
		if err := os.WriteFile(model, b.Bytes(), 0o644); err != nil {
			return nil, err
		}
		_, blocks, err := work.BlockFile(ctx, work.BlockRequest{Part: work.Model{File: model, Up: p.Brief.Up}, Grit: "P240", Out: filepath.Join(dir, p.ID+"-block.stl")}, nil)
		if err != nil {
			return nil, err
		}
		_, _, jaws, err := work.JawFile(ctx, work.JawRequest{Part: work.Model{File: model}, Out: filepath.Join(dir, p.ID+"-jaws.stl")}, nil)
		if err != nil {
			return nil, err
		}
		files = slices.Concat(files, blocks, jaws)
		if p.ID != "escutcheon" { // plugs differ less than the rest, and take their time
			continue
		}
		_, plugs, err := work.PlugFile(ctx, work.PlugRequest{Part: work.Model{File: model}, Opening: p.Truth.Openings[0].ID, Out: filepath.Join(dir, p.ID+"-plug.stl")}, nil)
		if err != nil {
			return nil, err
		}
		files = append(files, plugs...)
	}
	return files, nil
})

func thingsEnding(t *testing.T, ext string) []string {
	t.Helper()
	files, err := things()
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(slices.Clone(files), func(f string) bool { return filepath.Ext(f) != ext })
}

// kept are folders that several tests use.
var kept struct {
	sync.Mutex
	dirs []string
}

// keep makes a folder that goes when all tests are done.
func keep(name string) (string, error) {
	dir, err := os.MkdirTemp("", name)
	kept.Lock()
	defer kept.Unlock()
	kept.dirs = append(kept.dirs, dir)
	return dir, err
}

// TestMain takes what was made away again.
func TestMain(m *testing.M) {
	status := m.Run()
	for _, dir := range kept.dirs {
		os.RemoveAll(dir)
	}
	os.Exit(status)
}

// admesh must find nothing to mend in any solid, and the volume that VTK finds.
func TestThingsToMakeAgainstADMesh(t *testing.T) {
	solids := thingsEnding(t, ".stl")
	if len(solids) < 12 {
		t.Fatalf("only %d solids were made: %q", len(solids), solids)
	}
	refs := measureWithVTK(t, solids)
	for _, f := range solids {
		name := filepath.Base(f)
		said := string(run(t, "admesh", "admesh", f))
		number := func(label string) (v float64) {
			_, rest, ok := strings.Cut(said, label)
			if !ok {
				t.Fatalf("admesh says nothing about %q:\n%s", label, said)
			}
			if _, err := fmt.Sscan(strings.TrimLeft(rest, " :"), &v); err != nil {
				t.Fatal(err)
			}
			return v
		}
		for _, label := range []string{"Total disconnected facets", "Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed", "Backwards edges"} {
			if v := number(label); v != 0 {
				t.Errorf("%s: admesh has %g %s", name, v, strings.ToLower(label))
			}
		}
		if n := number("Number of parts"); n != 1 {
			t.Errorf("%s: %g parts", name, n)
		}
		// admesh sums in single precision.
		if v, want := number("Volume"), refs[f]; !want.Closed || math.Abs(v-want.Volume) > 1e-4*want.Volume {
			t.Errorf("%s: admesh has %g mm³, VTK %g (closed %v)", name, v, want.Volume, want.Closed)
		}
	}
}

// The plan of a pocket as ezdxf reads it: release 12, nothing to complain of, and on
// every layer loops whose ends meet, with true arcs.
func TestPocketPlanAgainstEzdxf(t *testing.T) {
	plans := thingsEnding(t, ".dxf")
	dec := json.NewDecoder(bytes.NewReader(run(t, "python3-ezdxf", python, append([]string{"testdata/dxf.py"}, plans...)...)))
	for _, f := range plans {
		var got struct {
			Version  string
			Errors   []string
			Layers   []string
			Entities []struct {
				Kind, Layer string
				From, To    []float64
				Radius      float64
			}
		}
		if err := dec.Decode(&got); err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(f)
		if got.Version != "AC1009" || len(got.Errors) > 0 {
			t.Errorf("%s: version %s, %q", name, got.Version, got.Errors)
		}
		part := slices.IndexFunc(got.Layers, func(l string) bool { return strings.HasPrefix(l, "PART_DEPTH_") })
		if part < 0 || !slices.Contains(got.Layers, "JAWS") {
			t.Fatalf("%s has the layers %q", name, got.Layers)
		}
		round := 0
		ends := map[string][][]float64{}
		for _, e := range got.Entities {
			if e.Kind == "ARC" || e.Kind == "CIRCLE" {
				round++
			}
			if e.Kind == "LINE" || e.Kind == "ARC" {
				ends[e.Layer] = append(ends[e.Layer], e.From, e.To)
			}
		}
		if round == 0 {
			t.Errorf("%s has no arcs, and all of these parts are round", name)
		}
		for layer, at := range ends {
			for i, p := range at {
				meet := 0
				for k, q := range at {
					if k != i && math.Hypot(p[0]-q[0], p[1]-q[1]) < 1e-5 {
						meet++
					}
				}
				if meet%2 != 1 {
					t.Errorf("%s, layer %s: %d other edges end at %v", name, layer, meet, p)
				}
			}
		}
	}
}
