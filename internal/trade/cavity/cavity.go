// Package cavity finds openings from the void: where a sphere that rolls round
// the part does not get in, and how wide what is left is along its depth.
// [Find] is the way in; [CellFor] chooses the grid.
//
// The openings that the survey found on the mesh keep their ids. To each belong
// the cells of the void in front of its faces, between its mouth and its bottom.
// What the sphere leaves besides, where two walls look at each other, is an
// opening that has no faces of its own to be known by: a gap between features,
// as a rule. Both are then cut across at depth after depth, and the largest
// circle between the walls of the cut is the clear width there: a straight bore
// has one width from mouth to floor, a countersink that of its cone, and how near
// the floor is does not count. Of a gap, which is open at its sides, it is the
// narrowest of the widths along the cut. What is cut is the mesh itself; the grid
// says only where the opening is.
//
// The rolling sphere's radius is two and a half of the largest piece of media,
// but no more than a quarter of the part's largest side: what is wider than
// five pieces is no opening to media, and what is wider than half the part is
// none of the part.
package cavity

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/field"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

// Void is the space round a part, measured.
type Void struct {
	*field.Field
	// Opening is the index, in the list that [Find] gives, of the opening that each
	// cell lies in, −1 for none.
	Opening []int32
	// Passage is the radius of the largest sphere that can come to each cell of the
	// void from far outside, mm; 0 in the material.
	Passage []float32
	// Coarse says, opening by opening, what is too small for the grid to be told: no
	// fault of the part.
	Coarse []string
}

// Input is a surveyed part and the media that it may meet.
type Input struct {
	Mesh   *mesh.Mesh
	Tree   *bvh.Tree // of Mesh
	Survey fettle.Survey
	Detail *survey.Detail
	Media  []fettle.Media
	// CellMM is the grid's cell; 0 for what [CellFor] says.
	CellMM float64
}

// The bits of finder.state.
const (
	left    = 1 << iota // the sphere does not get there
	between             // between two walls of no known opening
	shut                // in a void without a mouth
	seen
)

// finder holds what the parts of a search share.
type finder struct {
	Input
	*field.Field
	box    geom.Box
	radius float64 // of the rolling sphere
	state  []uint8 // of each cell
	of     []int32 // opening of each cell
	owner  []int32 // opening of each triangle
	list   []fettle.Opening
	places []*place
	chords []chord   // between walls of no known opening
	cells  [][]int32 // of each opening beyond the survey's
	warn   []string
	coarse []string
}

// Find measures the void round a part and gives the one list of its openings:
// the survey's, in their order and with their ids, then those that only the void
// shows, by kind, the widest first. Profile and CellMM are filled in where the
// grid is fine enough. What a person should hear comes as sentences. It fails with
// Invalid for a part without triangles and for a cell so small that the grid would
// not be held or so large that it would show nothing; the only other error is the context's.
//
// It takes 13 bytes a cell beside what [field.Distance] and [field.Passage] need
// while they run.
func Find(ctx context.Context, in Input) (*Void, []fettle.Opening, []string, error) {
	f := &finder{Input: in, box: in.Mesh.Box(), list: slices.Clone(in.Survey.Openings)}
	if f.box.Empty() {
		return nil, nil, nil, fettle.Errorf(fettle.Invalid, "the part has no triangles: there is no void to measure")
	}
	cell := in.CellMM
	if cell <= 0 {
		cell, _ = CellFor(f.box, f.list, in.Media)
	}
	f.radius = rollingRadius(f.box, in.Media)
	margin := Margin(f.box, in.Media)
	if n := pointsOf(f.box, margin, cell); n > mostAsked {
		return nil, nil, nil, fettle.Errorf(fettle.Invalid, "a grid of %.3g mm would have %.0f million points round this part, and %.0f million is the most; ask for %.2g mm or more",
			cell, n/1e6, mostAsked/1e6, 1.02*finestFor(f.box, margin, cell, mostAsked))
	}
	if s := f.box.Size(); cell > max(s.X, s.Y, s.Z)/fewestAlong {
		return nil, nil, nil, fettle.Errorf(fettle.Invalid, "a grid of %.3g mm tells nothing of a part of %.3g mm; ask for %.2g mm or less", cell, max(s.X, s.Y, s.Z), max(s.X, s.Y, s.Z)/fewestAlong)
	}
	g := field.GridFor(f.box, cell, margin+2*cell)
	var err error
	if f.Field, err = field.Distance(ctx, in.Tree, g); err != nil {
		return nil, nil, nil, err
	}
	f.state, f.of = make([]uint8, g.Len()), make([]int32, g.Len())
	for i := range f.of {
		f.of[i] = -1
	}
	for _, step := range []func(context.Context) error{f.roll, f.claim, f.sealed, f.turn, f.face, f.others, f.measure} {
		if err := step(ctx); err != nil {
			return nil, nil, nil, err
		}
	}
	wide, err := field.Passage(ctx, f.Field)
	if err != nil {
		return nil, nil, nil, err
	}
	return &Void{Field: f.Field, Opening: f.of, Passage: wide, Coarse: f.coarse}, f.list, f.warn, nil
}

func (f *finder) say(format string, args ...any) {
	f.warn = append(f.warn, fmt.Sprintf(format, args...))
}

// tooNarrow reports whether the grid has too few cells across a width to tell
// what is in it.
func (f *finder) tooNarrow(width float64) bool { return width < fewest*f.Cell }

// rollingRadius is that of the sphere that rolls round the part.
func rollingRadius(box geom.Box, media []fettle.Media) float64 {
	s := box.Size()
	r := max(s.X, s.Y, s.Z) / 4
	if big := largest(media); big > 0 {
		r = min(r, 2.5*big)
	}
	return r
}

// Margin is how far the grid reaches beyond the part: the radius of the largest
// piece, so that a sphere of its size fits on every outer face with its centre
// on the grid, and no more than a quarter of the part's largest side.
func Margin(box geom.Box, media []fettle.Media) float64 {
	s := box.Size()
	return min(largest(media)/2, max(s.X, s.Y, s.Z)/4)
}

// largest is the largest size of the media; 0 for none.
func largest(media []fettle.Media) float64 {
	most := 0.0
	for _, m := range media {
		most = max(most, m.SizeMM[0], m.SizeMM[1])
	}
	return most
}

// smallest is the smallest size of the media, half-way from new to worn out, and
// whose it is; infinite for none.
func smallest(media []fettle.Media) (float64, string) {
	least, name := math.Inf(1), ""
	for _, m := range media {
		worn := (1 + m.WornShare()) / 2
		for _, size := range m.SizeMM {
			if size > 0 && size*worn < least {
				least, name = size*worn, m.Name
			}
		}
	}
	return least, name
}

// local is a point in a place's own coordinates: along u, v and the axis.
func (p *place) local(x r3.Vec) (u, v, h float64) {
	d := r3.Sub(x, p.at)
	return r3.Dot(d, p.u), r3.Dot(d, p.v), r3.Dot(d, p.axis)
}

// point is the inverse of local.
func (p *place) point(u, v, h float64) r3.Vec {
	x := p.at
	x = r3.Add(x, r3.Scale(u, p.u))
	x = r3.Add(x, r3.Scale(v, p.v))
	return r3.Add(x, r3.Scale(h, p.axis))
}
