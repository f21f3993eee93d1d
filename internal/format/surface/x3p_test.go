package surface

import (
	"archive/zip"
	"bytes"
	"crypto/md5"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"testing"
)

// doc is a main.xml after the published schema of ISO 5436-2; the points are
// what record is.
func doc(feature, axes, record string) string {
	return `<?xml version="1.0" encoding="UTF-8" standalone="no" ?>
<p:ISO5436_2 xmlns:p="http://www.opengps.eu/2008/ISO5436_2" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<Record1><Revision>ISO5436 - 2000</Revision><FeatureType>` + feature + `</FeatureType><Axes>` + axes + `</Axes></Record1>
<Record2><Date>2024-09-03T14:05:00Z</Date><Creator>Bench &amp; gauge</Creator>
<Instrument><Manufacturer>Own make</Manufacturer><Model>Stylus</Model><Serial>7</Serial><Version>1</Version></Instrument>
<CalibrationDate>2024-01-01T00:00:00Z</CalibrationDate><ProbingSystem><Type>Contacting</Type><Identification>2 µm tip</Identification></ProbingSystem>
<Comment>a plate</Comment></Record2>
<Record3>` + record + `</Record3><Record4><ChecksumFile>md5checksum.hex</ChecksumFile></Record4></p:ISO5436_2>`
}

// grid are axes with steps of 2 µm and 5 µm and heights of a type.
func gridAxes(z, increment, offset string) string {
	return `<CX><AxisType>I</AxisType><DataType>D</DataType><Increment>2E-6</Increment><Offset>1e-3</Offset></CX>
<CY><AxisType>I</AxisType><DataType>D</DataType><Increment>5e-6</Increment><Offset>0.0</Offset></CY>
<CZ><AxisType>A</AxisType><DataType>` + z + `</DataType><Increment>` + increment + `</Increment><Offset>` + offset + `</Offset></CZ>`
}

// linked is a Record3 with a matrix in a binary file, its checksums right.
func linked(w, h int, data, valid string) string {
	s := fmt.Sprintf(`<MatrixDimension><SizeX>%d</SizeX><SizeY>%d</SizeY><SizeZ>1</SizeZ></MatrixDimension><DataLink>
<PointDataLink>bindata/data.bin</PointDataLink><MD5ChecksumPointData>%s</MD5ChecksumPointData>`, w, h, sum(data))
	if valid != "" {
		s += `<ValidPointsLink>bindata/valid.bin</ValidPointsLink><MD5ChecksumValidPoints>` + strings.ToUpper(sum(valid)) + `</MD5ChecksumValidPoints>`
	}
	return s + `</DataLink>`
}

func sum(data string) string {
	s := md5.Sum([]byte(data))
	return hex.EncodeToString(s[:])
}

// x3pFile packs a file with its checksums.
func x3pFile(main, data, valid string) []byte {
	parts := []string{"main.xml", main, "md5checksum.hex", sum(main) + " *main.xml\n"}
	if data != "" {
		parts = append(parts, "bindata/data.bin", data)
	}
	if valid != "" {
		parts = append(parts, "bindata/valid.bin", valid)
	}
	return zipped(parts...)
}

// The four types of heights, each put together byte by byte. u runs fastest,
// the mask has a bit for each point, lowest first, and 1 is valid.
func TestX3PTypes(t *testing.T) {
	i16 := little([]int16{1, -2, 3, 4, 5, -32768})
	s, err := Read("a.x3p", x3pFile(doc("SUR", gridAxes("I", "1e-7", "1e-6"), linked(3, 2, i16, "\x1f")), i16, "\x1f"), Options{})
	want(t, s, err, 3, 2, 0.002, 0.005, 1.1, 0.8, 1.3, 1.4, 1.5, nan)
	if s.Format != "X3P" || s.Date != "2024-09-03 14:05" || s.Creator != "Bench & gauge" || s.Instrument != "Own make Stylus 7" || s.Comment != "a plate" || s.Map.X0 != 1 || len(s.Notes) != 0 {
		t.Errorf("%+v", s)
	}
	i32 := little([]int32{100000, -200000})
	s, err = Read("a.x3p", x3pFile(doc("PRF", gridAxes("L", "1e-11", "0"), linked(2, 1, i32, "")), i32, ""), Options{})
	want(t, s, err, 2, 1, 0.002, 0.002, 1, -2)
	f32 := little([]float32{1e-6, float32(nan), 3e-6, 4e-6})
	s, err = Read("a.x3p", x3pFile(doc("SUR", gridAxes("F", "1", "0.025"), linked(2, 2, f32, "")), f32, ""), Options{})
	want(t, s, err, 2, 2, 0.002, 0.005, 25001, nan, 25003, 25004)
	f64 := little([]float64{0.5e-6, nan, -1e300, 2e-6})
	s, err = Read("a.x3p", x3pFile(doc("SUR", gridAxes("D", "1", "0"), linked(2, 2, f64, "")), f64, ""), Options{})
	want(t, s, err, 2, 2, 0.002, 0.005, 0.5, nan, nan, 2)
	if len(s.Notes) != 1 || !strings.Contains(s.Notes[0], "beyond") {
		t.Errorf("notes %q", s.Notes)
	}
}

// Points in the document itself: an empty Datum was not measured; of three
// absolute axes each Datum has three values.
func TestX3PText(t *testing.T) {
	list := `<MatrixDimension><SizeX>2</SizeX><SizeY>2</SizeY><SizeZ>1</SizeZ></MatrixDimension><DataList><Datum>1e-6</Datum><Datum/><Datum> 3e-6 </Datum><Datum>-4e-6</Datum></DataList>`
	s, err := Read("a.x3p", x3pFile(doc("SUR", gridAxes("D", "1", "0"), list), "", ""), Options{})
	want(t, s, err, 2, 2, 0.002, 0.005, 1, nan, 3, -4)

	abs := strings.ReplaceAll(gridAxes("D", "1", "0"), "<AxisType>I", "<AxisType>A")
	abs = strings.NewReplacer("2E-6", "1", "5e-6", "1", "1e-3", "0").Replace(abs)
	list = `<ListDimension>3</ListDimension><DataList><Datum>0;0;1e-6</Datum><Datum>1e-5;0;2e-6</Datum><Datum>2e-5;0;</Datum></DataList>`
	s, err = Read("a.x3p", x3pFile(doc("PRF", abs, list), "", ""), Options{})
	want(t, s, err, 3, 1, 0.01, 0.01, 1, 2, nan)

	// The same in a binary file, x and y beside each height.
	data := little([]float64{0, 0, 1e-6, 1e-5, 0, 2e-6, 0, 3e-5, 3e-6, 1e-5, 3e-5, 4e-6})
	s, err = Read("a.x3p", x3pFile(doc("SUR", abs, linked(2, 2, data, "")), data, ""), Options{})
	want(t, s, err, 2, 2, 0.01, 0.03, 1, 2, 3, 4)
}

// A checksum that does not match is told; the heights are read.
func TestX3PChecksums(t *testing.T) {
	data, other := little([]float64{1e-6, 2e-6}), little([]float64{1e-6, 3e-6})
	main := doc("PRF", gridAxes("D", "1", "0"), linked(2, 1, other, ""))
	s, err := Read("a.x3p", zipped("main.xml", main, "md5checksum.hex", sum("another")+" *main.xml", "bindata/data.bin", data), Options{})
	want(t, s, err, 2, 1, 0.002, 0.002, 1, 2)
	if len(s.Notes) != 2 || !strings.Contains(s.Notes[0], "main.xml") || !strings.Contains(s.Notes[1], "points") {
		t.Errorf("notes %q", s.Notes)
	}
}

// In ISO 5436-2 the increment is for integers alone; ISO 25178-72 multiplies
// all stored values.
func TestX3PIncrementOfFloats(t *testing.T) {
	data := little([]float64{1, 2})
	main := doc("PRF", gridAxes("D", "1e-6", "0"), linked(2, 1, data, ""))
	s, err := Read("a.x3p", x3pFile(strings.Replace(main, "ISO5436 - 2000", "ISO25178-72:2017", 1), data, ""), Options{})
	want(t, s, err, 2, 1, 0.002, 0.002, 1, 2)
	s, err = Read("a.x3p", x3pFile(main, data, ""), Options{})
	want(t, s, err, 2, 1, 0.002, 0.002, 1e6, 2e6)
	if len(s.Notes) != 1 || !strings.Contains(s.Notes[0], "left out") {
		t.Errorf("notes %q", s.Notes)
	}
}

func TestBadX3P(t *testing.T) {
	data := little([]float64{1e-6, 2e-6, 3e-6, 4e-6})
	axes := gridAxes("D", "1", "0")
	good := doc("SUR", axes, linked(2, 2, data, ""))
	whole := x3pFile(good, data, "")
	if s, err := Read("a.x3p", whole, Options{}); !sound(t, s, err) {
		t.Fatal(err)
	}
	for cut := range len(whole) {
		if s, err := Read("a.x3p", whole[:cut], Options{}); sound(t, s, err) {
			t.Fatalf("cut at %d of %d and read", cut, len(whole))
		}
	}
	swap := func(old, new string) []byte { return x3pFile(strings.Replace(good, old, new, 1), data, "") }
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"cloud":             {swap("SUR", "PCL"), "cloud of points"},
		"no type":           {swap("SUR", "XYZ"), "feature type"},
		"lying":             {swap("<SizeX>2", "<SizeX>3"), "fewer than the 48 bytes"},
		"lying big":         {swap("<SizeX>2", "<SizeX>9999"), "fewer than"},
		"too big":           {swap("<SizeX>2", "<SizeX>999999999"), "the most that is read"},
		"overflow":          {swap("<SizeX>2", "<SizeX>999999999999999999"), "the most that is read"},
		"none":              {swap("<SizeX>2", "<SizeX>0"), "0 × 2"},
		"negative":          {swap("<SizeX>2", "<SizeX>-2"), "-2 × 2"},
		"no size":           {swap("<SizeX>2", "<SizeX>two"), "how many points"},
		"no data":           {x3pFile(good, "", ""), "is missing"},
		"no link":           {swap("<PointDataLink>bindata/data.bin</PointDataLink>", ""), "links to none"},
		"link outside":      {swap("bindata/data.bin", "../../../etc/passwd"), "is missing"},
		"zero step":         {swap("2E-6", "0"), "spacing"},
		"negative step":     {swap("2E-6", "-2E-6"), "spacing"},
		"infinite step":     {swap("2E-6", "1e999"), "not a number"},
		"words for numbers": {swap("2E-6", "two"), "not a number"},
		"height type":       {swap("<DataType>D</DataType><Increment>1</", "<DataType>Q</DataType><Increment>1</"), "none of I, L, F and D"},
		"height steps":      {swap("<AxisType>A", "<AxisType>I"), "not absolute"},
		"all missing": {x3pFile(doc("SUR", axes, linked(2, 2, little([]float64{nan, nan, nan, nan}), "")), little([]float64{nan, nan, nan, nan}), ""),
			"none of its points"},
		"short mask": {x3pFile(doc("SUR", axes, linked(9, 1, little(make([]float64, 9)), "\xff")), little(make([]float64, 9)), "\xff"), "fewer than the 2 bytes"},
		"short list": {x3pFile(doc("SUR", axes, `<MatrixDimension><SizeX>9000</SizeX><SizeY>9000</SizeY><SizeZ>1</SizeZ></MatrixDimension><DataList><Datum>1</Datum></DataList>`), "", ""), "holds 1"},
		"list words": {x3pFile(doc("SUR", axes, `<MatrixDimension><SizeX>2</SizeX><SizeY>1</SizeY></MatrixDimension><DataList><Datum>1</Datum><Datum>x</Datum></DataList>`), "", ""), "in place of a number"},
		"list wide":  {x3pFile(doc("SUR", axes, `<MatrixDimension><SizeX>2</SizeX><SizeY>1</SizeY></MatrixDimension><DataList><Datum>1</Datum><Datum>1;2;3</Datum></DataList>`), "", ""), "3 values in place of 1"},
		"list of surface": {x3pFile(doc("SUR", axes, `<ListDimension>2</ListDimension><DataList><Datum>1</Datum><Datum>1</Datum></DataList>`), "", ""),
			"a list without rows"},
		"document type":   {swap("<p:ISO5436_2 ", `<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><p:ISO5436_2 `), "document type"},
		"laughs":          {swap("<p:ISO5436_2 ", `<!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]><p:ISO5436_2 `), "document type"},
		"unknown entity":  {swap("a plate", "&x;"), "cannot be understood"},
		"open element":    {x3pFile(good[:len(good)-40], data, ""), "ends inside"},
		"wrong end":       {swap("</Record1>", "</Record2>"), "ends where it is not open"},
		"deep":            {swap("<Record1>", "<Record1>"+strings.Repeat("<a>", 100)), "nested more than"},
		"charset":         {swap("UTF-8", "UTF-7"), "cannot be understood"},
		"bomb":            {zipped("main.xml", good+strings.Repeat(" ", 16<<20), "bindata/data.bin", data), "unpacks to far more"},
		"uneven absolute": {x3pFile(doc("PRF", strings.Replace(axes, "<AxisType>I", "<AxisType>A", 1), `<MatrixDimension><SizeX>3</SizeX><SizeY>1</SizeY></MatrixDimension><DataList><Datum>0;1</Datum><Datum>1;1</Datum><Datum>5;1</Datum></DataList>`), "", ""), "evenly along x"},
		"no axes":         {x3pFile(doc("SUR", "", linked(2, 2, data, "")), data, ""), "axis CX"},
		"not XML":         {zipped("main.xml", "\x00\x01\x02"), "main.xml"},
	} {
		s, err := Read("a.x3p", c.data, Options{})
		if sound(t, s, err) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}

// A map of nothing but one height packs to almost nothing, and is read all the
// same; what does not even pack to so little is refused before any allocation.
func TestX3PFlat(t *testing.T) {
	data := strings.Repeat("\x00", 8*640_000)
	s, err := Read("a.x3p", x3pFile(doc("SUR", gridAxes("D", "1", "0"), linked(800, 800, data, "")), data, ""), Options{})
	if err != nil || s.Map.W != 800 || s.Missing() != 0 {
		t.Errorf("%v", err)
	}
}

// stored packs parts without squeezing them, which costs most of a fuzzer's
// time.
func stored(parts ...string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(parts); i += 2 {
		w, err := z.CreateHeader(&zip.FileHeader{Name: parts[i], Method: zip.Store})
		if err == nil {
			_, err = io.WriteString(w, parts[i+1])
		}
		if err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func FuzzX3P(f *testing.F) {
	data := little([]float64{1e-6, 2e-6, 3e-6, 4e-6})
	f.Add(doc("SUR", gridAxes("D", "1", "0"), linked(2, 2, data, "")), data, "")
	f.Add(doc("PRF", gridAxes("I", "1e-7", "1e-6"), linked(3, 1, data, "\x05")), data, "\x05")
	f.Add(doc("SUR", gridAxes("F", "1", "0"), `<MatrixDimension><SizeX>2</SizeX><SizeY>1</SizeY></MatrixDimension><DataList><Datum>1</Datum><Datum>2</Datum></DataList>`), "", "")
	f.Add(doc("PRF", strings.ReplaceAll(gridAxes("D", "1", "0"), "<AxisType>I", "<AxisType>A"), `<ListDimension>2</ListDimension><DataList><Datum>0;0;1</Datum><Datum>1;0;2</Datum></DataList>`), "", "")
	f.Fuzz(func(t *testing.T, main, data, valid string) {
		s, err := Read("a.x3p", stored("main.xml", main, "bindata/data.bin", data, "bindata/valid.bin", valid), Options{})
		if sound(t, s, err) && len(s.Map.Z) > len(data)+len(main) {
			t.Fatalf("%d heights from %d bytes", len(s.Map.Z), len(data)+len(main))
		}
	})
}
