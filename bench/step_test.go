package bench

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fettle/internal/format/brep"
)

const (
	kernelPackage = "../build/kernel/node_modules/occt-import-js"
	drawShell     = "/usr/bin/occt-draw-7.6"
)

// stepFiles are an assembly of prismatic parts, one part with many splines and
// one of large round faces.
var stepFiles = []string{"cax-if/as1-oc-214.stp", "cax-if/io1-tu-203.stp", "cax-if/s1-tu-203/tailturbine.stp"}

// BenchmarkSTEP reads STEP files with the kernel in the binary, the facets within
// 0.02 mm and 0.5 rad. Where they are installed, the npm package that the kernel
// is made of does the same under Node in the same run, and so does a native build
// of it, OCCT's test shell (Debian: occt-draw). Starting is left out on all sides.
func BenchmarkSTEP(b *testing.B) {
	const linear, angular = 0.02, 0.5
	for _, name := range stepFiles {
		b.Run(filepath.Base(name), func(b *testing.B) {
			path, err := filepath.Abs(filepath.Join(kernelPackage, "test/testfiles", name))
			if err != nil {
				b.Fatal(err)
			}
			data, err := os.ReadFile(path)
			if err != nil {
				b.Skipf("%v; npm ci in build/kernel brings the file", err)
			}
			kernel := brep.Default()
			set := brep.Settings{Linear: linear, Angular: angular}
			if _, err := kernel.Read(context.Background(), data, set); err != nil {
				b.Fatal(err)
			}
			ours, triangles := math.Inf(1), 0
			b.ReportAllocs()
			for b.Loop() {
				start := time.Now()
				scene, err := kernel.Read(context.Background(), data, set)
				if err != nil {
					b.Fatal(err)
				}
				ours = min(ours, time.Since(start).Seconds())
				triangles = 0
				for _, m := range scene.Meshes {
					triangles += len(m.Tri) / 3
				}
			}
			b.ReportMetric(ours, "s/file")
			b.ReportMetric(float64(triangles), "triangles")
			if s, ok := nodeSeconds(b, path, linear, angular); ok {
				b.ReportMetric(ours/s, "of-Node")
				b.Logf("here %.3f s, under Node %.3f s", ours, s)
			}
			if s, ok := nativeSeconds(b, path, linear, angular); ok {
				b.ReportMetric(ours/s, "of-native")
				b.Logf("here %.3f s, native %.3f s", ours, s)
			}
		})
	}
}

// BenchmarkSTEPStart compiles the kernel, from nothing and from what an earlier
// start left on disk, up to the first small file read.
func BenchmarkSTEPStart(b *testing.B) {
	data, err := os.ReadFile(filepath.Join(kernelPackage, "test/testfiles/cube-fcstd/cube2.step"))
	if err != nil {
		b.Skipf("%v; npm ci in build/kernel brings the file", err)
	}
	start := func(b *testing.B, cache string) {
		kernel := brep.New(brep.Options{Cache: cache})
		defer kernel.Close(context.Background())
		if _, err := kernel.Read(context.Background(), data, brep.Settings{}); err != nil {
			b.Fatal(err)
		}
	}
	b.Run("cold", func(b *testing.B) {
		for b.Loop() {
			start(b, "off")
		}
	})
	b.Run("warm", func(b *testing.B) {
		dir := b.TempDir()
		start(b, dir)
		for b.Loop() {
			start(b, dir)
		}
	})
}

// nodeSeconds is the shortest of three readings under Node.
func nodeSeconds(b *testing.B, path string, linear, angular float64) (float64, bool) {
	if _, err := exec.LookPath("node"); err != nil {
		b.Log("no Node here, so no ratio to it")
		return 0, false
	}
	pkg, err := filepath.Abs(kernelPackage)
	if err != nil {
		b.Fatal(err)
	}
	set := fmt.Sprintf(`[{"linearUnit":"millimeter","linearDeflectionType":"absolute_value","linearDeflection":%g,"angularDeflection":%g}]`, linear, angular)
	var a struct{ Seconds float64 }
	decodeLine(b, exec.Command("node", "../internal/outside/testdata/kernel.cjs", pkg, set, "3", path), &a)
	return a.Seconds, a.Seconds > 0
}

// nativeSeconds is the shortest of three readings with OCCT's test shell.
func nativeSeconds(b *testing.B, path string, linear, angular float64) (float64, bool) {
	if _, err := os.Stat(drawShell); err != nil {
		b.Log("no native kernel here (Debian: occt-draw), so no ratio to it")
		return 0, false
	}
	// Debian leaves out the links by which the shell finds its own parts.
	links := b.TempDir()
	for _, name := range []string{"TKTopTest", "TKXSDRAW", "TKXDEDRAW", "TKViewerTest"} {
		found, _ := filepath.Glob("/usr/lib/*/lib" + name + ".so.7")
		if len(found) == 0 {
			b.Fatalf("no lib%s.so.7", name)
		}
		if err := os.Symlink(found[0], filepath.Join(links, "lib"+name+".so")); err != nil {
			b.Fatal(err)
		}
	}
	cmd := exec.Command(drawShell, "-b", "-f", "testdata/step.tcl")
	cmd.Env = append(os.Environ(), "LD_LIBRARY_PATH="+links, "FETTLE_FILE="+path,
		fmt.Sprintf("FETTLE_LINEAR=%g", linear), fmt.Sprintf("FETTLE_DEGREES=%g", angular*180/math.Pi))
	var a struct{ Seconds float64 }
	decodeLine(b, cmd, &a)
	return a.Seconds, a.Seconds > 0
}

// decodeLine decodes the first line that is JSON; others are what a kernel says
// besides.
func decodeLine(b *testing.B, cmd *exec.Cmd, into any) {
	b.Helper()
	out, err := cmd.Output()
	if err != nil {
		b.Fatalf("%v: %v", cmd.Args, err)
	}
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "{") {
			if err := json.Unmarshal(lines.Bytes(), into); err != nil {
				b.Fatal(err)
			}
			return
		}
	}
	b.Fatalf("%v said nothing:\n%s", cmd.Args, out)
}
