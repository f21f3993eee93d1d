package buffer

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// What was written is read back, every array begins at a multiple of eight, and
// a reader that knows the documented layout alone finds the numbers.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var arrays []Array
		for i := range rapid.IntRange(0, 6).Draw(t, "arrays") {
			a := Array{Name: strings.Repeat("x", i) + rapid.String().Draw(t, "name"), Width: rapid.IntRange(1, 4).Draw(t, "width")}
			n := a.Width * rapid.IntRange(0, 40).Draw(t, "rows")
			switch rapid.IntRange(0, 2).Draw(t, "kind") {
			case 0:
				a.F = rapid.SliceOfN(rapid.Float32(), n, n).Draw(t, "f")
			case 1:
				a.U = rapid.SliceOfN(rapid.Uint32(), n, n).Draw(t, "u")
			default:
				a.I = rapid.SliceOfN(rapid.Int32(), n, n).Draw(t, "i")
			}
			arrays = append(arrays, a)
		}
		var b bytes.Buffer
		if err := Write(&b, map[string]int{"a": 1}, arrays...); err != nil {
			t.Fatal(err)
		}
		about, got, err := Read(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if string(about) != `{"a":1}` {
			t.Errorf("about %s", about)
		}
		for i := range arrays { // JSON replaces what is no UTF-8
			arrays[i].Name = strings.ToValidUTF8(arrays[i].Name, "\ufffd")
		}
		if d := cmp.Diff(arrays, got); d != "" {
			t.Error(d)
		}
		for i, a := range arrays {
			if len(a.F) == 0 {
				continue
			}
			at := layout(t, b.Bytes(), i)
			if at%8 != 0 || math.Float32frombits(binary.LittleEndian.Uint32(b.Bytes()[at:])) != a.F[0] {
				t.Errorf("array %d at byte %d is not where the head says", i, at)
			}
		}
		if len(arrays) > 0 && b.Len()%8 != 0 {
			t.Errorf("%d bytes", b.Len())
		}
	})
}

// layout finds an array by the documented layout, without Read.
func layout(t *rapid.T, data []byte, i int) int {
	var h struct {
		Arrays []struct {
			At int `json:"at_byte"`
		} `json:"arrays"`
	}
	n := binary.LittleEndian.Uint32(data[8:12])
	if err := json.Unmarshal(data[16:16+n], &h); err != nil {
		t.Fatal(err)
	}
	return h.Arrays[i].At
}

func TestReadRefuses(t *testing.T) {
	var b bytes.Buffer
	if err := Write(&b, nil, Array{Name: "p", Width: 3, F: []float32{1, 2, 3}}); err != nil {
		t.Fatal(err)
	}
	whole := b.Bytes()
	for n := range whole {
		if _, _, err := Read(whole[:n]); err == nil && n < len(whole)-4 {
			t.Errorf("%d of %d bytes were taken for whole", n, len(whole))
		}
	}
}

func FuzzRead(f *testing.F) {
	var b bytes.Buffer
	_ = Write(&b, nil, Array{Name: "p", Width: 3, F: []float32{1, 2, 3}})
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) { _, _, _ = Read(data) })
}
