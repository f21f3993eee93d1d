//go:build outside

package outside

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"fettle/internal/format/brep"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// fine is one setting besides the kernel's own.
var fine = parameters{Unit: "millimeter", Kind: "absolute_value", Linear: 0.02, Angular: 0.2}

// settings are parameters as the host takes them.
func (p *parameters) settings() brep.Settings {
	if p == nil {
		return brep.Settings{}
	}
	return brep.Settings{Unit: p.Unit, Linear: p.Linear, Relative: p.Kind == "bounding_box_ratio", Angular: p.Angular}
}

// same holds what the host made of a file against what Node made of it: names,
// assembly, every coordinate, index and colour.
func (a answer) same(t *testing.T, scene *brep.Scene) {
	t.Helper()
	name := filepath.Join(filepath.Base(filepath.Dir(a.File)), filepath.Base(a.File))
	if diff := cmp.Diff(a.Root, scene.Root, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("%s, setting %d: the assembly differs (-Node +here):\n%s", name, a.Which, diff)
	}
	if len(a.Meshes) != len(scene.Meshes) {
		t.Errorf("%s, setting %d: %d meshes, Node %d", name, a.Which, len(scene.Meshes), len(a.Meshes))
		return
	}
	for i, m := range a.Meshes {
		got := scene.Meshes[i]
		if h := hash(got); h != m.SHA || got.Name != m.Name {
			t.Errorf("%s, setting %d, mesh %d: %q of %d triangles, %.8s; Node %q of %d, %.8s",
				name, a.Which, i, got.Name, len(got.Tri)/3, h, m.Name, m.Triangles, m.SHA)
		}
	}
}

// The rewritten module in its host gives bit for bit what the package as it comes
// gives under Node, on every STEP file that comes with it at the kernel's own
// setting, and on the drawn ones; on a few at a fine setting too.
func TestKernelAgainstNode(t *testing.T) {
	t.Parallel()
	_, drawn := drawnSolids(t)
	answers := underNode(t, []*parameters{nil}, 1, slices.Concat(stepModels(t), drawn)...)
	closer := underNode(t, []*parameters{&fine}, 1, models("conical-surface/conical-surface.step", "rounded-cube/rounded-cube.step",
		"cax-if/dm1-id-214.stp", "cax-if/s1-tu-203/tailturbine.stp", "cax-if/s1-c5-214/FOOT_FRONT_000.stp")...)
	for i := range closer {
		closer[i].Which = 1
	}
	var theirs, ours float64
	meshes, triangles := 0, 0
	for _, a := range append(answers, closer...) {
		data, err := os.ReadFile(a.File)
		if err != nil {
			t.Fatal(err)
		}
		set := brep.Settings{}
		if a.Which == 1 {
			set = fine.settings()
		}
		start := time.Now()
		scene, err := brep.Default().Read(context.Background(), data, set)
		ours += time.Since(start).Seconds()
		theirs += a.Seconds
		if err != nil || !a.Success {
			t.Errorf("%s: %v; Node: success %v %s", a.File, err, a.Success, a.Threw)
			continue
		}
		a.same(t, scene)
		meshes += len(a.Meshes)
		triangles += a.triangles()
	}
	t.Logf("%d readings, %d meshes, %d triangles: here %.1f s, Node %.1f s", len(answers)+len(closer), meshes, triangles, ours, theirs)
	if meshes < 120 || triangles < 200_000 {
		t.Errorf("only %d meshes of %d triangles compared", meshes, triangles)
	}
}

// The module without a compiler, as on machines that there is none for, says the
// same.
func TestInterpretedKernelAgainstNode(t *testing.T) {
	t.Parallel()
	kernel := brep.New(brep.Options{Interpret: true})
	defer kernel.Close(context.Background())
	for _, a := range underNode(t, []*parameters{nil}, 1, models("cube-fcstd/cube2.step")...) {
		data, err := os.ReadFile(a.File)
		if err != nil {
			t.Fatal(err)
		}
		scene, err := kernel.Read(context.Background(), data, brep.Settings{})
		if err != nil {
			t.Errorf("%s: %v", a.File, err)
			continue
		}
		a.same(t, scene)
	}
}
