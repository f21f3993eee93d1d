package work

import (
	"context"
	"io"

	"fettle"
	"fettle/internal/output/buffer"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"
)

// ViewAbout is what a buffer of a part is about.
type ViewAbout struct {
	File   string     `json:"file"`
	SHA256 string     `json:"sha256"`
	Up     [3]float64 `json:"up"` // the side that shows looks this way
	// Zones are the ids that the array "zone" counts from 0, Openings those of
	// "opening", −1 for none.
	Zones    []string `json:"zones,omitempty"`
	Openings []string `json:"openings,omitempty"`
	// Media is whose values stand in a buffer of reach.
	Media string `json:"media,omitempty"`
}

// WriteView writes a part to look at: arrays "position" (mm), "triangle", and for each
// triangle "zone", "opening" and "face" of its survey, and for each corner how the surface
// bends there: "bend", the most and the least in 1/mm, bulging above zero, and "toward", the
// direction of the most.
func (p *Part) WriteView(w io.Writer) error {
	about := p.about()
	for _, z := range p.Survey.Zones {
		about.Zones = append(about.Zones, z.ID)
	}
	for _, o := range p.Survey.Openings {
		about.Openings = append(about.Openings, o.ID)
	}
	face := make([]int32, len(p.Mesh.Tri))
	opening := make([]int32, len(p.Mesh.Tri))
	for t := range face {
		face[t], opening[t] = -1, -1
	}
	for i, f := range p.Survey.Faces {
		for _, t := range f.Facets {
			face[t] = int32(f.ID)
			if i < len(p.Detail.Opening) {
				opening[t] = p.Detail.Opening[i]
			}
		}
	}
	arrays := append(meshArrays(p.Mesh), buffer.Array{Name: "face", Width: 1, I: face}, buffer.Array{Name: "opening", Width: 1, I: opening})
	if c := p.Detail.Curvature; c != nil && len(c.Vertex) == len(p.Mesh.Pos) {
		bend := make([]float32, 0, 2*len(c.Vertex))
		toward := make([]float32, 0, 3*len(c.Vertex))
		for _, b := range c.Vertex {
			bend = append(bend, b.Max, b.Min)
			toward = append(toward, b.MaxDir[:]...)
		}
		arrays = append(arrays, buffer.Array{Name: "bend", Width: 2, F: bend}, buffer.Array{Name: "toward", Width: 3, F: toward})
	}
	if len(p.Detail.Zone) == len(p.Mesh.Tri) {
		arrays = append(arrays, buffer.Array{Name: "zone", Width: 1, I: p.Detail.Zone})
	}
	return buffer.Write(w, about, arrays...)
}

func (p *Part) about() ViewAbout {
	up := p.Detail.Up
	return ViewAbout{File: p.Survey.File, SHA256: p.Survey.SHA256, Up: [3]float64{up.X, up.Y, up.Z}}
}

func meshArrays(m *mesh.Mesh) []buffer.Array {
	pos := make([]float32, 0, 3*len(m.Pos))
	for _, v := range m.Pos {
		pos = append(pos, float32(v.X), float32(v.Y), float32(v.Z))
	}
	tri := make([]uint32, 0, 3*len(m.Tri))
	for _, t := range m.Tri {
		tri = append(tri, t[:]...)
	}
	return []buffer.Array{{Name: "position", Width: 3, F: pos}, {Name: "triangle", Width: 3, U: tri}}
}

// Reached is where media get on a part, to look at.
type Reached struct {
	Doc  *fettle.Reach
	part *Part
	r    *reached
}

// ReachPart finds where media get on a part whose void was measured.
func ReachPart(ctx context.Context, part *Part, shelf *fettle.Shelf, names []string, say Progress) (*Reached, error) {
	media, err := mediaNamed(shelf, names)
	if err != nil {
		return nil, err
	}
	r, err := part.reach(ctx, media, say)
	if err != nil {
		return nil, err
	}
	return &Reached{r.doc, part, r}, nil
}

// Media are the names of those that were asked about.
func (r *Reached) Media() []string {
	var names []string
	for _, m := range r.r.media {
		names = append(names, m.Name)
	}
	return names
}

// WriteView writes the part's skin with one media's values at its corners: arrays
// "position", "triangle", "reached_new", "reached_worn", "exposure", "removal".
func (r *Reached) WriteView(w io.Writer, media string) error {
	values := r.r.res.Values(r.r.indexOf(media))
	col := make([][]float32, 4)
	for i := range col {
		col[i] = make([]float32, len(values))
	}
	for i, v := range values {
		col[0][i], col[1][i], col[2][i], col[3][i] = v.New, v.Worn, v.Exposure, v.Removal
	}
	about := r.part.about()
	about.Media = media
	arrays := meshArrays(r.r.res.Skin)
	for i, name := range []string{"reached_new", "reached_worn", "exposure", "removal"} {
		arrays = append(arrays, buffer.Array{Name: name, Width: 1, F: col[i]})
	}
	return buffer.Write(w, about, arrays...)
}

// MapAbout is what a buffer of heights is about.
type MapAbout struct {
	File string `json:"file"`
	// X0MM and Y0MM are where the first cell lies, CellXMM and CellYMM its size; LayDeg is the
	// direction of the lay, from X.
	X0MM    float64  `json:"x0_mm"`
	Y0MM    float64  `json:"y0_mm"`
	CellXMM float64  `json:"cell_x_mm"`
	CellYMM float64  `json:"cell_y_mm"`
	BaseMM  float64  `json:"base_mm"`
	LayDeg  *float64 `json:"lay_deg"` // null for none
}

// WriteMap writes heights: the array "height", mm above base_mm, a row of cells for
// each step along Y, NaN where there is no surface.
func WriteMap(w io.Writer, m *relief.Map, p *fettle.Proof) error {
	about := MapAbout{p.File, m.X0, m.Y0, m.DX, m.DY, m.Base, p.LayDeg}
	return buffer.Write(w, about, buffer.Array{Name: "height", Width: m.W, F: m.Z})
}
