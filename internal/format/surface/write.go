package surface

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/flate"
	"crypto/md5"
	"encoding/binary"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"fettle/internal/format/intake"
	"fettle/internal/shape/relief"
)

// Info is what a writer says of a surface. A zero date is written as one that
// nobody set, so that the same surface gives the same bytes.
type Info struct {
	Creator, Comment string
	Date             time.Time
}

// noDate stands where a format wants a date and there is none.
const noDate = "1970-01-01T00:00:00Z"

// writers are the formats that can be written, by extension.
var writers = map[string]func(io.Writer, *relief.Map, Info) error{
	".x3p": WriteX3P, ".sdf": WriteSDF,
	".csv": func(w io.Writer, m *relief.Map, i Info) error { return WriteText(w, m, i, ',') },
	".txt": func(w io.Writer, m *relief.Map, i Info) error { return WriteText(w, m, i, '\t') },
	".asc": func(w io.Writer, m *relief.Map, i Info) error { return WriteText(w, m, i, '\t') },
}

// Writable gives a [*intake.Fault] for a name whose extension is not one of
// .x3p, .sdf, .csv, .txt and .asc.
func Writable(name string) error {
	if writers[extension(name)] == nil {
		return &intake.Fault{Format: name, What: "its extension names no format that surfaces are written in", Try: "use .x3p, .sdf or .csv"}
	}
	return nil
}

// Write writes a surface in the format that the name's extension asks for.
func Write(w io.Writer, name string, m *relief.Map, info Info) error {
	if err := Writable(name); err != nil {
		return err
	}
	return writers[extension(name)](w, m, info)
}

// WriteX3P writes single-precision heights in metres over the map's base, which
// becomes the offset of the axis z. Heights go out as they stand in the map, in
// small pieces, whatever the size.
func WriteX3P(w io.Writer, m *relief.Map, info Info) error {
	z := zip.NewWriter(w)
	// Heights of a real surface pack no better for more trouble.
	z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) { return flate.NewWriter(out, flate.BestSpeed) })
	part := func(name string) (io.Writer, error) {
		return z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)})
	}
	data, err := part("bindata/data.bin")
	if err != nil {
		return err
	}
	sum := md5.New()
	out := bufio.NewWriterSize(io.MultiWriter(data, sum), 1<<16)
	var b [4]byte
	for _, v := range m.Z {
		binary.LittleEndian.PutUint32(b[:], math.Float32bits(float32(float64(v)/1000)))
		if _, err := out.Write(b[:]); err != nil {
			return err
		}
	}
	if err := out.Flush(); err != nil {
		return err
	}
	doc := mainXML(m, info, hex.EncodeToString(sum.Sum(nil)))
	docSum := md5.Sum(doc)
	for _, p := range []struct {
		name string
		data []byte
	}{{"main.xml", doc}, {"md5checksum.hex", []byte(hex.EncodeToString(docSum[:]) + " *main.xml\n")}} {
		f, err := part(p.name)
		if err != nil {
			return err
		}
		if _, err := f.Write(p.data); err != nil {
			return err
		}
	}
	return z.Close()
}

// metres is a length in metres as XML has it.
func metres(mm float64) string { return strconv.FormatFloat(mm/1000, 'g', -1, 64) }

// mainXML is the document of an X3P file.
func mainXML(m *relief.Map, info Info, sum string) []byte {
	feature := "SUR"
	if m.H == 1 {
		feature = "PRF"
	}
	date := noDate
	if !info.Date.IsZero() {
		date = info.Date.UTC().Format(time.RFC3339)
	}
	text := func(s, or string) string {
		if s = words(s); s == "" {
			s = or
		}
		var b bytes.Buffer
		xml.EscapeText(&b, []byte(s))
		return b.String()
	}
	var b bytes.Buffer
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	p(`<?xml version="1.0" encoding="UTF-8"?>`)
	p(`<p:ISO5436_2 xmlns:p="http://www.opengps.eu/2008/ISO5436_2">`)
	p(`  <Record1>`)
	p(`    <Revision>ISO5436 - 2000</Revision>`)
	p(`    <FeatureType>%s</FeatureType>`, feature)
	p(`    <Axes>`)
	p(`      <CX><AxisType>I</AxisType><DataType>D</DataType><Increment>%s</Increment><Offset>%s</Offset></CX>`, metres(m.DX), metres(m.X0))
	p(`      <CY><AxisType>I</AxisType><DataType>D</DataType><Increment>%s</Increment><Offset>%s</Offset></CY>`, metres(m.DY), metres(m.Y0))
	p(`      <CZ><AxisType>A</AxisType><DataType>F</DataType><Increment>1</Increment><Offset>%s</Offset></CZ>`, metres(m.Base))
	p(`    </Axes>`)
	p(`  </Record1>`)
	p(`  <Record2>`)
	p(`    <Date>%s</Date>`, date)
	p(`    <Creator>%s</Creator>`, text(info.Creator, "fettle"))
	p(`    <Instrument><Manufacturer>none</Manufacturer><Model>none</Model><Serial>none</Serial><Version>none</Version></Instrument>`)
	p(`    <CalibrationDate>%s</CalibrationDate>`, noDate)
	p(`    <ProbingSystem><Type>Software</Type><Identification>none</Identification></ProbingSystem>`)
	if c := text(info.Comment, ""); c != "" {
		p(`    <Comment>%s</Comment>`, c)
	}
	p(`  </Record2>`)
	p(`  <Record3>`)
	p(`    <MatrixDimension><SizeX>%d</SizeX><SizeY>%d</SizeY><SizeZ>1</SizeZ></MatrixDimension>`, m.W, m.H)
	p(`    <DataLink><PointDataLink>bindata/data.bin</PointDataLink><MD5ChecksumPointData>%s</MD5ChecksumPointData></DataLink>`, sum)
	p(`  </Record3>`)
	p(`  <Record4><ChecksumFile>md5checksum.hex</ChecksumFile></Record4>`)
	p(`</p:ISO5436_2>`)
	return b.Bytes()
}

// WriteSDF writes a binary SDF file with double-precision heights in metres.
// Counts that 16 bits cannot hold make it one of the second edition (ISO-2.0).
func WriteSDF(w io.Writer, m *relief.Map, info Info) error {
	le := binary.LittleEndian
	date := "000000000000"
	if !info.Date.IsZero() {
		date = info.Date.UTC().Format("020120061504")
	}
	creator := words(info.Creator)
	if creator == "" {
		creator = "fettle"
	}
	version := "bISO-1.0"
	long := m.W > math.MaxUint16 || m.H > math.MaxUint16
	if long {
		version = "bISO-2.0"
	}
	h := fmt.Appendf(nil, "%s%-10.10s%s%s", version, ascii(creator), date, date)
	if long {
		h = le.AppendUint32(le.AppendUint32(h, uint32(m.W)), uint32(m.H))
	} else {
		h = le.AppendUint16(le.AppendUint16(h, uint16(m.W)), uint16(m.H))
	}
	dy := m.DY
	if m.H == 1 {
		dy = 0 // a profile has none
	}
	for _, v := range []float64{m.DX / 1000, dy / 1000, 1, -1} { // scales of x, y and z; resolution of z not known
		h = le.AppendUint64(h, math.Float64bits(v))
	}
	h = append(h, 0, 7, 0) // not compressed, double precision, no checksum
	out := bufio.NewWriterSize(w, 1<<16)
	out.Write(h)
	var b [8]byte
	for _, v := range m.Z {
		z := -math.MaxFloat64
		if v == v {
			z = (m.Base + float64(v)) / 1000
		}
		le.PutUint64(b[:], math.Float64bits(z))
		if _, err := out.Write(b[:]); err != nil {
			return err
		}
	}
	return out.Flush()
}

// ascii takes out what SDF has no letters for.
func ascii(s string) string {
	return string(bytes.Map(func(c rune) rune {
		if c > '~' {
			return '?'
		}
		return c
	}, []byte(s)))
}

// WriteText writes heights in µm: x in mm beside them for a profile, row after
// row from y = 0 upward for a map, with the spacing in its head. A missing
// height is an empty field of a map, and NaN in a profile.
func WriteText(w io.Writer, m *relief.Map, info Info, sep byte) error {
	out := bufio.NewWriterSize(w, 1<<16)
	if c := words(info.Comment, info.Creator); c != "" {
		fmt.Fprintf(out, "# %s\n", c)
	}
	num := func(b []byte, v float64, digits int) []byte { return strconv.AppendFloat(b, v, 'f', digits, 64) }
	var b []byte
	if m.H == 1 {
		fmt.Fprintf(out, "# x (mm)%c z (µm)\n", sep)
		for i := range m.W {
			b = append(strconv.AppendFloat(b[:0], m.X(i), 'f', -1, 64), sep)
			if z := m.At(i, 0); z == z {
				b = num(b, z*1000, 6)
			} else {
				b = append(b, "NaN"...)
			}
			if _, err := out.Write(append(b, '\n')); err != nil {
				return err
			}
		}
		return out.Flush()
	}
	fmt.Fprintf(out, "# heights by row, from y0 upward\n# z unit = µm\n# dx = %v mm\n# dy = %v mm\n# x0 = %v mm\n# y0 = %v mm\n", m.DX, m.DY, m.X0, m.Y0)
	for j := range m.H {
		for i := range m.W {
			b = b[:0]
			if i > 0 {
				b = append(b, sep)
			}
			if z := m.At(i, j); z == z {
				b = num(b, z*1000, 6)
			} else if m.W == 1 || j == 0 {
				b = append(b, "NaN"...) // the first row shows how the others are written
			}
			if _, err := out.Write(b); err != nil {
				return err
			}
		}
		if err := out.WriteByte('\n'); err != nil {
			return err
		}
	}
	return out.Flush()
}
