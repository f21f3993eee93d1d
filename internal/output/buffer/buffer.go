// Package buffer writes arrays as little-endian bytes that a page can lay hands on
// without parsing: meshes, values on them, maps.
//
// A buffer is the eight bytes "FETTLE1\n", the length of the head as a 32-bit
// number, four zero bytes, the head in UTF-8 JSON, and the arrays, each beginning at a multiple of
// eight bytes from the start of the buffer. The head is {"about": …, "arrays": [{"name",
// "type": "f32" | "u32" | "i32", "width", "count", "at_byte"}]}: count rows of width numbers.
// [Write] writes one, [Read] reads it back.
package buffer

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
)

const magic = "FETTLE1\n"

// mostHead bounds the head of a buffer that is read.
const mostHead = 16 << 20

// Array is one array: F, U or I, whichever is not nil, Width numbers a row.
type Array struct {
	Name  string
	Width int
	F     []float32
	U     []uint32
	I     []int32
}

func (a Array) kind() (string, int) {
	switch {
	case a.F != nil:
		return "f32", len(a.F)
	case a.U != nil:
		return "u32", len(a.U)
	default:
		return "i32", len(a.I)
	}
}

type entry struct {
	Name  string `json:"name"`
	Type  string `json:"type"`
	Width int    `json:"width"`
	Count int    `json:"count"`
	At    int64  `json:"at_byte"`
}

type head struct {
	About  json.RawMessage `json:"about"`
	Arrays []entry         `json:"arrays"`
}

// Write writes arrays with what they are about, which must be a JSON value. The
// same input gives the same bytes.
func Write(w io.Writer, about any, arrays ...Array) error {
	ab, err := json.Marshal(about)
	if err != nil {
		return err
	}
	h := head{About: ab}
	for _, a := range arrays {
		kind, n := a.kind()
		if a.Width < 1 || n%a.Width != 0 {
			panic(fmt.Sprintf("buffer: %s has %d numbers in rows of %d", a.Name, n, a.Width))
		}
		h.Arrays = append(h.Arrays, entry{a.Name, kind, a.Width, n / a.Width, 0})
	}
	// Where arrays begin depends on how long the head is, which depends on that:
	// offsets are written with room for the largest and the head is padded.
	const room = 13
	js, err := json.Marshal(h)
	if err != nil {
		return err
	}
	length := round8(int64(len(js) + room*len(arrays)))
	at := 16 + length
	for i := range h.Arrays {
		h.Arrays[i].At = at
		at = round8(at + 4*int64(h.Arrays[i].Count)*int64(h.Arrays[i].Width))
	}
	if js, err = json.Marshal(h); err != nil {
		return err
	}
	js = append(js, bytes.Repeat([]byte{' '}, int(length)-len(js))...)
	var start [16]byte
	copy(start[:], magic)
	binary.LittleEndian.PutUint32(start[8:], uint32(length))
	if _, err := w.Write(start[:]); err != nil {
		return err
	}
	if _, err := w.Write(js); err != nil {
		return err
	}
	for _, a := range arrays {
		if err := a.write(w); err != nil {
			return err
		}
	}
	return nil
}

// write writes the numbers, with zeros up to a multiple of eight bytes.
func (a Array) write(w io.Writer) error {
	const rows = 1 << 14
	buf := make([]byte, 0, 4*rows+8)
	_, n := a.kind()
	for i := 0; i < n; i += rows {
		buf = buf[:0]
		for j := i; j < min(n, i+rows); j++ {
			var v uint32
			switch {
			case a.F != nil:
				v = math.Float32bits(a.F[j])
			case a.U != nil:
				v = a.U[j]
			default:
				v = uint32(a.I[j])
			}
			buf = binary.LittleEndian.AppendUint32(buf, v)
		}
		if i+rows >= n && n%2 == 1 {
			buf = append(buf, 0, 0, 0, 0)
		}
		if _, err := w.Write(buf); err != nil {
			return err
		}
	}
	return nil
}

func round8(n int64) int64 { return (n + 7) &^ 7 }

// Read reads a whole buffer back. Its errors are for programmers: buffers are
// ours.
func Read(data []byte) (about json.RawMessage, arrays []Array, err error) {
	if len(data) < 16 || string(data[:8]) != magic {
		return nil, nil, errors.New("buffer: this is none")
	}
	n := int64(binary.LittleEndian.Uint32(data[8:]))
	if n > mostHead || 16+n > int64(len(data)) {
		return nil, nil, errors.New("buffer: its head is longer than itself")
	}
	var h head
	if err := json.Unmarshal(data[16:16+n], &h); err != nil {
		return nil, nil, fmt.Errorf("buffer: its head is no JSON: %w", err)
	}
	for _, e := range h.Arrays {
		a := Array{Name: e.Name, Width: e.Width}
		if e.Width < 1 || e.Count < 0 || e.At < 16+n || e.At%8 != 0 || e.At > int64(len(data)) || int64(e.Count) > (int64(len(data))-e.At)/4/int64(e.Width) {
			return nil, nil, fmt.Errorf("buffer: array %s lies outside of it", e.Name)
		}
		total := e.Count * e.Width
		word := func(i int) uint32 { return binary.LittleEndian.Uint32(data[e.At+4*int64(i):]) }
		switch e.Type {
		case "f32":
			a.F = make([]float32, total)
			for i := range a.F {
				a.F[i] = math.Float32frombits(word(i))
			}
		case "u32":
			a.U = make([]uint32, total)
			for i := range a.U {
				a.U[i] = word(i)
			}
		case "i32":
			a.I = make([]int32, total)
			for i := range a.I {
				a.I[i] = int32(word(i))
			}
		default:
			return nil, nil, fmt.Errorf("buffer: array %s holds %q, which is not known", e.Name, e.Type)
		}
		arrays = append(arrays, a)
	}
	return h.About, arrays, nil
}
