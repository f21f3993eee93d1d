package letter

import (
	"sync"

	"fettle/internal/shape/typeface"

	"github.com/go-fonts/dejavu/dejavusansbold"
)

// face is what letters are cut from.
type face struct {
	*typeface.Face
	capital float64 // the height of an H, font units
}

// built is the face that is built into the program.
var built = sync.OnceValue(func() *face {
	f := &face{Face: typeface.Read(dejavusansbold.TTF)}
	for _, c := range f.Contours(f.Glyph['H']) {
		for _, k := range c {
			f.capital = max(f.capital, k.Y)
		}
	}
	return f
})
