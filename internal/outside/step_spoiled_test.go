//go:build outside

package outside

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"fettle/internal/format/brep"
	"fettle/internal/format/intake"
	"fettle/internal/format/step"
	"fettle/internal/format/step/steptest"
)

// spoiled is a STEP file that something is wrong with.
type spoiled struct{ name, text string }

// endless is the name of one that the package does not come back from under Node,
// not in ten minutes; Node is not asked about it.
const endless = "a radius of 1e308"

// spoil makes them, the endless one last: of solids that a native build of the kernel wrote, and of
// boxes of our own.
func spoil(t testing.TB) []spoiled {
	t.Helper()
	var all []spoiled
	text := func(name string) string {
		data, err := os.ReadFile(drawnFile(t, name))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	// change puts something in place of the first match of an expression, or of all.
	change := func(name, in, old, new string, every bool) {
		s := text(in)
		r := regexp.MustCompile("(?s)" + old)
		n := 0
		got := r.ReplaceAllStringFunc(s, func(m string) string {
			if n++; n > 1 && !every {
				return m
			}
			return r.ReplaceAllString(m, new)
		})
		if got == s {
			t.Fatalf("%s: nothing in %s matches %s", name, in, old)
		}
		all = append(all, spoiled{name, got})
	}
	// last is the last point of a file, a corner of the solid.
	const point = `CARTESIAN_POINT\('',\(43\.,21\.,17\.\)\)`

	whole := text("plate")
	for i := range 10 {
		all = append(all, spoiled{fmt.Sprintf("cut off after %d tenths", i), whole[:len(whole)*i/10]})
	}
	change("a reference to what is not there", "plate", `(ADVANCED_FACE\('',\(#\d+\),)#\d+`, `${1}#999999`, false)
	change("references to what is not there", "plate", `(EDGE_CURVE\('',#\d+,#\d+,)#\d+`, `${1}#999999`, true)
	change("a point that is no number", "block", point, `CARTESIAN_POINT('',(NaN,21.,17.))`, true)
	change("a point at 1e308", "block", point, `CARTESIAN_POINT('',(1.E308,21.,17.))`, true)
	change("a point at 1e400", "block", point, `CARTESIAN_POINT('',(1.E400,21.,17.))`, true)
	change("a point without coordinates", "block", point, `CARTESIAN_POINT('',())`, true)
	change("a radius of nought", "peg", `CYLINDRICAL_SURFACE\('',(#\d+),3\.175\)`, `CYLINDRICAL_SURFACE('',${1},0.)`, true)
	change("a radius below nought", "peg", `CYLINDRICAL_SURFACE\('',(#\d+),3\.175\)`, `CYLINDRICAL_SURFACE('',${1},-3.)`, true)
	change("a direction of no length", "ring", `DIRECTION\('',\([^()]*,[^()]*,[^()]*\)\)`, `DIRECTION('',(0.,0.,0.))`, true)
	change("an assembly that contains itself", "placed", `NEXT_ASSEMBLY_USAGE_OCCURRENCE\(('[^']*','[^']*','[^']*'),(#\d+),#\d+`, `NEXT_ASSEMBLY_USAGE_OCCURRENCE(${1},${2},${2}`, true)
	change("a placement that goes in a ring", "block", `AXIS2_PLACEMENT_3D\('',#(\d+),`, `AXIS2_PLACEMENT_3D('',#11,`, false)
	change("knots that fall", "pillow", `\(4,4\),\s*\(0\.,1\.\)`, `(4,4),(1.,0.)`, true)
	change("knots of no width", "pillow", `\(4,4\),\s*\(0\.,1\.\)`, `(4,4),(0.,0.)`, true)
	change("knots too few", "pillow", `\(4,4\)`, `(4,1)`, true)
	change("knots without end", "pillow", `\(4,4\)`, `(4,2147483647)`, true)
	change("a degree of 100", "pillow", `B_SPLINE_SURFACE_WITH_KNOTS\('',3,3`, `B_SPLINE_SURFACE_WITH_KNOTS('',100,3`, true)
	change("a spline without poles", "pillow", `(B_SPLINE_SURFACE_WITH_KNOTS\('',3,3,)\(.*?\)\s*(,\.UNSPECIFIED)`, `${1}()${2}`, false)
	change("a face without bounds", "block", `ADVANCED_FACE\('',\(#\d+\)`, `ADVANCED_FACE('',()`, false)
	change("faces without bounds", "plate", `ADVANCED_FACE\('',\([^()]*\)`, `ADVANCED_FACE('',()`, true)
	change("a face whose bound is nothing", "block", `ADVANCED_FACE\('',\(#\d+\)`, `ADVANCED_FACE('',($$)`, false)
	change("a bound whose loop is nothing", "block", `FACE_BOUND\('',#\d+`, `FACE_BOUND('',$$`, false)
	change("a loop that is a line", "block", `FACE_BOUND\('',#\d+`, `FACE_BOUND('',#11`, false)
	change("a curve on no surfaces", "block", `SURFACE_CURVE\('',(#\d+),\(#\d+,#\d+\)`, `SURFACE_CURVE('',${1},()`, false)
	change("a vertex without a point", "filleted", `VERTEX_POINT\('',#\d+\)`, `VERTEX_POINT('',$$)`, false)
	change("a shell without faces", "plate", `CLOSED_SHELL\('',\([^()]*\)`, `CLOSED_SHELL('',()`, true)
	change("a solid without a shell", "plate", `MANIFOLD_SOLID_BREP\('(\w*)',#\d+`, `MANIFOLD_SOLID_BREP('${1}',$$`, true)
	change("a shell with a face left out", "plate", `CLOSED_SHELL\('',\(#\d+,`, `CLOSED_SHELL('',(`, true)
	change("faces turned about", "plate", `(ADVANCED_FACE\('',\([^()]*\),#\d+),\.F\.`, `${1},.T.`, true)
	change("no data", "plate", `DATA;.*ENDSEC;(\s*END-ISO)`, "DATA;\nENDSEC;${1}", true)
	change("no header", "plate", `HEADER;.*?ENDSEC;`, "HEADER;\nENDSEC;", false)
	change("two instances of one number", "block", `#12 = `, `#11 = `, false)
	change("a unit of nought", "cube-INCH", `MEASURE_WITH_UNIT\(25\.4,`, `MEASURE_WITH_UNIT(0.,`, true)
	change("no units", "cube-MM", `GLOBAL_UNIT_ASSIGNED_CONTEXT\s*\(\s*\([^()]*\)`, `GLOBAL_UNIT_ASSIGNED_CONTEXT(()`, true)

	const head, tail = "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\nDATA;\n", "ENDSEC;\nEND-ISO-10303-21;\n"
	add := func(name, data string) { all = append(all, spoiled{name, head + data + tail}) }
	add("nothing", "")
	add("a thousand brackets in each other", "#1=CARTESIAN_POINT('',"+strings.Repeat("(", 1000)+"1."+strings.Repeat(")", 1000)+");\n")
	add("a hundred thousand brackets in each other", "#1=CARTESIAN_POINT('',"+strings.Repeat("(", 100_000)+"1."+strings.Repeat(")", 100_000)+");\n")
	add("brackets that never close", "#1=CARTESIAN_POINT('',"+strings.Repeat("(", 100_000))
	add("text that never ends", "#1=PRODUCT('"+strings.Repeat("x", 1<<12))
	add("kinds that there are none of", strings.Repeat("#1=NO_SUCH_THING('',$,*,(1,2.,#1));\n", 1000))

	wire := &steptest.File{}
	line := wire.Add("POLYLINE('',(#%d,#%d))", wire.Point([3]float64{}), wire.Point([3]float64{1, 0, 0}))
	wire.Product("wire", "GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION", wire.Add("GEOMETRIC_CURVE_SET('',(#%d))", line))
	all = append(all, spoiled{"wires alone", string(wire.Bytes())})
	note := &steptest.File{}
	note.Product("note", "SHAPE_REPRESENTATION")
	ends := note.Add("POLYLINE('',(#%d,#%d))", note.Point([3]float64{}), note.Point([3]float64{1, 0, 0}))
	note.Add("DRAUGHTING_MODEL('',(#%d),#%d)", note.Add("ANNOTATION_CURVE_OCCURRENCE('',(),#%d)", ends), 8)
	all = append(all, spoiled{"annotation alone", string(note.Bytes())})
	change(endless, "ball", `SPHERICAL_SURFACE\('',(#\d+),1\.5\)`, `SPHERICAL_SURFACE('',${1},1.E308)`, true)
	return all
}

// What is wrong with a file ends in a part as Node has it, or in one sentence; never
// in a panic, and not much later than it would for a good file.
func TestSpoiledSTEP(t *testing.T) {
	t.Parallel()
	files := spoil(t)
	dir := t.TempDir()
	var paths []string
	for i, f := range files {
		path := filepath.Join(dir, fmt.Sprintf("%02d.step", i))
		if err := os.WriteFile(path, []byte(f.text), 0o644); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	hasty := brep.New(brep.Options{Time: time.Second})
	defer hasty.Close(context.Background())
	alike, parts, refused := 0, 0, 0
	n := len(files) - 1
	for i, a := range append(underNode(t, []*parameters{nil}, 1, paths[:n]...), answer{Threw: "nothing in ten minutes"}) {
		f := files[i]
		a.File = f.name
		kernel := brep.Default()
		if f.name == endless {
			kernel = hasty
		}
		scene, err := kernel.Read(context.Background(), []byte(f.text), brep.Settings{})
		var trap *brep.Trap
		var there string
		switch {
		case a.Success:
			there = fmt.Sprintf("%d meshes, %d triangles", len(a.Meshes), a.triangles())
			if err != nil {
				t.Errorf("%s: %v; Node has %s", f.name, err, there)
			} else {
				a.same(t, scene)
				alike++
			}
		case f.name == endless:
			there = a.Threw
			if !errors.As(err, &trap) || trap.Kind != brep.NoTime {
				t.Errorf("%s: error %v, want that it was stopped; Node says %s", f.name, err, there)
			}
		case a.Threw != "":
			there = "throws " + a.Threw
			if !errors.As(err, &trap) {
				t.Errorf("%s: error %v, want a trap as Node %s", f.name, err, there)
			}
		default:
			there = "refuses"
			if !errors.As(err, &trap) || trap.Kind != brep.Refused {
				t.Errorf("%s: error %v; Node refuses", f.name, err)
			}
		}
		start := time.Now()
		part, err := step.Read(context.Background(), []byte(f.text), step.Options{Kernel: kernel})
		took := time.Since(start)
		here := ""
		switch {
		case err != nil:
			checkSentence(t, f.name, err)
			here = err.Error()
			refused++
		default:
			here = says(part)
			parts++
		}
		if took > 20*time.Second {
			t.Errorf("%s: took %.0f s", f.name, took.Seconds())
		}
		t.Logf("%-42s Node %s; here (%.1f s) %s", f.name, there, took.Seconds(), here)
	}
	t.Logf("%d files: %d answered alike, %d parts, %d refused", len(files), alike, parts, refused)
	if alike < 10 || refused < 10 {
		t.Error("the files try too little")
	}
}

// says is a part in a phrase.
func says(p *intake.Part) string {
	return fmt.Sprintf("%d bodies, %d triangles, beside %q, notes %q", len(p.Bodies), len(p.Mesh.Tri), p.Aside, p.Notes)
}
