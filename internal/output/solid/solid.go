// Package solid writes meshes for printing and cutting: [WriteSTL] the binary
// STL form that every machine reads, [Write3MF] a 3MF package, which also keeps
// the unit and the name. The same mesh gives the same bytes every time.
package solid

import (
	"archive/zip"
	"bufio"
	"encoding/binary"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fettle/internal/shape/mesh"
)

// WriteSTL writes m as binary STL. The header holds the name, of which it has
// room for 80 bytes of ASCII; it never starts with "solid", which some readers
// take for the text form. Coordinates are rounded to single precision. The
// error is that of w, or that the mesh is too large for the form's count.
func WriteSTL(w io.Writer, m *mesh.Mesh, name string) error {
	if uint64(len(m.Tri)) > math.MaxUint32 {
		return fmt.Errorf("%d triangles are more than an STL file can count", len(m.Tri))
	}
	b := bufio.NewWriterSize(w, 1<<16)
	var head [84]byte
	copy(head[:80], header(name))
	binary.LittleEndian.PutUint32(head[80:], uint32(len(m.Tri)))
	if _, err := b.Write(head[:]); err != nil {
		return err
	}
	var f [50]byte
	put := func(at int, x float64) {
		binary.LittleEndian.PutUint32(f[at:], math.Float32bits(float32(x)))
	}
	for t := range m.Tri {
		n, _ := m.Normal(t)
		put(0, n.X)
		put(4, n.Y)
		put(8, n.Z)
		for k, v := range m.Tri[t] {
			p := m.Pos[v]
			put(12+12*k, p.X)
			put(16+12*k, p.Y)
			put(20+12*k, p.Z)
		}
		if _, err := b.Write(f[:]); err != nil {
			return err
		}
	}
	return b.Flush()
}

// header is the name as a header can hold it.
func header(name string) string {
	var b strings.Builder
	for _, r := range name {
		if b.Len() == 80 {
			break
		}
		if r < ' ' || r > '~' {
			r = '_'
		}
		b.WriteRune(r)
	}
	s := b.String()
	if strings.HasPrefix(strings.ToLower(strings.TrimLeft(s, " ")), "solid") {
		s = "_" + s
	}
	return s[:min(len(s), 80)]
}

const (
	contentTypes = `<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>
`
	relations = `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/3dmodel.model"/></Relationships>
`
	modelHead = `<?xml version="1.0" encoding="UTF-8"?>
<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
`
)

// Write3MF writes m, in millimetres, as a 3MF package with one object and one
// build item. Coordinates are the shortest decimals that read back as the same
// number. The error is that of w, or that a coordinate is not finite.
func Write3MF(w io.Writer, m *mesh.Mesh, name string) error {
	for i, p := range m.Pos {
		if s := p.X + p.Y + p.Z; math.IsNaN(s) || math.IsInf(s, 0) {
			return fmt.Errorf("vertex %d is not at a finite place", i)
		}
	}
	z := zip.NewWriter(w)
	for _, part := range []struct {
		name  string
		write func(b *bufio.Writer)
	}{
		{"[Content_Types].xml", func(b *bufio.Writer) { b.WriteString(contentTypes) }},
		{"_rels/.rels", func(b *bufio.Writer) { b.WriteString(relations) }},
		{"3D/3dmodel.model", func(b *bufio.Writer) { writeModel(b, m, name) }},
	} {
		f, err := z.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Deflate,
			Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)}) // one time for all, for the same bytes
		if err != nil {
			return err
		}
		b := bufio.NewWriterSize(f, 1<<16)
		part.write(b) // errors stick to b and come out at the flush
		if err := b.Flush(); err != nil {
			return err
		}
	}
	return z.Close()
}

// writeModel writes the model part.
func writeModel(b *bufio.Writer, m *mesh.Mesh, name string) {
	var label strings.Builder
	// EscapeText only fails where the builder does, which never does.
	_ = xml.EscapeText(&label, []byte(name))
	b.WriteString(modelHead)
	fmt.Fprintf(b, "<metadata name=\"Title\">%s</metadata>\n<resources><object id=\"1\" type=\"model\" name=\"%s\"><mesh>\n<vertices>\n", label.String(), label.String())
	buf := make([]byte, 0, 128)
	for _, p := range m.Pos {
		buf = strconv.AppendFloat(append(buf[:0], `<vertex x="`...), p.X, 'g', -1, 64)
		buf = strconv.AppendFloat(append(buf, `" y="`...), p.Y, 'g', -1, 64)
		buf = strconv.AppendFloat(append(buf, `" z="`...), p.Z, 'g', -1, 64)
		b.Write(append(buf, "\"/>\n"...))
	}
	b.WriteString("</vertices>\n<triangles>\n")
	for _, t := range m.Tri {
		buf = strconv.AppendUint(append(buf[:0], `<triangle v1="`...), uint64(t[0]), 10)
		buf = strconv.AppendUint(append(buf, `" v2="`...), uint64(t[1]), 10)
		buf = strconv.AppendUint(append(buf, `" v3="`...), uint64(t[2]), 10)
		b.Write(append(buf, "\"/>\n"...))
	}
	b.WriteString("</triangles>\n</mesh></object></resources>\n<build><item objectid=\"1\"/></build>\n</model>\n")
}
