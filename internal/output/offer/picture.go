package offer

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"

	"fettle"

	"golang.org/x/image/draw"
)

// encoded is a picture as it goes into the file.
type encoded struct {
	Data []byte
	Type string
	W, H int
}

// mostPixels is the largest picture that is read, more than cameras take.
const mostPixels = 120_000_000

// levels are tried in turn until the pictures are small enough together: the quality
// of a JPEG, and pixels for one that is shown. Twice is what sharp screens show.
var levels = []struct {
	quality int
	scale   float64
}{{88, 2}, {80, 1.8}, {72, 1.5}, {64, 1.2}, {54, 1}, {44, 0.8}}

// pictures are all of the offer's, in the order in which they are shown.
func (v *view) pictures() []*shown {
	var all []*shown
	for i := range v.Part {
		all = append(all, &v.Part[i])
	}
	for i := range v.Choices {
		for k := range v.Choices[i].Pictures {
			all = append(all, &v.Choices[i].Pictures[k])
		}
	}
	return all
}

// fit writes all pictures anew so that together they take at most budget bytes.
func (v *view) fit(budget int) error {
	all := v.pictures()
	from := make([]*image.RGBA, len(all))
	for i, p := range all {
		// Nothing is ever shown larger than this, so no more is kept while it is tried.
		img, err := read(p.From, p.wide*2)
		if err != nil {
			return fettle.Errorf(fettle.Invalid, "the picture %q cannot be used: %w; give a PNG or a JPEG", p.Says, err)
		}
		from[i] = img
	}
	for _, l := range levels {
		sum := 0
		for i, p := range all {
			e, err := write(narrow(from[i], int(math.Round(float64(p.wide)*l.scale))), l.quality)
			if err != nil {
				return err
			}
			if p.Encoded, sum = e, sum+len(e.Data); sum > budget {
				break
			}
		}
		if sum <= budget {
			return nil
		}
	}
	return fettle.Errorf(fettle.Invalid, "the offer's %d pictures do not go into a page of 3 MB, however small they are made; leave some out", len(all))
}

// read decodes a picture, turned as it was taken, laid on white and at most wide pixels
// wide.
func read(p Picture, wide int) (*image.RGBA, error) {
	var config func() (image.Config, error)
	var decode func() (image.Image, error)
	switch p.Type {
	case "image/png":
		config = func() (image.Config, error) { return png.DecodeConfig(bytes.NewReader(p.Data)) }
		decode = func() (image.Image, error) { return png.Decode(bytes.NewReader(p.Data)) }
	case "image/jpeg":
		config = func() (image.Config, error) { return jpeg.DecodeConfig(bytes.NewReader(p.Data)) }
		decode = func() (image.Image, error) { return jpeg.Decode(bytes.NewReader(p.Data)) }
	default:
		return nil, fmt.Errorf("its type is %q", p.Type)
	}
	// The size is looked at before room is made for it.
	c, err := config()
	if err != nil {
		return nil, err
	}
	if c.Width < 1 || c.Height < 1 || c.Width > mostPixels/c.Height {
		return nil, fmt.Errorf("it has %d × %d pixels", c.Width, c.Height)
	}
	img, err := decode()
	if err != nil {
		return nil, err
	}
	turn := 1
	if p.Type == "image/jpeg" {
		turn = orientation(p.Data)
	}
	if turn > 4 { // it lies on its side: its height is what will be its width
		b := img.Bounds()
		if b.Dy() > wide {
			img = resized(img, max(1, b.Dx()*wide/b.Dy()), wide)
		}
		return turned(flat(img), turn), nil
	}
	return turned(narrow(img, wide), turn), nil
}

// narrow makes a picture at most wide pixels wide, opaque on white.
func narrow(img image.Image, wide int) *image.RGBA {
	b := img.Bounds()
	if wide = max(1, wide); b.Dx() <= wide {
		return flat(img)
	}
	return resized(img, wide, max(1, int(math.Round(float64(b.Dy())*float64(wide)/float64(b.Dx())))))
}

// resized scales a picture onto white; each pixel made is the weighted mean of those
// that it covers.
func resized(img image.Image, w, h int) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
	draw.CatmullRom.Scale(out, out.Bounds(), img, img.Bounds(), draw.Over, nil)
	return out
}

// flat lays a picture on white.
func flat(img image.Image) *image.RGBA {
	b := img.Bounds()
	if o, ok := img.(*image.RGBA); ok && o.Opaque() && b.Min == (image.Point{}) {
		return o
	}
	out := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
	draw.Draw(out, out.Bounds(), img, b.Min, draw.Over)
	return out
}

// write encodes a picture as a JPEG or, where it has few colours and that is smaller,
// as a PNG with a palette.
func write(img *image.RGBA, quality int) (encoded, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		return encoded{}, fmt.Errorf("writing a picture: %w", err)
	}
	e := encoded{b.Bytes(), "image/jpeg", img.Rect.Dx(), img.Rect.Dy()}
	if p := paletted(img); p != nil {
		var b bytes.Buffer
		enc := png.Encoder{CompressionLevel: png.BestCompression}
		if err := enc.Encode(&b, p); err != nil {
			return encoded{}, fmt.Errorf("writing a picture: %w", err)
		}
		if b.Len() < len(e.Data) {
			e.Data, e.Type = b.Bytes(), "image/png"
		}
	}
	return e, nil
}

// paletted is the picture in at most 256 colours, or nil where it needs more. A tone
// may move by up to four of 255 steps for it, which nobody sees.
func paletted(img *image.RGBA) *image.Paletted {
	for _, round := range []int{1, 3, 5, 9} {
		if p := paletteOf(img, round); p != nil {
			return p
		}
	}
	return nil
}

// paletteOf counts the colours with each channel put to the middle of a step of the
// given width; nil where there are more than 256.
func paletteOf(img *image.RGBA, step int) *image.Paletted {
	var to [256]uint8
	for v := range to {
		to[v] = uint8(min(255, v/step*step+step/2))
	}
	// White stays white: the paper around a drawing must not turn grey.
	to[255] = 255
	index := map[uint32]uint8{}
	last, lastIndex := uint32(1<<24), uint8(0) // no colour
	out := image.NewPaletted(img.Rect, nil)
	for y := range img.Rect.Dy() {
		row := img.Pix[y*img.Stride:]
		for x := range img.Rect.Dx() {
			r, g, b := to[row[4*x]], to[row[4*x+1]], to[row[4*x+2]]
			key := uint32(r)<<16 | uint32(g)<<8 | uint32(b)
			if key == last {
				out.Pix[y*out.Stride+x] = lastIndex
				continue
			}
			i, ok := index[key]
			if !ok {
				if len(out.Palette) == 256 {
					return nil
				}
				i = uint8(len(out.Palette))
				index[key] = i
				out.Palette = append(out.Palette, color.RGBA{r, g, b, 255})
			}
			out.Pix[y*out.Stride+x] = i
			last, lastIndex = key, i
		}
	}
	return out
}
