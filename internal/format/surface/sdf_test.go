package surface

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// sdfFile is a binary SDF file, field by field after ISO 25178-71: version 8,
// maker 10, two dates of 12, counts of 2 (of 4 in the second edition), scales of
// x, y and z and resolution of 8, compression, type and checksum of 1 byte.
func sdfFile(version string, points, profiles int, zscale float64, dataType byte, data string) string {
	var counts any = []uint16{uint16(points), uint16(profiles)}
	if version == "bISO-2.0" {
		counts = []uint32{uint32(points), uint32(profiles)}
	}
	return version + "Bench gauge"[:10] + "030920241405" + "040920241405" + little(counts, []float64{2e-6, 5e-6, zscale, -1}, []byte{0, dataType, 0}) + data
}

func TestBinarySDF(t *testing.T) {
	for name, c := range map[string]struct {
		file string
		z    []float64
	}{
		"int16":       {sdfFile("bISO-1.0", 3, 2, 1e-7, 5, little([]int16{10, -20, math.MinInt16, 40, 50, 32767})), []float64{1, -2, nan, 4, 5, 3276.7}},
		"int32":       {sdfFile("bISO-1.0", 3, 2, 1e-9, 6, little([]int32{1000, -2000, math.MinInt32, 4000, 5000, 6000})), []float64{1, -2, nan, 4, 5, 6}},
		"double":      {sdfFile("bISO-1.0", 3, 2, 1e-6, 7, little([]float64{1, -2, -math.MaxFloat64, 4, nan, 6})), []float64{1, -2, nan, 4, nan, 6}},
		"float":       {sdfFile("bISO-2.0", 3, 2, 1e-6, 3, little([]float32{1, -2, -math.MaxFloat32, 4, 5, 6})), []float64{1, -2, nan, 4, 5, 6}},
		"int8":        {sdfFile("bISO-2.0", 3, 2, 1e-6, 4, little([]int8{1, -2, -128, 4, 5, 127})), []float64{1, -2, nan, 4, 5, 127}},
		"old uint16":  {sdfFile("bBCR-1.0", 3, 2, 1e-7, 1, little([]uint16{10, 20, 65535, 40, 0, 60})), []float64{1, 2, nan, 4, 0, 6}},
		"old uint8":   {sdfFile("bBCR-1.0", 3, 2, 1e-6, 0, "\x01\x02\xff\x04\x05\x00"), []float64{1, 2, nan, 4, 5, 0}},
		"old uint32":  {sdfFile("bBCR-1.0", 3, 2, 1e-6, 2, little([]uint32{1, 2, math.MaxUint32, 4, 5, 0})), []float64{1, 2, nan, 4, 5, 0}},
		"old int16":   {sdfFile("bBCR-1.0", 3, 2, 1e-7, 5, little([]int16{10, 20, 32767, 40, -50, 60})), []float64{1, 2, nan, 4, -5, 6}},
		"two counts":  {sdfFile("bISO-1.0", 3, 2, 1e-6, 4, little([]uint32{5, 1})+"\x01\x02\x03\x04\x05\x06"), []float64{1, 2, 3, 4, 5, 6}},
		"and a trail": {sdfFile("bISO-1.0", 3, 2, 1e-6, 4, "\x01\x02\x03\x04\x05\x06Operator = me"), []float64{1, 2, 3, 4, 5, 6}},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Read("a.sdf", []byte(c.file), Options{})
			want(t, s, err, 3, 2, 0.002, 0.005, c.z...)
			if s.Format != "binary SDF" || s.Instrument != "Bench gaug" || s.Date != "2024-09-03 14:05" {
				t.Errorf("%+v", s)
			}
		})
	}
}

// sdfText is the text form with the lines after its header.
func sdfText(version, points, profiles, rest string) string {
	return version + "\r\nManufacID   = Bench\r\nCreateDate  = 030920241405\r\nModDate     = 030920241405\r\nNumPoints   = " + points + "\r\nNumProfiles = " + profiles +
		"\r\nXscale      = 2.0E-6\r\nYscale      = 5.0e-06\r\nZscale      = 1E-6\r\nZresolution = -1\r\nCompression = 0\r\nDataType    = 7\r\nCheckType   = 0\r\n*\r\n" + rest
}

func TestASCIISDF(t *testing.T) {
	for _, version := range []string{"aISO-1.0", "aBCR-1.0", "aISO-2.0", "aNPL-V1.0"} {
		s, err := Read("a.sdf", []byte(sdfText(version, "3", "2", "1.0 -2.0 BAD\r\n4.0 5e0\r\n6\r\n*\r\nOperatorName = Bench\r\na plate\r\n*\r\n")), Options{})
		want(t, s, err, 3, 2, 0.002, 0.005, 1, -2, nan, 4, 5, 6)
		if s.Format != "ASCII SDF" || s.Creator != "Bench" || s.Comment != "a plate" || len(s.Notes) != 0 {
			t.Errorf("%+v", s)
		}
	}
	// Line ends of one character, a mark at the start, no asterisk at the end.
	s, err := Read("a.sdf", []byte("\xef\xbb\xbf"+strings.ReplaceAll(sdfText("aISO-1.0", "3", "1", "1\n2\n3"), "\r\n", "\n")), Options{})
	want(t, s, err, 3, 1, 0.002, 0.002, 1, 2, 3)
	if len(s.Notes) != 1 {
		t.Errorf("notes %q", s.Notes)
	}
}

func TestBadSDF(t *testing.T) {
	data := little([]int32{1, 2, 3, 4})
	good := sdfFile("bISO-1.0", 2, 2, 1e-6, 6, data)
	for cut := range len(good) {
		if s, err := Read("a.sdf", []byte(good[:cut]), Options{}); sound(t, s, err) {
			t.Fatalf("cut at %d and read", cut)
		}
	}
	text := sdfText("aISO-1.0", "2", "2", "1 2 3 4\r\n*\r\n")
	for cut := range len(text) - 8 {
		if s, err := Read("a.sdf", []byte(text[:cut]), Options{}); sound(t, s, err) {
			t.Fatalf("text cut at %d and read", cut)
		}
	}
	at := func(i int, b byte) string { return good[:i] + string([]byte{b}) + good[i+1:] }
	for name, c := range map[string]struct{ file, says string }{
		"lying":            {sdfFile("bISO-1.0", 65535, 65535, 1, 6, data), "the most that is read"},
		"lying less":       {sdfFile("bISO-1.0", 9000, 9000, 1, 6, data), "81000000 heights of 4 bytes, and 16 bytes follow"},
		"lying more":       {sdfFile("bISO-2.0", math.MaxUint32, math.MaxUint32, 1, 6, data), "the most that is read"},
		"none":             {sdfFile("bISO-1.0", 0, 2, 1, 6, data), "0 × 2"},
		"compressed":       {at(78, 1), "compressed"},
		"type":             {at(79, 9), "data type 9"},
		"scale 0":          {sdfFile("bISO-1.0", 2, 2, 0, 6, data), "Zscale"},
		"scale NaN":        {sdfFile("bISO-1.0", 2, 2, nan, 6, data), "Zscale"},
		"all missing":      {sdfFile("bISO-1.0", 2, 2, 1e-6, 7, little([]float64{nan, nan, nan, nan})), "none of its points"},
		"text lying":       {sdfText("aISO-1.0", "9000", "9000", "1 2 3\r\n*\r\n"), "only"},
		"text lying big":   {sdfText("aISO-1.0", "99999999999", "1", "1 2 3\r\n*\r\n"), "the most that is read"},
		"text short":       {sdfText("aISO-1.0", "3", "2", "1 2 3 4 5\r\n*\r\n     "), "the list ends after 5"},
		"text long":        {sdfText("aISO-1.0", "2", "2", "1 2 3 4 5\r\n*\r\n"), "holds more"},
		"text words":       {sdfText("aISO-1.0", "2", "2", "1 2 three 4\r\n*\r\n"), `"three" stands where a height should (line 15)`},
		"text count":       {sdfText("aISO-1.0", "two", "2", "1 2 3 4\r\n*\r\n"), "NumPoints"},
		"text header":      {strings.Replace(text, "Xscale      =", "Xscale", 1), "is no field"},
		"text no scale":    {strings.Replace(text, "Xscale", "Wscale", 1), "Xscale is missing"},
		"text bad spacing": {strings.Replace(text, "2.0E-6", "0", 1), "spacing"},
	} {
		s, err := Read("a.sdf", []byte(c.file), Options{})
		if sound(t, s, err) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}

func FuzzSDF(f *testing.F) {
	f.Add([]byte(sdfFile("bISO-1.0", 2, 2, 1e-6, 6, little([]int32{1, 2, 3, 4}))))
	f.Add([]byte(sdfFile("bISO-2.0", 2, 2, 1e-6, 3, little([]float32{1, 2, 3, 4}))))
	f.Add([]byte(sdfText("aBCR-1.0", "2", "2", "1 BAD 3 4\r\n*\r\nOperator = me\r\n*\r\n")))
	f.Fuzz(func(t *testing.T, data []byte) {
		if !sdfMagic(data) {
			return
		}
		s, err := Read("a.sdf", data, Options{})
		if sound(t, s, err) && len(s.Map.Z) > len(data) {
			t.Fatalf("%d heights from %d bytes", len(s.Map.Z), len(data))
		}
	})
}

// The maker's field is cut to what the header has room for.
func ExampleWriteSDF() {
	fmt.Println(len(sdfFile("bISO-1.0", 1, 1, 1, 7, "")), len(sdfFile("bISO-2.0", 1, 1, 1, 7, "")))
	// Output: 81 85
}
