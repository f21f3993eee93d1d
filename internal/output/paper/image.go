package paper

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"

	"fettle"
	"fettle/internal/output/draw"

	"codeberg.org/go-pdf/fpdf"
)

// album puts pictures on pages. Each is named by its content, so that one that stands
// on many pages is in the file once.
type album struct {
	pdf *fpdf.Fpdf
	n   int // pictures in the file
}

func (a *album) paint(i draw.Image) error {
	data, kind, err := printable(i)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(data)
	name := hex.EncodeToString(sum[:])
	o := fpdf.ImageOptions{ImageType: kind, AllowNegativePosition: true}
	if a.pdf.GetImageInfo(name) == nil {
		info := a.pdf.RegisterImageOptionsReader(name, o, bytes.NewReader(data))
		if err := a.pdf.Error(); err != nil {
			return fmt.Errorf("putting a picture into the PDF: %w", err)
		}
		a.n++
		if err := rank(info, a.n); err != nil {
			return fmt.Errorf("putting a picture into the PDF: %w", err)
		}
	}
	a.pdf.ImageOptions(name, i.At.X, i.At.Y, i.W, i.H, false, o, 0, "")
	return nil
}

// rank makes pictures come in the order in which they were first painted. The library
// writes them by their width in pixels and leaves those of one width in the order of a
// map, which changes from run to run; so each width gets a fraction of its own, which
// is cut off where the width is written. The library shows and takes these fields only
// as it stores pictures.
func rank(info *fpdf.ImageInfoType, n int) error {
	stored, err := info.GobEncode()
	if err != nil {
		return err
	}
	var (
		data, smask, pal  []byte
		object, bits      int
		w, h, scale, dpi  float64
		space, filter, dp string
		trns              []int
	)
	dec := gob.NewDecoder(bytes.NewReader(stored))
	fields := []any{&data, &smask, &object, &w, &h, &space, &pal, &bits, &filter, &dp, &trns, &scale, &dpi}
	for _, f := range fields {
		if err := dec.Decode(f); err != nil {
			return err
		}
	}
	w += float64(n) / (1 << 20)
	var out bytes.Buffer
	enc := gob.NewEncoder(&out)
	for _, f := range fields {
		if err := enc.Encode(f); err != nil {
			return err
		}
	}
	return info.GobDecode(out.Bytes())
}

// printable is a picture as it goes into the file: a JPEG as it is, a PNG too unless it
// lets what is behind it through, is interlaced or has more than eight bits a channel;
// then it is laid on white and written anew.
func printable(i draw.Image) (data []byte, kind string, err error) {
	bad := func(err error) error {
		return fettle.Errorf(fettle.Invalid, "the picture %q cannot be read (%w); give a PNG or a JPEG", i.Says, err)
	}
	if i.W <= 0 || i.H <= 0 {
		return nil, "", fettle.Errorf(fettle.Invalid, "the picture %q is %g × %g mm on paper, which is nothing; give it a size", i.Says, i.W, i.H)
	}
	switch i.Type {
	case "image/jpeg":
		if _, err := jpeg.DecodeConfig(bytes.NewReader(i.Data)); err != nil {
			return nil, "", bad(err)
		}
		return i.Data, "jpg", nil
	case "image/png":
		if plainPNG(i.Data) {
			return i.Data, "png", nil
		}
		img, err := png.Decode(bytes.NewReader(i.Data))
		if err != nil {
			return nil, "", bad(err)
		}
		var out bytes.Buffer
		if err := png.Encode(&out, onWhite(img)); err != nil {
			return nil, "", fmt.Errorf("writing a picture: %w", err)
		}
		return out.Bytes(), "png", nil
	}
	return nil, "", bad(fmt.Errorf("its type is %q", i.Type))
}

// plainPNG reports whether a PNG (ISO/IEC 15948) can be read whole and is opaque, of
// eight bits or fewer a channel and not interlaced.
func plainPNG(data []byte) bool {
	const header = 8 + 8 + 13 // signature, length and name of IHDR, its data
	if len(data) < header {
		return false
	}
	depth, colour, interlace := data[24], data[25], data[28]
	if depth > 8 || colour >= 4 || interlace != 0 {
		return false
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return false
	}
	o, ok := img.(interface{ Opaque() bool })
	return ok && o.Opaque()
}

// onWhite lays a picture on white.
func onWhite(img image.Image) *image.RGBA {
	b := img.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		for x := range b.Dx() {
			r, g, bl, a := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
			rest := 0xFFFF - a
			out.SetRGBA(x, y, color.RGBA{uint8((r + rest) >> 8), uint8((g + rest) >> 8), uint8((bl + rest) >> 8), 255})
		}
	}
	return out
}
