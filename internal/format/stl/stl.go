// Package stl reads STL files, binary and ASCII. [Read] is all there is to it.
//
// Which of the two a file is is told by its size, 84 + 50·n bytes for the n in
// its header, and never by the word "solid", which binary files start with as
// well. Vertices at exactly the same place become one while reading.
package stl

import (
	"encoding/binary"
	"fmt"
	"math"

	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"
)

const (
	headBytes  = 80
	firstFacet = headBytes + 4
	facetBytes = 50
)

// Read makes a part of an STL file. It refuses with an [intake.Fault] what is
// cut short, empty or no STL, and facets with coordinates that are not numbers
// if they are more than a few; a few are dropped with a note.
func Read(data []byte) (*intake.Part, error) {
	if len(data) == 0 {
		return nil, intake.Faultf("STL", "", "the file is empty")
	}
	if len(data) > intake.MaxBytes {
		return nil, intake.Faultf("STL", "", "the file has more than %d bytes", intake.MaxBytes)
	}
	if len(data) < firstFacet {
		if looksASCII(data) {
			return readASCII(data)
		}
		return nil, intake.Faultf("STL", "", "the file ends after %d bytes, inside its header", len(data))
	}
	declared := int64(binary.LittleEndian.Uint32(data[headBytes:]))
	body := int64(len(data) - firstFacet)
	holds, rest := body/facetBytes, body%facetBytes
	switch {
	case declared*facetBytes == body && declared > 0:
		return readBinary(data, int(declared), nil)
	case looksASCII(data):
		return readASCII(data)
	case declared == 0 && body == 0:
		return nil, intake.Faultf("binary STL", "", "there are no facets in it")
	case (declared == 0 || declared == math.MaxUint32) && rest == 0 && holds > 0:
		// Written as a stream by a program that did not go back to count.
		return readBinary(data, int(holds), []string{fmt.Sprintf("the header does not say how many facets there are; the %d that the file holds were read", holds)})
	case declared > holds:
		return nil, &intake.Fault{Format: "binary STL",
			What:  fmt.Sprintf("the header promises %d facets, the file holds %d", declared, holds),
			Where: fmt.Sprintf("byte %d", len(data)),
			Try:   "copy or export it again"}
	case declared > 0:
		return readBinary(data, int(declared), []string{fmt.Sprintf("%d bytes after the last facet were left unread", body-declared*facetBytes)})
	}
	return nil, &intake.Fault{Format: "STL", What: "this is neither the binary nor the ASCII form", Try: "export it again as binary STL"}
}

// looksASCII reports whether the file is text that names facets. Bytes beyond
// ASCII are allowed, for names, but no control characters.
func looksASCII(data []byte) bool {
	for i, c := range data[:min(len(data), 4096)] {
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' && c != '\f' && c != '\v' && !(c == 0x1a && i == len(data)-1) {
			return false
		}
	}
	t := intake.NewText(data)
	if c := t.Next(); intake.Is(c, "\xef\xbb\xbfsolid") || intake.Is(c, "solid") || intake.Is(c, "facet") {
		return true
	}
	// An odd header: text, and a facet before long.
	for range 2000 {
		w := t.Next()
		if w == nil {
			return false
		}
		if intake.Is(w, "facet") {
			return intake.Is(t.Next(), "normal")
		}
	}
	return false
}

// fewBad is the largest share of facets with unusable coordinates that are
// dropped with a note; more mean that the file is not to be trusted.
const fewBad = 0.01

// badFacets is the fault or the note for facets with unusable coordinates.
func badFacets(format string, bad, first, n int, where string) (note string, err error) {
	if bad == 0 {
		return "", nil
	}
	if float64(bad) > fewBad*float64(n) {
		return "", &intake.Fault{Format: format,
			What:  fmt.Sprintf("%d of %d facets have corners that are not usable numbers, the first is facet %d", bad, n, first),
			Where: where, Try: "export it again"}
	}
	if bad == 1 {
		return fmt.Sprintf("1 facet with corners that are not usable numbers was dropped: facet %d", first), nil
	}
	return fmt.Sprintf("%d facets with corners that are not usable numbers were dropped, the first is facet %d", bad, first), nil
}

// readBinary reads n facets that the file is known to hold.
func readBinary(data []byte, n int, notes []string) (*intake.Part, error) {
	if n > intake.MaxTriangles {
		return nil, intake.Faultf("binary STL", "", "it has %d facets, more than the %d that can be read", n, intake.MaxTriangles)
	}
	// A closed mesh has half as many vertices as facets; others grow.
	w := mesh.NewWelder(n/2 + 64)
	m := &mesh.Mesh{Tri: make([][3]uint32, 0, n)}
	bad, first := 0, 0
	for i := range n {
		// The normal is skipped: the order of the corners says the same.
		f := data[firstFacet+i*facetBytes+12:][:36]
		var p [9]float64
		ok := true
		for k := range p {
			v := math.Float32frombits(binary.LittleEndian.Uint32(f[4*k:]))
			p[k] = float64(v)
			ok = ok && intake.Finite(p[k])
		}
		if !ok {
			if bad++; bad == 1 {
				first = i + 1
			}
			continue
		}
		m.Tri = append(m.Tri, [3]uint32{w.Add(p[0], p[1], p[2]), w.Add(p[3], p[4], p[5]), w.Add(p[6], p[7], p[8])})
	}
	note, err := badFacets("binary STL", bad, first, n, fmt.Sprintf("byte %d", firstFacet+(first-1)*facetBytes))
	if err != nil {
		return nil, err
	}
	if note != "" {
		notes = append(notes, note)
	}
	m.Pos = w.Pos
	part := &intake.Part{Format: "binary STL", Mesh: m, Notes: notes}
	if name := headerName(data[:headBytes]); name != "" {
		part.Names = []string{name}
	}
	return part, nil
}

// headerName is what a binary header says, if it is text.
func headerName(h []byte) string {
	for i, c := range h {
		if c == 0 {
			h = h[:i]
			break
		}
		if c < ' ' || c > '~' {
			return ""
		}
	}
	for len(h) > 0 && h[len(h)-1] == ' ' {
		h = h[:len(h)-1]
	}
	return intake.Printable(h)
}

// Is reports whether data is an STL file by its size or, for the ASCII form, by
// its words.
func Is(data []byte) bool {
	if len(data) >= firstFacet {
		declared := int64(binary.LittleEndian.Uint32(data[headBytes:]))
		if declared > 0 && declared*facetBytes == int64(len(data)-firstFacet) {
			return true
		}
	}
	return looksASCII(data)
}
