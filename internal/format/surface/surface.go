// Package surface reads and writes measured surfaces: X3P (ISO 25178-72), SDF
// (ISO 25178-71) and delimited text, to and from a [relief.Map]. A profile is a
// map of one row.
//
// [Read] tells the formats apart by content. It checks every count that a file
// declares against the bytes that are there before it allocates for it, and
// refuses what it cannot use with an [intake.Fault]. [Write] chooses by the
// name's extension, and what it writes is the same bytes every time.
//
// The standards themselves are not at hand: what is said here of their layouts
// was put together from their published schema and example files, from the
// descriptions of general metrology libraries and from memory, and is named
// where it matters.
package surface

import (
	"bytes"
	"fmt"
	"math"
	"path"
	"strings"

	"fettle/internal/format/intake"
	"fettle/internal/shape/relief"
)

const (
	// MaxCells is the most heights that a surface may have.
	MaxCells = 100_000_000
	// maxHeight is the largest height that counts as one, mm.
	maxHeight = 1e6
	// maxNotes is how many notes a reader makes of one kind.
	maxNotes = 8
)

// Surface is a measured surface and what its file says of it.
type Surface struct {
	Map    *relief.Map // heights in mm; one row for a profile
	Format string      // as a person says it: "X3P", "binary SDF", "text"
	// What the file says of its making; each may be empty.
	Instrument, Creator, Comment string
	Date                         string // "2024-09-03 14:05"
	Units                        string // as declared or guessed: "m", "x mm, z µm"
	// Notes are things that a user must know: units guessed, points left out,
	// checksums that do not match.
	Notes []string
}

// Profile reports whether there is only one row.
func (s *Surface) Profile() bool { return s.Map.H == 1 }

// Missing counts the cells without a height.
func (s *Surface) Missing() int {
	n := 0
	for _, z := range s.Map.Z {
		if z != z {
			n++
		}
	}
	return n
}

// Options say what a text does not. They are not needed, and not looked at, for
// the other formats. Zero values leave it to the file.
type Options struct {
	DX, DY float64 // spacing along a row and from row to row, mm; DY 0 is DX
	XUnit  string  // of the columns x and y: "mm", "µm", "nm", "m", "in", …
	ZUnit  string  // of the heights
}

// Read makes a surface of a file's bytes; name stands for the file in messages
// and tells nothing else. The error is an [*intake.Fault].
func Read(name string, data []byte, opt Options) (*Surface, error) {
	switch {
	case len(data) == 0:
		return nil, intake.Faultf(name, "", "the file is empty")
	case len(data) > intake.MaxBytes:
		return nil, intake.Faultf(name, "", "the file has more than %d MB", intake.MaxBytes>>20)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("PK\x05\x06")):
		return readX3P(data)
	case sdfMagic(data):
		return readSDF(data)
	}
	text := plainText(data)
	if text == nil {
		return nil, &intake.Fault{Format: name, What: "this is neither X3P nor SDF nor text", Try: "export the measurement as X3P, SDF or text"}
	}
	return readText(text, opt)
}

// size checks the sizes that a file claims, before anything is allocated.
func size(format, where string, w, h int64) error {
	switch {
	case w < 1 || h < 1:
		return &intake.Fault{Format: format, What: fmt.Sprintf("it says that it holds %d × %d heights", w, h), Where: where, Try: "export it again"}
	case w > MaxCells || h > MaxCells || w*h > MaxCells:
		return &intake.Fault{Format: format, What: fmt.Sprintf("it says that it holds %d × %d heights, and %d million is the most that is read", w, h, MaxCells/1_000_000),
			Where: where, Try: "export a part of it, or with a wider spacing"}
	}
	return nil
}

// filler puts heights into a map one after the other. The first of them becomes
// the base, so that micrometres on top of a large distance keep their digits.
type filler struct {
	m     *relief.Map
	based bool
	found int // heights
	wild  int // values beyond all measure, taken as missing
}

// newFiller makes a map with no heights.
func newFiller(w, h int, dx, dy float64) *filler {
	return &filler{m: relief.NewMap(relief.Grid{W: w, H: h, DX: dx, DY: dy})}
}

// put sets cell i to z mm; not-a-number leaves it missing.
func (f *filler) put(i int, z float64) {
	if z != z {
		return
	}
	if z > maxHeight || z < -maxHeight {
		f.wild++
		return
	}
	if !f.based {
		f.m.Base, f.based = z, true
	}
	f.m.Z[i] = float32(z - f.m.Base)
	f.found++
}

// done hands out the surface, or says that it holds nothing.
func (f *filler) done(s *Surface) (*Surface, error) {
	m := f.m
	if f.found == 0 {
		return nil, &intake.Fault{Format: s.Format, What: "none of its points has a height", Try: "measure or export it again"}
	}
	if m.W == 1 && m.H > 1 { // a profile that was stored as a column
		m.W, m.H, m.DX, m.X0, m.Y0 = m.H, 1, m.DY, m.Y0, m.X0
	}
	if m.H == 1 {
		m.DY = m.DX
	}
	switch {
	case m.W < 2:
		return nil, &intake.Fault{Format: s.Format, What: "it holds a single point", Try: "export the whole measurement"}
	case !spacing(m.DX) || !spacing(m.DY):
		return nil, &intake.Fault{Format: s.Format, What: fmt.Sprintf("its spacing of %g × %g mm is none that can be measured at", m.DX, m.DY), Try: "export it again, or give the spacing"}
	}
	if f.wild > 0 {
		s.note("%d heights beyond %g mm were taken as missing", f.wild, float64(maxHeight))
	}
	s.Map = m
	return s, nil
}

// spacing reports whether a spacing in mm is one that a surface can have.
func spacing(d float64) bool { return d >= 1e-9 && d <= 1e4 }

// offset is a place in mm, or zero where the file says nothing of use.
func offset(v float64) float64 {
	if v != v || math.Abs(v) > maxHeight {
		return 0
	}
	return v
}

// note adds a sentence for the user, up to a few.
func (s *Surface) note(format string, args ...any) {
	if len(s.Notes) < maxNotes {
		s.Notes = append(s.Notes, fmt.Sprintf(format, args...))
	}
}

// words makes one line of texts of a file: printable, without empty ones.
func words(texts ...string) string {
	var out []string
	for _, t := range texts {
		if t = strings.Join(strings.Fields(intake.Printable([]byte(t))), " "); t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, " ")
}

// extension is that of a file's name, in lower case.
func extension(name string) string {
	return strings.ToLower(path.Ext(strings.ReplaceAll(name, `\`, "/")))
}
