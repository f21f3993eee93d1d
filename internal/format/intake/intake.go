// Package intake is what all readers of model files share: the fault they
// report, the limits they keep, and the part they hand on.
//
// A reader takes the whole file as bytes, checks every count that the file
// declares against the bytes that are really there before it allocates for it,
// and never panics. What it cannot use it refuses with a [Fault]: one sentence
// that says what is wrong, where, and what to try.
package intake

import (
	"fmt"

	"fettle/internal/shape/mesh"
)

// Limits against hostile files. They are far above any part that fits in a
// hand.
const (
	MaxBytes     = 1 << 30 // of a file, and of what an archive unpacks to
	MaxTriangles = 40_000_000
	MaxVertices  = 40_000_000
	MaxDepth     = 64 // nesting of components or elements
	MaxParts     = 10_000
)

// Fault is a file that cannot be used as it is. It becomes exit status 3.
type Fault struct {
	Format string // "STL"
	What   string // what is wrong, a clause: "the file ends inside facet 12"
	Where  string // "line 40", "byte 684", "3D/3dmodel.model"; may be empty
	Try    string // what to try, a clause: "export it again as binary"; may be empty
}

// Error is the whole sentence.
func (f *Fault) Error() string {
	s := f.Format + ": " + f.What
	if f.Where != "" {
		s += " (" + f.Where + ")"
	}
	if f.Try != "" {
		s += "; " + f.Try
	}
	return s
}

// Faultf makes a Fault without a hint.
func Faultf(format, where, what string, args ...any) *Fault {
	return &Fault{Format: format, Where: where, What: fmt.Sprintf(what, args...)}
}

// Part is what a reader found in a file: a raw mesh in the file's own unit,
// not yet welded beyond the file's own sharing of vertices.
type Part struct {
	Format string     // as a person says it: "binary STL", "3MF", "ASCII PLY"
	Mesh   *mesh.Mesh // in file units
	// Unit is the unit the file declares, as millimetres per unit and by name; 0
	// and "" where it does not say.
	UnitMM   float64
	UnitName string
	// InMM is set where the reader has turned the file's unit into millimetres
	// already, the mesh with it; UnitMM is then never 0.
	InMM  bool
	Names []string // of the objects in it, in order
	// Bodies are the bodies that the file tells apart, in its order, and cover the
	// mesh's triangles one after the other; nil where it tells none apart.
	Bodies []Body
	// FaceColours are the colours of the mesh's faces by id, nil where the file
	// gives a face none; the slice is nil where it gives none at all.
	FaceColours []*Colour
	// Aside is what else the file holds, which is listed and not measured: open
	// surfaces, annotation, construction geometry. A phrase each.
	Aside []string
	// Notes are things a user must know: facets dropped, extensions skipped,
	// polygons cut into triangles.
	Notes []string
}

// Colour is red, green and blue from 0 to 255 as a screen shows them (sRGB).
type Colour [3]uint8

// String is the colour as style sheets write it.
func (c Colour) String() string { return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]) }

// Body is one body of a part's mesh, placed where the file's assembly has it.
type Body struct {
	Name string   // the file's own, may be empty
	In   []string // names of the assemblies that it stands in, the outermost first
	// From and To are its first triangle and the one past its last.
	From, To int
	Solid    bool // it encloses a volume
	Colour   *Colour
}
