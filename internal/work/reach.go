package work

import (
	"context"
	"fmt"
	"image/png"
	"io"
	"math"
	"path/filepath"
	"slices"

	"fettle"
	"fettle/internal/output/closeup"
	"fettle/internal/output/draw"
	"fettle/internal/output/solid"
	"fettle/internal/trade/cavity"
	"fettle/internal/trade/jam"
	"fettle/internal/trade/reach"
)

// ReachRequest asks where media get on a part.
type ReachRequest struct {
	Part  Model
	Media []string // names on the shelf; none: all of them
	Things
	CellMM float64 // 0: chosen
	Out    string  // folder for pictures and values; empty: none
}

// ReachFile finds where media reach, what jams and how edges go. It returns the
// answer and the paths of the files written.
func ReachFile(ctx context.Context, req ReachRequest, say Progress) (*fettle.Reach, []string, error) {
	shelf, err := req.Open()
	if err != nil {
		return nil, nil, err
	}
	media, err := mediaNamed(shelf, req.Media)
	if err != nil {
		return nil, nil, err
	}
	if req.CellMM < 0 || req.CellMM > 0 && req.CellMM < 0.01 {
		return nil, nil, fettle.Errorf(fettle.Invalid, "a grid with cells of %g mm cannot be made; give 0.01 mm or more, or leave --cell out", req.CellMM)
	}
	part, err := LoadPart(ctx, req.Part, PartOptions{Media: shelf.Media, CellMM: req.CellMM}, say)
	if err != nil {
		return nil, nil, err
	}
	found, err := part.reach(ctx, media, say)
	if err != nil {
		return nil, nil, err
	}
	if req.Out == "" {
		return found.doc, nil, nil
	}
	files, err := found.write(req.Out, part, say)
	if err != nil {
		return nil, nil, err
	}
	return found.doc, files, nil
}

// mediaNamed finds media by name, in the order asked for, each once; all of them
// for no names.
func mediaNamed(shelf *fettle.Shelf, names []string) ([]fettle.Media, error) {
	if len(shelf.Media) == 0 {
		return nil, fettle.Errorf(fettle.NotFound, "the shelf holds no media, so there is nothing to ask about; add some to it")
	}
	if len(names) == 0 {
		return shelf.Media, nil
	}
	var out []fettle.Media
	seen := map[string]bool{}
	for _, n := range names {
		m, err := shelf.MediaNamed(n)
		if err != nil {
			return nil, err
		}
		if !seen[m.Name] {
			out = append(out, m)
		}
		seen[m.Name] = true
	}
	return out, nil
}

// reached is the answer with what pictures of it need.
type reached struct {
	doc   *fettle.Reach
	res   *reach.Result
	media []fettle.Media
}

// reach asks all about media on a part.
func (p *Part) reach(ctx context.Context, media []fettle.Media, say Progress) (*reached, error) {
	say.say("finding where media reach on "+p.Survey.File, 0, 2)
	in := reach.Input{Mesh: p.Mesh, Survey: p.Survey, Detail: p.Detail, Void: p.Void, Media: media}
	res, err := reach.Of(ctx, in)
	if err != nil {
		return nil, err
	}
	say.say("trying media in the openings of "+p.Survey.File, 1, 2)
	jams, err := jam.Judge(ctx, p.Survey.Openings, p.Void.Field, media)
	if err != nil {
		return nil, err
	}
	doc := &fettle.Reach{
		File: p.Survey.File, SHA256: p.Survey.SHA256, CellMM: p.Void.Cell, Zones: p.Survey.Zones, Openings: p.Survey.Openings,
		Media: res.Rank(in, jams), Plugs: jam.Plugs(p.Survey.Openings, jams, reach.RealJam),
		Edges: res.Edges, Allowances: res.Allowances, Masks: res.Masks, Warnings: slices.Concat([]string{}, p.Void.Coarse, p.VoidSays, res.Warnings),
	}
	tidyReach(doc)
	return &reached{doc, res, media}, nil
}

// tidyReach rounds the cell as the openings' is, and gives empty lists for none.
func tidyReach(d *fettle.Reach) {
	d.CellMM = math.Round(d.CellMM*1e6) / 1e6
	if d.Plugs == nil {
		d.Plugs = []fettle.Plug{}
	}
	if d.Edges == nil {
		d.Edges = []fettle.EdgeWear{}
	}
	if d.Allowances == nil {
		d.Allowances = []fettle.FaceAllowance{}
	}
	if d.Masks == nil {
		d.Masks = []fettle.Mask{}
	}
	for i := range d.Media {
		if d.Media[i].Leaves == nil {
			d.Media[i].Leaves = []fettle.LeftAsCut{}
		}
		if d.Media[i].Zones == nil {
			d.Media[i].Zones = []fettle.ZoneReach{}
		}
	}
}

// mostPictures is how many media are drawn when all were asked for: the best.
const mostPictures = 4

// write leaves, for the best of the media, the part with its exposure drawn and
// as a mesh with the values at its corners.
func (r *reached) write(dir string, part *Part, say Progress) ([]string, error) {
	if err := makeDir(dir); err != nil {
		return nil, err
	}
	var files []string
	for n, m := range r.doc.Media[:min(mostPictures, len(r.doc.Media))] {
		say.say("drawing where "+m.Name+" reaches", n, min(mostPictures, len(r.doc.Media)))
		values := r.res.Values(r.indexOf(m.Name))
		path := filepath.Join(dir, "reach-"+m.Name+".png")
		if err := r.draw(path, part, m.Name); err != nil {
			return nil, err
		}
		files = append(files, path)
		path = filepath.Join(dir, "reach-"+m.Name+".ply")
		cols := []solid.Values{{Name: "reached_new"}, {Name: "reached_worn"}, {Name: "exposure"}, {Name: "removal"}}
		for _, v := range values {
			for c, x := range [...]float32{v.New, v.Worn, v.Exposure, v.Removal} {
				cols[c].At = append(cols[c].At, x)
			}
		}
		err := WriteFile(path, func(w io.Writer) error {
			return solid.WritePLY(w, r.res.Skin, part.Survey.File+", "+m.Name, cols...)
		})
		if err != nil {
			return nil, err
		}
		files = append(files, path)
	}
	return files, nil
}

func (r *reached) indexOf(name string) int {
	for i, m := range r.media {
		if m.Name == name {
			return i
		}
	}
	panic("work: media that were not asked about")
}

// draw shows the exposure of a part to media from the side that shows and from
// behind.
func (r *reached) draw(path string, part *Part, media string) error {
	n := r.indexOf(media)
	values := r.res.Values(n)
	at := make([]float32, len(values))
	for i, v := range values {
		at[i] = v.Exposure
		if v.New < 0.5 {
			at[i] = -1
		}
	}
	front := draw.FromAbove(part.Detail.Up)
	img, err := closeup.OnPart(r.res.Skin, []draw.View{front.Oblique(), front.Behind().Oblique()}, at, closeup.PartOptions{
		Size: pictureSize * 2 / 3, Views: []string{"the side that shows", "from behind"},
		Caption: fmt.Sprintf("%s: where new pieces reach, and from how many directions", r.media[n].Title),
		Low:     "seldom", High: "as an open face", Out: "not reached",
	})
	if err != nil {
		return err
	}
	return WriteFile(path, func(w io.Writer) error { return png.Encode(w, img) })
}

// measureVoid fills the part's void, and its survey's openings with what the void
// shows of them.
func (p *Part) measureVoid(ctx context.Context, media []fettle.Media, cell float64) error {
	void, openings, says, err := cavity.Find(ctx, cavity.Input{
		Mesh: p.Mesh, Tree: p.Detail.Tree, Survey: p.Survey, Detail: p.Detail, Media: media, CellMM: cell,
	})
	if err != nil {
		return err
	}
	p.Void, p.Survey.Openings, p.VoidSays = void, openings, says
	p.Survey.Warnings = append(p.Survey.Warnings, says...)
	return nil
}
