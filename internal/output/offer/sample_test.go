package offer

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"fettle"
	"fettle/internal/output/closeup"
	"fettle/internal/shape/relief"
)

// faces are close-ups of surfaces made up for the tests: a grain in one direction, waves
// in none, and nearly nothing.
var faces = sync.OnceValue(func() [3][]byte {
	return [3][]byte{face(0.012, 0.06, 1), face(0.02, 1, 1), face(0.002, 1, 1)}
})

func face(amp, long, across float64) []byte {
	const cell, wide, high = 0.04, 5.0, 3.4
	m := relief.NewMap(relief.Cover(0, 0, wide-cell, high-cell, cell))
	clear(m.Z)
	r := rand.New(rand.NewPCG(7, 11))
	for range 40 {
		k := 2 * math.Pi / (0.08 + 0.6*r.Float64())
		a, phase := 2*math.Pi*r.Float64(), 2*math.Pi*r.Float64()
		for j := range m.H {
			for i := range m.W {
				m.Z[j*m.W+i] += float32(amp / k * math.Sin(k*(math.Cos(a)*long*m.X(i)+math.Sin(a)*across*m.Y(j))+phase))
			}
		}
	}
	p, err := closeup.Light(m, closeup.Options{Width: 200, Height: 136, Tint: closeup.Brass, Bare: true})
	if err != nil {
		panic(err)
	}
	var b bytes.Buffer
	if err := p.PNG(&b); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// noise is a picture that no encoder makes small.
func noise(t testing.TB, w, h int, seed uint64) Picture {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 1))
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range img.Pix {
		img.Pix[i] = uint8(r.Uint32())
		if i%4 == 3 {
			img.Pix[i] = 255
		}
	}
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return Picture{Data: b.Bytes(), Type: "image/png", Says: "Noise.", Photo: true}
}

// plain is a picture of one colour.
func plain(t testing.TB, w, h int, c color.Color) Picture {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		img.Set(i%w, i/w, c)
	}
	return Picture{Data: pngOf(t, img), Type: "image/png", Says: "One colour."}
}

func pngOf(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func jpegOf(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

var color50 = color.Gray{128}

func cost(minor int64, currency string) fettle.Cost {
	m := fettle.Money{Minor: minor, Currency: currency}
	return fettle.Cost{Value: m, Low: m, High: m, Basis: "asked"}
}

// sample is an offer of n finishes, up to three.
func sample(t testing.TB, n int) *Sheet {
	t.Helper()
	const cur = "USD"
	common := []string{
		"Every outside edge is broken so that it does not cut, to a radius of 0.04 mm to 0.20 mm.",
		"Once you have signed off a sample, the pieces are alike within the limits that are written down with it.",
	}
	not := []string{
		"The fine pattern differs from piece to piece, as grain does in wood.",
		"Colour and gloss are not exact: both change with the light and with the batch of metal.",
		"Faces that do not show in use (sides, back) come clean and safe to touch, but not in this finish.",
		"Copper alloys darken with air and touch; the tone of the first day does not stay.",
	}
	satin := Choice{
		Look: "satin", Title: "Satin", Says: "A fine even grain in one direction that catches the light softly.", Asked: true,
		Each: cost(6240, cur), Price: cost(156000, cur), Day: "2026-09-18", Likely: "2026-09-11",
		RaUM: fettle.Guess(0.33, 0.16, 1.3, "guess"), EdgeUM: fettle.Guess(83, 40, 190, "guess"),
		Ladder: []fettle.OfferRung{
			{Lot: 1, Each: cost(41800, cur), Price: cost(41800, cur)}, {Lot: 10, Each: cost(8950, cur), Price: cost(89500, cur)},
			{Lot: 100, Each: cost(4415, cur), Price: cost(441500, cur)},
		},
		Promised:    append([]string{"The faces that show have a roughness Ra between 0.20 µm and 0.80 µm.", "On the faces that show, no marks of the cutter or of coarser sanding are seen at arm's length."}, common...),
		NotPromised: not,
		Pictures:    []Picture{{Data: faces()[0], Type: "image/png"}},
	}
	satin.Pictures[0].Says = "Satin on the show face, 5 mm across, under a low lamp."
	wash := Choice{
		Look: "stonewash", Title: "Stonewashed", Says: "Tumbled to a lively, slightly worn face with soft edges; scratches of use hardly show on it.",
		Each: cost(5480, cur), Price: cost(137000, cur), Day: "2026-09-16",
		RaUM: fettle.Guess(0.56, 0.27, 1.2, "guess"), EdgeUM: fettle.Guess(150, 80, 400, "guess"),
		Ladder: []fettle.OfferRung{
			{Lot: 1, Each: cost(39900, cur), Price: cost(39900, cur)}, {Lot: 10, Each: cost(8120, cur), Price: cost(81200, cur)},
			{Lot: 100, Each: cost(3680, cur), Price: cost(368000, cur)},
		},
		Promised:    append([]string{"The faces that show have a roughness Ra between 0.30 µm and 1.0 µm."}, common...),
		NotPromised: append([]string{"Under a low lamp, some lines of the cutter may still be found on the faces that show."}, not...),
		Pictures:    []Picture{{Data: faces()[1], Type: "image/png"}},
	}
	wash.Pictures[0].Says = "Stonewashed on the show face, 5 mm across, under a low lamp."
	bright := Choice{
		Look: "bright", Title: "Bright", Says: "Shiny, with softened reflections; marks of tools are gone.",
		Each: cost(7125, cur), Price: cost(178125, cur), Day: "2026-09-25", Likely: "2026-09-21",
		RaUM: fettle.Guess(0.15, 0.10, 0.24, "guess"), EdgeUM: fettle.Guess(140, 70, 300, "guess"),
		Ladder: []fettle.OfferRung{
			{Lot: 1, Each: cost(46200, cur), Price: cost(46200, cur)}, {Lot: 100, Each: cost(5190, cur), Price: cost(519000, cur)},
		},
		Promised:    append([]string{"The faces that show have a roughness Ra between 0.080 µm and 0.25 µm."}, common...),
		NotPromised: not,
		Pictures:    []Picture{{Data: faces()[2], Type: "image/png"}},
	}
	bright.Pictures[0].Says = "Bright on the show face, 5 mm across, under a low lamp."
	part := plain(t, 90, 52, color.RGBA{190, 170, 110, 255})
	part.Says = "The escutcheon plate from above and from the side."
	return &Sheet{
		Shop: "Tern Lane Small Metals", Contact: "4 Tern Lane, Harbour Yard\nhello@ternlane.example", Customer: "A. Fisher, joinery",
		Title: "Escutcheon plate", Number: "2026-014", Material: "Naval brass C46400", SizeMM: [3]float64{44, 70, 11}, Lot: 25,
		Day: "2026-08-14", Until: "2026-09-13",
		Words:   "You asked for a plate that does not look new on an old door.\nSatin is what you named; look at stonewashed too, it hides fingerprints best.",
		Part:    []Picture{part},
		Choices: []Choice{satin, wash, bright}[:n],
		Terms:   []string{"Payment within 30 days of the invoice.", "Carriage is not in the price.", "A sample comes first; the lot is begun when you have signed it off."},
		Reply:   "mailto:hello@ternlane.example",
	}
}
