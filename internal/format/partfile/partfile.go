// Package partfile reads a model file of any kind that there is a reader for.
// [Read] looks at the content first and at the name only where the content
// does not say.
package partfile

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"fettle/internal/format/intake"
	"fettle/internal/format/obj"
	"fettle/internal/format/off"
	"fettle/internal/format/part21"
	"fettle/internal/format/ply"
	"fettle/internal/format/step"
	"fettle/internal/format/stl"
	"fettle/internal/format/threemf"
)

// Readable lists what can be read, for messages.
const Readable = "STEP, STL, 3MF, OBJ, PLY and OFF"

// Read makes a part of a model file. The name is only looked at, never opened.
// The options are for STEP files; the others say themselves how fine they are.
// What cannot be read is refused with an [intake.Fault]; the only other error is
// the context's.
func Read(ctx context.Context, name string, data []byte, opt step.Options) (*intake.Part, error) {
	base := filepath.Base(filepath.ToSlash(name))
	if len(data) == 0 {
		return nil, &intake.Fault{Format: base, What: "the file is empty", Try: "copy or export it again"}
	}
	if len(data) > intake.MaxBytes {
		return nil, &intake.Fault{Format: base, What: fmt.Sprintf("the file has %d MB, more than the %d MB that can be read", len(data)>>20, intake.MaxBytes>>20),
			Try: "export it with a coarser tolerance"}
	}
	if part21.Is(data) {
		return step.Read(ctx, data, opt)
	}
	if read := byContent(data); read != nil {
		return read(data)
	}
	if kind, try := foreign(data); kind != "" {
		return nil, &intake.Fault{Format: base, What: "this is " + kind + ", which cannot be read", Try: try}
	}
	if read := byName(name); read != nil {
		return read(data)
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".step", ".stp", ".p21":
		return step.Read(ctx, data, opt) // for its own words of what is wrong
	}
	return nil, &intake.Fault{Format: base, What: "this is not a model file of a known kind", Try: "export the part as one of " + Readable}
}

// reader is a function that reads one format.
type reader func([]byte) (*intake.Part, error)

// byContent picks the reader that the first bytes or the size ask for.
func byContent(data []byte) reader {
	switch {
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("PK\x05\x06")):
		return threemf.Read
	case bytes.HasPrefix(data, []byte("ply\n")), bytes.HasPrefix(data, []byte("ply\r")):
		return ply.Read
	case off.Is(data):
		return off.Read
	case stl.Is(data):
		return stl.Read
	case obj.Is(data):
		return obj.Read
	}
	return nil
}

// byName picks the reader that the name's ending asks for, so that a broken
// file gets the reader's own words for what is wrong.
func byName(name string) reader {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".stl", ".stla", ".stlb":
		return stl.Read
	case ".3mf":
		return threemf.Read
	case ".obj":
		return obj.Read
	case ".ply":
		return ply.Read
	case ".off", ".coff", ".noff":
		return off.Read
	}
	return nil
}

// foreign knows files that people try, and cannot be read, by their content.
func foreign(data []byte) (kind, try string) {
	const mesh = "export it as STEP, STL or 3MF"
	head := data[:min(len(data), 4096)]
	trimmed := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	switch {
	case iges(head):
		return "an IGES file", mesh
	case bytes.HasPrefix(data, []byte("glTF")):
		return "a binary glTF file", mesh
	case bytes.HasPrefix(trimmed, []byte("#VRML")), bytes.HasPrefix(trimmed, []byte("#X3D")):
		return "a VRML or X3D file", mesh
	case bytes.HasPrefix(trimmed, []byte("%PDF-")):
		return "a PDF", "ask for the model that it was drawn from"
	case bytes.HasPrefix(head, []byte("AC10")):
		return "a DWG drawing", mesh
	case bytes.HasPrefix(trimmed, []byte("<?xml")), bytes.HasPrefix(trimmed, []byte("<")):
		return "an XML file", mesh
	case bytes.HasPrefix(trimmed, []byte("{")):
		return "a JSON file", mesh
	case bytes.HasPrefix(data, []byte("\x89PNG")), bytes.HasPrefix(data, []byte("\xff\xd8\xff")), bytes.HasPrefix(data, []byte("GIF8")):
		return "a picture", "take the model file instead"
	case bytes.HasPrefix(data, []byte("\x1f\x8b")), bytes.HasPrefix(data, []byte("7z\xbc\xaf")), bytes.HasPrefix(data, []byte("Rar!")):
		return "a packed archive", "unpack it first"
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return "a file of a drawing program's own", mesh
	}
	return "", ""
}

// iges reports whether column 73 of the first card holds the letter of the
// start section, as the standard has it (ASME Y14.26M).
func iges(head []byte) bool {
	return len(head) >= 80 && head[72] == 'S' && bytes.Equal(bytes.TrimLeft(head[73:80], " 0"), []byte("1"))
}
