package bench

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle/internal/door/store/storetest"
	"fettle/internal/format/partfile"
	"fettle/internal/format/step"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

const python = "/usr/bin/python3"

// child is the variable that makes this test binary read and measure the file
// named in it, print a report and stop.
const child = "FETTLE_BENCH_READ"

func TestMain(m *testing.M) {
	if path := os.Getenv(child); path != "" {
		if err := readAndMeasure(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(storetest.Main(m))
}

// report is what a child, ours or VTK's, says.
type report struct {
	Read      float64 `json:"read_s"`
	Clean     float64 `json:"clean_s"`
	Measure   float64 `json:"measure_s"`
	Peak      float64 `json:"peak_mb"`
	Idle      float64 `json:"idle_mb"`
	Triangles int     `json:"triangles"`
	Volume    float64 `json:"volume"`
	Area      float64 `json:"area"`
	Closed    bool    `json:"closed"`
}

func (r report) whole() float64 { return r.Read + r.Clean + r.Measure }

func readAndMeasure(path string) error {
	r := report{Idle: peakMB()}
	start := time.Now()
	lap := func() float64 {
		s := time.Since(start).Seconds()
		start = time.Now()
		return s
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	part, err := partfile.Read(context.Background(), path, data, step.Options{})
	if err != nil {
		return err
	}
	data = nil
	r.Read = lap()
	solid, _ := mesh.Clean(part.Mesh, mesh.Options{})
	r.Clean = lap()
	got := mesh.Measure(solid, nil)
	r.Measure = lap()
	r.Peak = peakMB()
	r.Triangles, r.Volume, r.Area, r.Closed = len(solid.Tri), got.Volume, got.Area, got.Closed
	return json.NewEncoder(os.Stdout).Encode(r)
}

// peakMB is the greatest resident memory of this process so far, 0 where the
// system does not tell.
func peakMB() float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(status)) {
		var kb float64
		if n, _ := fmt.Sscanf(line, "VmHWM: %f kB", &kb); n == 1 {
			return kb / 1024
		}
	}
	return 0
}

// pebble is a closed, bumpy ball of a little over a million triangles.
var pebble = sync.OnceValue(func() *mesh.Mesh {
	m := form.Sphere(30, 708, 708)
	for i, p := range m.Pos {
		d := r3.Unit(p)
		r := 30 + 2*math.Sin(7*d.X)*math.Cos(5*d.Y) + 0.3*math.Sin(40*d.Z)*math.Sin(37*d.X)
		m.Pos[i] = r3.Scale(r, d)
	}
	return m
})

// pebbleFile writes the pebble as binary STL.
func pebbleFile(b *testing.B) string {
	b.Helper()
	m := pebble()
	path := filepath.Join(b.TempDir(), "pebble.stl")
	f, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	var head [84]byte
	binary.LittleEndian.PutUint32(head[80:], uint32(len(m.Tri)))
	w.Write(head[:])
	for t := range m.Tri {
		var facet [50]byte
		n, _ := m.Normal(t)
		a, c, d := m.Corners(t)
		for k, v := range []r3.Vec{n, a, c, d} {
			for j, x := range []float64{v.X, v.Y, v.Z} {
				binary.LittleEndian.PutUint32(facet[12*k+4*j:], math.Float32bits(float32(x)))
			}
		}
		w.Write(facet[:])
	}
	if err := w.Flush(); err != nil {
		b.Fatal(err)
	}
	if err := f.Close(); err != nil {
		b.Fatal(err)
	}
	return path
}

// vtk runs a script with VTK and decodes what it prints; false where there is
// no VTK.
func vtk(b *testing.B, into any, script string, args ...string) bool {
	b.Helper()
	if err := exec.Command(python, "-c", "import vtk").Run(); err != nil {
		b.Logf("no VTK here (Debian: python3-vtk9), so no ratio")
		return false
	}
	return decode(b, exec.Command(python, append([]string{"testdata/" + script}, args...)...), into)
}

func decode(b *testing.B, cmd *exec.Cmd, into any) bool {
	b.Helper()
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err == nil {
		err = json.Unmarshal(out, into)
	}
	if err != nil {
		b.Fatalf("%v: %v\n%s", cmd.Args, err, stderr.Bytes())
	}
	return true
}

// BenchmarkReadMillion reads, welds, cleans and measures a binary STL file of a
// million triangles in a process of its own. It should take less than 2 s and
// 400 MB.
func BenchmarkReadMillion(b *testing.B) {
	path := pebbleFile(b)
	self, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	var ours, theirs, r report
	beside, n := false, 0
	for b.Loop() {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), child+"="+path)
		decode(b, cmd, &r)
		ours.Read, ours.Clean, ours.Measure = ours.Read+r.Read, ours.Clean+r.Clean, ours.Measure+r.Measure
		ours.Peak = max(ours.Peak, r.Peak)
		b.StopTimer()
		var v report
		if beside = vtk(b, &v, "read.py", path); beside {
			theirs.Read, theirs.Measure = theirs.Read+v.Read, theirs.Measure+v.Measure
			theirs.Peak = max(theirs.Peak, v.Peak-v.Idle)
			if v.Triangles != r.Triangles || v.Closed != r.Closed ||
				math.Abs(v.Volume-r.Volume) > 1e-5*r.Volume || math.Abs(v.Area-r.Area) > 1e-5*r.Area {
				b.Errorf("here %+v, VTK %+v", r, v)
			}
		}
		b.StartTimer()
		n++
	}
	if !r.Closed || r.Triangles != len(pebble().Tri) {
		b.Errorf("%d triangles of %d, closed %v", r.Triangles, len(pebble().Tri), r.Closed)
	}
	k := 1 / float64(n)
	b.Logf("%d triangles on %d cores: read %.3f s, clean %.3f s, measure %.3f s, together %.3f s, peak %.0f MB",
		r.Triangles, runtime.GOMAXPROCS(0), k*ours.Read, k*ours.Clean, k*ours.Measure, k*ours.whole(), ours.Peak)
	b.ReportMetric(k*ours.whole(), "s/flow")
	b.ReportMetric(k*ours.Read, "s/read")
	b.ReportMetric(ours.Peak, "MB")
	if beside {
		b.Logf("VTK: read and merge %.3f s, measure %.3f s, together %.3f s, peak %.0f MB above idle",
			k*theirs.Read, k*theirs.Measure, k*theirs.whole(), theirs.Peak)
		b.ReportMetric(k*theirs.whole(), "vtk-s/flow")
		b.ReportMetric(k*theirs.Read, "vtk-s/read")
		b.ReportMetric(theirs.Peak, "vtk-MB")
		b.ReportMetric(ours.whole()/theirs.whole(), "ratio-flow")
		b.ReportMetric(ours.Read/theirs.Read, "ratio-read")
	}
}
