package offer

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"strings"
	"testing"

	"fettle"
)

// Eight pictures of noise, which no encoder makes small, go into a page of 3 MB.
func TestPageSize(t *testing.T) {
	if testing.Short() {
		t.Skip("eight large pictures")
	}
	s := sample(t, 3)
	two := []Picture{noise(t, 1200, 1200, 1), noise(t, 1200, 900, 2)}
	s.Part = two
	for i := range s.Choices {
		s.Choices[i].Pictures = two
	}
	page := htmlOf(t, s)
	if len(page) >= mostBytes {
		t.Errorf("the page has %d bytes", len(page))
	}
	// It uses the room that there is.
	if len(page) < 1_000_000 {
		t.Errorf("the page has only %d bytes", len(page))
	}
}

func TestTooLarge(t *testing.T) {
	s := sample(t, 1)
	s.Words = strings.Repeat("word ", 700_000)
	if _, err := HTML(s); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("words of 3.5 MB: %v", err)
	}
	// A header that claims 60 000 × 60 000 pixels (ISO/IEC 15948, 11.2.2) is refused
	// before there is room made for them.
	head := make([]byte, 13)
	binary.BigEndian.PutUint32(head, 60000)
	binary.BigEndian.PutUint32(head[4:], 60000)
	head[8], head[9] = 8, 2
	chunk := append([]byte("IHDR"), head...)
	var b bytes.Buffer
	b.WriteString("\x89PNG\r\n\x1a\n")
	_ = binary.Write(&b, binary.BigEndian, uint32(13))
	b.Write(chunk)
	_ = binary.Write(&b, binary.BigEndian, crc32.ChecksumIEEE(chunk))
	s = sample(t, 1)
	s.Part[0].Data = b.Bytes()
	if _, err := HTML(s); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "60000 × 60000") {
		t.Errorf("a picture of 3.6 thousand million pixels: %v", err)
	}
}

// Pictures are no larger than twice what is shown, keep their shape, lie on white, and a
// drawing of few colours goes in exactly.
func TestWrittenAnew(t *testing.T) {
	glass := image.NewNRGBA(image.Rect(0, 0, 1200, 600))
	img, err := read(Picture{Data: pngOf(t, glass), Type: "image/png"}, 600)
	if err != nil {
		t.Fatal(err)
	}
	if img.Rect != image.Rect(0, 0, 600, 300) {
		t.Errorf("it is %v", img.Rect)
	}
	if c := img.RGBAAt(300, 100); c != (color.RGBA{255, 255, 255, 255}) {
		t.Errorf("what is not there is %v, not white", c)
	}
	drawing := image.NewRGBA(image.Rect(0, 0, 300, 200))
	for i := range 300 * 200 {
		c := color.RGBA{255, 255, 255, 255}
		if (i%300)%40 < 2 || (i/300)%40 < 2 {
			c = color.RGBA{30, 60, 130, 255}
		}
		drawing.SetRGBA(i%300, i/300, c)
	}
	e, err := write(drawing, 88)
	if err != nil || e.Type != "image/png" {
		t.Fatalf("a drawing of two colours is written as %s (%v)", e.Type, err)
	}
	back, err := read(Picture{Data: e.Data, Type: e.Type}, 300)
	if err != nil || !bytes.Equal(back.Pix, drawing.Pix) {
		t.Errorf("it comes back otherwise (%v)", err)
	}
	e, err = write(flat(mustRead(t, noise(t, 200, 200, 3))), 88)
	if err != nil || e.Type != "image/jpeg" {
		t.Errorf("noise is written as %s (%v)", e.Type, err)
	}
}

func mustRead(t *testing.T, p Picture) *image.RGBA {
	t.Helper()
	img, err := read(p, 4000)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// exif puts an Exif segment that holds nothing but the orientation into a JPEG.
func exif(jpg []byte, order binary.ByteOrder, orientation uint16) []byte {
	mark := "II"
	if order == binary.BigEndian {
		mark = "MM"
	}
	tiff := []byte(mark)
	tiff, _ = binary.Append(tiff, order, uint16(42))
	tiff, _ = binary.Append(tiff, order, uint32(8))
	tiff, _ = binary.Append(tiff, order, uint16(1))
	tiff, _ = binary.Append(tiff, order, []uint16{0x0112, 3})
	tiff, _ = binary.Append(tiff, order, uint32(1))
	tiff, _ = binary.Append(tiff, order, []uint16{orientation, 0})
	tiff, _ = binary.Append(tiff, order, uint32(0))
	body := append([]byte("Exif\x00\x00"), tiff...)
	seg := binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(body)+2))
	return append(append(append([]byte{}, jpg[:2]...), append(seg, body...)...), jpg[2:]...)
}

// A camera's picture stands as Exif says. The table is that of JEITA CP-3451, 4.6.4:
// which side of what is seen the first row and the first column of the file are.
func TestCameraOrientation(t *testing.T) {
	const w, h = 64, 32
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		c := color.RGBA{255, 255, 255, 255}
		if i/w < 8 {
			c = color.RGBA{255, 0, 0, 255} // the first rows
		} else if i%w < 8 {
			c = color.RGBA{0, 0, 255, 255} // the first columns
		}
		img.SetRGBA(i%w, i/w, c)
	}
	jpg := jpegOf(t, img)
	table := []struct{ row, column string }{
		{"top", "left"}, {"top", "right"}, {"bottom", "right"}, {"bottom", "left"},
		{"left", "top"}, {"right", "top"}, {"right", "bottom"}, {"left", "bottom"},
	}
	for i, want := range table {
		for _, order := range []binary.ByteOrder{binary.BigEndian, binary.LittleEndian} {
			got := mustRead(t, Picture{Data: exif(jpg, order, uint16(i+1)), Type: "image/jpeg"})
			b := got.Rect
			if (b.Dx() < b.Dy()) != (i+1 > 4) {
				t.Errorf("%d: it is %v", i+1, b)
			}
			side := map[string]color.RGBA{
				"top": got.RGBAAt(b.Dx()/2, 3), "bottom": got.RGBAAt(b.Dx()/2, b.Dy()-4),
				"left": got.RGBAAt(3, b.Dy()/2), "right": got.RGBAAt(b.Dx()-4, b.Dy()/2),
			}
			if c := side[want.row]; c.R < 200 || c.B > 80 {
				t.Errorf("%d: the first row is not at the %s: %v", i+1, want.row, side)
			}
			if c := side[want.column]; c.B < 200 || c.R > 80 {
				t.Errorf("%d: the first column is not at the %s: %v", i+1, want.column, side)
			}
		}
	}
	e, err := write(mustRead(t, Picture{Data: exif(jpg, binary.BigEndian, 6), Type: "image/jpeg"}), 80)
	if err != nil || bytes.Contains(e.Data, []byte("Exif")) {
		t.Errorf("what the camera wrote goes on to the customer (%v)", err)
	}
}

// Damaged Exif is passed over.
func FuzzOrientation(f *testing.F) {
	img := image.NewRGBA(image.Rect(0, 0, 8, 8))
	f.Add(exif(jpegOf(f, img), binary.LittleEndian, 8))
	f.Add([]byte{0xFF, 0xD8, 0xFF, 0xE1, 0, 20, 'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0xFF, 0xFF, 0xFF, 0xFF, 0, 0})
	f.Fuzz(func(t *testing.T, b []byte) {
		if o := orientation(b); o < 1 || o > 8 {
			t.Errorf("orientation %d", o)
		}
	})
}

func BenchmarkHTML(b *testing.B) {
	s := sample(b, 3)
	for b.Loop() {
		if _, err := HTML(s); err != nil {
			b.Fatal(err)
		}
	}
}
