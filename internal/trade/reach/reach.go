// Package reach says where media touch a part, what stays as it was cut, how
// much comes off each face and how edges go. [Of] is the way in.
//
// The surface is cut into small facets, and for each the largest sphere is found
// that touches it in its middle, holds no material and can come there from far
// outside: its reach radius. As every smaller sphere that touches the same place
// lies within that one and can be carried there by it, a single number answers
// for spheres of all sizes, and a larger sphere never reaches more. Pieces that
// are not round are judged by two spheres, the one round the piece and the one
// that its edges are rounded to; what lies between is tried out with the piece
// itself, in many poses.
//
// Where a piece reaches it may still seldom come: exposure is the share of
// directions that it can come from. What comes off is taken to go with exposure
// and with how the surface is curved.
package reach

import (
	"context"

	"fettle"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/cavity"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

// Input is a part with its survey, its measured void and the media asked about.
type Input struct {
	Mesh   *mesh.Mesh // cleaned, in mm: the one that was surveyed
	Survey fettle.Survey
	Detail *survey.Detail
	// Void may be nil: then every sphere is taken to come everywhere that it fits,
	// and only straight lines are asked whether they are free.
	Void  *cavity.Void
	Media []fettle.Media
}

// Result is what [Of] found.
type Result struct {
	// Media are in the order of the input, without jams, rank and why.
	Media      []fettle.MediaReach
	Edges      []fettle.EdgeWear
	Allowances []fettle.FaceAllowance
	Masks      []fettle.Mask
	Warnings   []string
	// Skin is the part's surface cut into small facets, for drawing. Vertices on
	// sharp edges are there once for each side, so that a value belongs to one
	// side. From is the triangle of the part that each facet came from.
	Skin *mesh.Mesh
	From []int32

	r *reacher
}

// Value is what one kind of media does at a vertex of the skin, each the mean
// over the facets round it.
type Value struct {
	New, Worn float32 // share of the facets round it that are reached
	// Exposure is the share of directions that new media come from, 0 to 1;
	// Removal what they take off against an open flat face.
	Exposure, Removal float32
}

// Radius is the reach radius of each facet of the skin, mm: that of the largest
// sphere that touches it in its middle and can come there, up to that of the
// largest of the media.
func (r *Result) Radius() []float32 { return r.r.radius }

// Values are those of the media of that index, for each vertex of the skin.
func (r *Result) Values(media int) []Value {
	s := r.r
	out := make([]Value, len(r.Skin.Pos))
	weight := make([]float32, len(r.Skin.Pos))
	v := s.values(media)
	for f, t := range r.Skin.Tri {
		a := float32(s.skin.area[f])
		for _, p := range t {
			o := &out[p]
			weight[p] += a
			o.New += a * bit(v.new[f])
			o.Worn += a * bit(v.worn[f])
			o.Exposure += a * v.exposure[f]
			o.Removal += a * v.removal[f]
		}
	}
	for p, w := range weight {
		if w > 0 {
			o := &out[p]
			o.New, o.Worn, o.Exposure, o.Removal = o.New/w, o.Worn/w, o.Exposure/w, o.Removal/w
		}
	}
	return out
}

func bit(b bool) float32 {
	if b {
		return 1
	}
	return 0
}

// reacher holds what the parts of the work share.
type reacher struct {
	in     Input
	diag   float64
	finest float64 // edge below which facets are not cut any more
	smooth *smooth
	skin   *skin
	radius []float32 // reach radius of each facet of the skin
	way    []float32 // radius of the largest sphere that comes to the touching sphere's middle
	sites  *sites
	pieces [][2]piece // of each media: new and worn
	poses  []*poses   // of each media; nil for spheres
	bend   []float32  // factor of removal by curvature, of each triangle of the part
}

// standIn is the ball that edges and allowances are worked out for where no
// media are asked about.
var standIn = fettle.Media{Name: "ball-4", Title: "Ball of 4 mm", Shape: fettle.Sphere, SizeMM: [2]float64{4, 4}, Worn: 0.8}

// Of finds where media reach. The only error is the context's.
func Of(ctx context.Context, in Input) (*Result, error) {
	asked := len(in.Media)
	if asked == 0 {
		in.Media = []fettle.Media{standIn}
	}
	r, err := measure(ctx, in)
	if err != nil {
		return nil, err
	}
	if err = r.expose(ctx); err != nil {
		return nil, err
	}
	if err = r.tryPoses(ctx); err != nil {
		return nil, err
	}
	r.bends()

	res := &Result{r: r, From: r.skin.from, Skin: r.skin.mesh(r.smooth)}
	res.Media = make([]fettle.MediaReach, len(in.Media))
	if err := cores.Each(ctx, len(in.Media), func(i int) { res.Media[i] = r.media(i) }); err != nil {
		return nil, err
	}
	lead := r.lead(res.Media)
	v := r.values(lead)
	res.Edges = r.edges(v)
	res.Allowances = r.allowances(v)
	res.Masks = r.masks(res.Edges)
	res.Warnings = r.warnings()
	res.Media = res.Media[:asked]
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return res, nil
}

// measure finds the reach radius all over the part.
func measure(ctx context.Context, in Input) (*reacher, error) {
	r := &reacher{in: in, diag: in.Mesh.Box().Diagonal()}
	largest := 0.0
	for _, m := range in.Media {
		p := [2]piece{pieceOf(m, 1), pieceOf(m, m.WornShare())}
		r.pieces = append(r.pieces, p)
		largest = max(largest, p[0].out)
	}
	r.smooth = newSmooth(in.Detail.Patches)
	var err error
	if r.skin, err = r.cut(ctx, largest); err != nil {
		return nil, err
	}
	r.come()
	return r, nil
}

// lead is the media that edges and allowances are worked out for: the one that
// reaches most, the largest of those that reach alike.
func (r *reacher) lead(all []fettle.MediaReach) int {
	best := 0
	for i := range all {
		d := all[i].ReachedShare - all[best].ReachedShare
		if d > 1e-3 || d > -1e-3 && r.pieces[i][0].equal > r.pieces[best][0].equal {
			best = i
		}
	}
	return best
}

// middle of three points.
func middle(a, b, c r3.Vec) r3.Vec { return r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))) }
