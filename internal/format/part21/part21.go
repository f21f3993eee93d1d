// Package part21 reads the exchange structure of ISO 10303-21, the text that a
// STEP file is: its header and its instances. It does not build shapes.
//
// [Is] tells such a file from others, [Read] says what is in one: by which
// protocol it was written, in which unit, how many solids, and what lies beside
// them. One pass over the bytes finds where each instance begins and of which
// kind it is, and refuses text that is not whole; parameters are read after that
// and only of the instances that something is asked about. Nothing of the file
// is copied but the names that come out.
//
// Clauses are those of ISO 10303-21:2002 (edition 2), given from memory.
package part21

import (
	"bytes"
	"fmt"

	"fettle/internal/format/intake"
)

// format stands in front of the faults.
const format = "STEP"

// again is the hint for a file that is not whole.
const again = "copy or export it again"

// Summary is what a STEP file says about itself and its contents. Names are
// free of control characters and at most maxName characters long.
type Summary struct {
	// Schemas are the names in FILE_SCHEMA as written, without the braces of the
	// object identifier: "AUTOMOTIVE_DESIGN".
	Schemas []string
	// Protocol is "AP203", "AP214" or "AP242" for the schemas of these, in any
	// edition; the schema's name where it is another one; may be empty.
	Protocol string
	// Name and System are the name and the originating system in FILE_NAME; may be
	// empty.
	Name, System string
	// Units are the units of length in the contexts of shape representations that
	// have items, each once, the one with most items first.
	Units []Unit
	// Products are the names of the products that have a shape defined, by their
	// definitions' order.
	Products []string
	// Solids counts the boundary models of solids in shape representations, each
	// once however often it is placed.
	Solids int
	// Sheets counts surfaces that enclose nothing: shells and faces of surface
	// models, faces on their own, and surfaces in sets.
	Sheets int
	// Uses counts the places of parts in assemblies. Placed are the solids where
	// those put them, depth first; nil where an assembly is in itself.
	Uses   int
	Placed []Placed
	// External are the names of other files in which the shape of a part is.
	External []string
	// Beside is what else there is, a phrase each with a count, in a fixed order:
	// "2 open surfaces", "14 annotation curves", "3 datums".
	Beside []string
	// Faces counts the faces of the solids by the type of their surfaces:
	// "PLANE", "CYLINDRICAL_SURFACE"; a rational one is a "B_SPLINE_SURFACE".
	Faces map[string]int
	// Extent is the longest side of the box round all points of the file, in its
	// own unit: a guess at the size, too large where there are construction points,
	// too small where an assembly spreads its parts.
	Extent float64
}

// Unit is a unit of length as millimetres per unit. Name is "mm", "inch", "m",
// "cm", "ft" or "micron" where it is one of those, else what the file calls it.
type Unit struct {
	Name string
	MM   float64
}

// magic is how every exchange structure begins.
const magic = "ISO-10303-21"

// Is reports whether data begins, after a byte order mark, blanks or comments,
// as an exchange structure does.
func Is(data []byte) bool {
	r := reader{data: data}
	return r.begin()
}

// Read finds out what is in a file. Errors are of type [*intake.Fault]. A file
// whose text is not whole is refused: instances without an end, the same number
// twice, solids that refer to numbers which are not there.
func Read(data []byte) (*Summary, error) {
	if len(data) > intake.MaxBytes {
		return nil, &intake.Fault{Format: format, What: fmt.Sprintf("it is larger than %d MB", intake.MaxBytes>>20), Try: "export fewer parts at once"}
	}
	r := &reader{data: data}
	if err := r.read(); err != nil {
		return nil, err
	}
	f, err := newFile(r)
	if err != nil {
		return nil, err
	}
	s := &Summary{Faces: map[string]int{}}
	f.headerInto(s)
	s.Extent = f.extent()
	names := f.products(s)
	f.external(s)
	if err := f.shapes(s); err != nil {
		return nil, err
	}
	s.Placed = f.placed(names)
	if r.sections == 0 && len(s.External) == 0 {
		return nil, &intake.Fault{Format: format, What: "there is no DATA section in it", Try: again}
	}
	return s, nil
}

// line is the line, from 1, in which the byte at stands. Lines may end with LF,
// CR or both.
func line(data []byte, at int) int {
	head := data[:min(at, len(data))]
	n := bytes.Count(head, []byte{'\n'})
	if cr := bytes.Count(head, []byte{'\r'}); cr > 0 {
		n += cr - bytes.Count(head, []byte("\r\n"))
	}
	return n + 1
}

// where is a line as a person says it.
func where(data []byte, at int) string { return fmt.Sprintf("line %d", line(data, at)) }
