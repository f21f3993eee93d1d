package paper

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"

	"fettle"
	"fettle/internal/output/draw"
)

func pngData(t *testing.T, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A picture with alpha goes on white, without the soft mask that some printers
// stumble on; one that stands on two pages is in the file once; the bytes repeat.
func TestPicturesOnPaper(t *testing.T) {
	glass := image.NewNRGBA(image.Rect(0, 0, 40, 30))
	for i := range 40 * 30 {
		glass.SetNRGBA(i%40, i/40, color.NRGBA{200, uint8(i), 0, uint8(i)})
	}
	deep := image.NewGray16(image.Rect(0, 0, 40, 30))
	var jpg bytes.Buffer
	if err := jpeg.Encode(&jpg, glass, nil); err != nil {
		t.Fatal(err)
	}
	at := func(data []byte, kind string) draw.Image {
		return draw.Image{At: draw.Pt{X: 20, Y: 20}, W: 40, H: 30, Data: data, Type: kind, Says: "a test"}
	}
	twice := at(pngData(t, glass), "image/png")
	pages := []*draw.Drawing{
		{Images: []draw.Image{twice, at(pngData(t, deep), "image/png")}},
		{Images: []draw.Image{twice, at(jpg.Bytes(), "image/jpeg")}},
	}
	out, err := PDF(pages, 210, 297, "pictures")
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(out, []byte("/Subtype /Image")); n != 3 {
		t.Errorf("%d pictures are in the file, not 3", n)
	}
	if bytes.Contains(out, []byte("/SMask")) {
		t.Error("a picture has a soft mask")
	}
	// They are of one width, which the library would leave in the order of a map: 3! = 6.
	for range 12 {
		again, err := PDF(pages, 210, 297, "pictures")
		if err != nil || !bytes.Equal(out, again) {
			t.Fatalf("the bytes differ from run to run (%v)", err)
		}
	}
	if n := bytes.Count(out, []byte("/Width 40\n/Height 30\n")); n != 3 {
		t.Errorf("%d pictures are 40 × 30 pixels, not 3", n)
	}
}

func TestPicturesThatCannotBePrinted(t *testing.T) {
	good := pngData(t, image.NewGray(image.Rect(0, 0, 4, 4)))
	for _, i := range []draw.Image{
		{W: 10, H: 10, Data: good, Type: "image/gif"},
		{W: 10, H: 10, Data: good[:40], Type: "image/png"},
		{W: 10, H: 10, Data: good, Type: "image/jpeg"},
		{W: 10, H: 0, Data: good, Type: "image/png"},
		{W: 10, H: 10, Type: "image/png"},
	} {
		_, err := PDF([]*draw.Drawing{{Images: []draw.Image{i}}}, 210, 297, "bad")
		if fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s of %d bytes, %g mm high: %v", i.Type, len(i.Data), i.H, err)
		}
	}
}
