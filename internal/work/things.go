package work

import (
	"fmt"
	"image"
	"image/png"
	"io"
	"path/filepath"
	"strings"

	"fettle"
	"fettle/internal/output/solid"
	"fettle/internal/shape/mesh"
)

// solidForms are the files that a solid can be written as.
const solidForms = ".stl or .3mf"

// solidFile checks the name of a solid's file before any work is done.
func solidFile(path string) error {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".stl", ".3mf":
		return nil
	}
	return fettle.Errorf(fettle.Invalid, "%s names no form of solid; let --out end in %s", filepath.Base(path), solidForms)
}

// writeSolid writes a mesh in the form that the file's name asks for.
func writeSolid(path string, m *mesh.Mesh, name string) error {
	return WriteFile(path, func(w io.Writer) error {
		if strings.EqualFold(filepath.Ext(path), ".3mf") {
			return solid.Write3MF(w, m, name)
		}
		return solid.WriteSTL(w, m, name)
	})
}

// beside is a file next to another: its name with something added before the end,
// and another end where one is given.
func beside(path, add, end string) string {
	ext := filepath.Ext(path)
	if end == "" {
		end = ext
	}
	return strings.TrimSuffix(path, ext) + add + end
}

func writePNG(path string, img image.Image) error {
	return WriteFile(path, func(w io.Writer) error { return png.Encode(w, img) })
}

// checked measures a solid that is about to be written. A solid that does not
// close is our fault, and nothing is written of it.
func checked(m *mesh.Mesh, what string) (volume float64, err error) {
	got := mesh.Measure(m, nil)
	if !got.Closed || !(got.Volume > 0) {
		return 0, fmt.Errorf("work: the %s does not close (volume %g mm³)", what, got.Volume)
	}
	return got.Volume, nil
}
