// Package obj reads the polygons of OBJ files. [Read] is all there is to it.
package obj

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// format is how this format is called.
const format = "OBJ"

// ignored are words whose lines say nothing about the shape of polygons.
var ignored = []string{"vt", "vn", "s", "mtllib", "usemtl", "maplib", "usemap", "l", "p", "lod", "shadow_obj", "trace_obj", "bevel", "c_interp", "d_interp", "mg", "call", "csh"}

// freeform are words of curves and surfaces, which are not read.
var freeform = []string{"vp", "cstype", "deg", "bmat", "step", "curv", "curv2", "surf", "parm", "trim", "hole", "scrv", "sp", "end", "con", "ctech", "stech", "bzp", "bsp", "cdc", "cdp", "res"}

// start makes a walker over data.
func start(data []byte) *intake.Text {
	if len(data) >= 3 && string(data[:3]) == "\xef\xbb\xbf" {
		data = data[3:]
	}
	t := intake.NewText(data)
	t.Joined, t.Comment = true, '#'
	return t
}

// Is reports whether data reads like an OBJ file from its start: known words at
// the head of the lines, and a vertex before long.
func Is(data []byte) bool {
	if len(data) > 1<<16 {
		data = data[:1<<16]
	}
	t := start(data)
	for {
		switch w := string(t.Word()); {
		case w == "v":
			for range 3 {
				if _, ok := intake.ParseFloat(t.Word()); !ok {
					return false
				}
			}
			return true
		case w == "", w == "g", w == "o", slices.Contains(ignored, w), slices.Contains(freeform, w):
		default:
			return false
		}
		if !t.NextLine() {
			return false
		}
	}
}

// Read makes a part of an OBJ file. Polygons are cut into triangles, with a
// note; curves and surfaces in mathematical form are skipped, with a note. It
// refuses with an [intake.Fault] coordinates that are not numbers and corners
// that name vertices which are not there.
func Read(data []byte) (*intake.Part, error) {
	if len(data) == 0 {
		return nil, intake.Faultf(format, "", "the file is empty")
	}
	if len(data) > intake.MaxBytes {
		return nil, intake.Faultf(format, "", "the file has more than %d bytes", intake.MaxBytes)
	}
	r := &reader{t: start(data), mesh: &mesh.Mesh{}, skipped: map[string]int{}}
	r.poly.Mesh = r.mesh
	for {
		if err := r.line(); err != nil {
			return nil, err
		}
		if !r.t.NextLine() {
			break
		}
	}
	if len(r.mesh.Tri) == 0 {
		what := "there are no polygons in it"
		if r.free > 0 {
			what = "it holds curves and surfaces in mathematical form only"
		}
		return nil, &intake.Fault{Format: format, What: what, Try: "export it as polygons"}
	}
	notes := r.poly.Notes()
	if r.free > 0 {
		notes = append(notes, "curves and surfaces in mathematical form were skipped")
	}
	if len(r.skipped) > 0 {
		words := slices.Sorted(maps.Keys(r.skipped))
		more := ""
		if len(words) > 5 {
			words, more = words[:5], " and others"
		}
		notes = append(notes, "lines that are not known were skipped: "+strings.Join(words, ", ")+more)
	}
	return &intake.Part{Format: format, Mesh: r.mesh, Names: r.names, Notes: notes}, nil
}

// reader walks the lines.
type reader struct {
	t       *intake.Text
	mesh    *mesh.Mesh
	poly    intake.Polygons
	names   []string
	groups  map[string]bool
	free    int
	skipped map[string]int
	corners []uint32
}

// fault is one at the present line.
func (r *reader) fault(what string, args ...any) error {
	return &intake.Fault{Format: format, What: fmt.Sprintf(what, args...), Where: r.t.Where(), Try: "export it again"}
}

// line reads one line.
func (r *reader) line() error {
	switch w := string(r.t.Word()); {
	case w == "v":
		return r.vertex()
	case w == "f", w == "fo":
		return r.polygon()
	case w == "":
	case w == "o", w == "g":
		r.name(intake.Printable(r.t.Rest()))
	case slices.Contains(ignored, w):
	case slices.Contains(freeform, w):
		r.free++
	default:
		if len(r.skipped) < 100 {
			r.skipped[intake.Printable([]byte(w))]++
		}
	}
	return nil
}

// name keeps a new name of an object or group.
func (r *reader) name(s string) {
	if s == "" || r.groups[s] || len(r.names) >= intake.MaxParts {
		return
	}
	if r.groups == nil {
		r.groups = map[string]bool{}
	}
	r.groups[s] = true
	r.names = append(r.names, s)
}

// vertex reads a place; a weight or a colour behind it is left.
func (r *reader) vertex() error {
	var p [3]float64
	for k := range p {
		w := r.t.Word()
		v, ok := intake.ParseFloat(w)
		if !ok || !intake.Finite(v) {
			return r.fault("vertex %d has the coordinate %q", len(r.mesh.Pos)+1, intake.Printable(w))
		}
		p[k] = v
	}
	if len(r.mesh.Pos) >= intake.MaxVertices {
		return r.fault("there are more than %d vertices", intake.MaxVertices)
	}
	r.mesh.Pos = append(r.mesh.Pos, r3.Vec{X: p[0], Y: p[1], Z: p[2]})
	return nil
}

// polygon reads corners of the forms 1, 1/2, 1//3 and 1/2/3, of which only the
// first number, the vertex, counts. Negative ones count back from the last
// vertex so far.
func (r *reader) polygon() error {
	r.corners = r.corners[:0]
	for w := r.t.Word(); w != nil; w = r.t.Word() {
		first := w
		for i, c := range w {
			if c == '/' {
				first = w[:i]
				break
			}
		}
		n := int64(len(r.mesh.Pos))
		v, ok := intake.ParseInt(first)
		if v < 0 {
			v += n + 1
		}
		if !ok || v < 1 || v > n {
			return r.fault("a polygon names the vertex %q, and there are %d so far", intake.Printable(w), n)
		}
		r.corners = append(r.corners, uint32(v-1))
	}
	if err := r.poly.Add(r.corners); err != nil {
		return r.fault("a polygon has %s", err)
	}
	return nil
}
