package solid

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strings"

	"fettle"
	"fettle/internal/shape/mesh"
)

// Values is a quantity at every vertex of a mesh.
type Values struct {
	Name string // a word without spaces
	At   []float32
}

// WritePLY writes a mesh in millimetres with values at its vertices as binary PLY
// (G. Turk, "The PLY polygon file format", 1994): each quantity a property of the
// vertex beside x, y and z, so that whatever shows meshes can colour by it. Fails
// with Invalid for an empty mesh, and where values do not fit it.
func WritePLY(w io.Writer, m *mesh.Mesh, name string, values ...Values) error {
	if len(m.Tri) == 0 {
		return fettle.Errorf(fettle.Invalid, "%s has no triangles, so there is nothing to write", name)
	}
	for _, v := range values {
		if len(v.At) != len(m.Pos) || v.Name == "" || strings.ContainsFunc(v.Name, func(r rune) bool { return r <= ' ' || r > '~' }) {
			return fettle.Errorf(fettle.Invalid, "%s: %d values called %q for %d corners cannot be written", name, len(v.At), v.Name, len(m.Pos))
		}
	}
	b := bufio.NewWriterSize(w, 1<<16)
	fmt.Fprintf(b, "ply\nformat binary_little_endian 1.0\ncomment %s, millimetres\nelement vertex %d\nproperty float x\nproperty float y\nproperty float z\n", oneLine(name), len(m.Pos))
	for _, v := range values {
		fmt.Fprintf(b, "property float %s\n", v.Name)
	}
	fmt.Fprintf(b, "element face %d\nproperty list uchar int vertex_indices\nend_header\n", len(m.Tri))
	var raw [4]byte
	put := func(v float32) {
		binary.LittleEndian.PutUint32(raw[:], math.Float32bits(v))
		b.Write(raw[:])
	}
	for i, p := range m.Pos {
		put(float32(p.X))
		put(float32(p.Y))
		put(float32(p.Z))
		for _, v := range values {
			put(v.At[i])
		}
	}
	for _, t := range m.Tri {
		b.WriteByte(3)
		for _, c := range t {
			binary.LittleEndian.PutUint32(raw[:], c)
			b.Write(raw[:])
		}
	}
	return b.Flush()
}

// oneLine keeps a comment on its line and in ASCII.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return ' '
		}
		return r
	}, s)
}
