package work

import (
	"context"
	"path/filepath"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/trade/plug"
)

// PlugRequest asks for a plug for an opening.
type PlugRequest struct {
	Part    Model
	Opening string
	Soft    string // on the shelf; empty: the first
	Things
	Out string
}

// PlugFile makes a plug. It returns the answer and the paths of the files written:
// the solid and a picture of it.
func PlugFile(ctx context.Context, req PlugRequest, say Progress) (*fettle.MadePlug, []string, error) {
	if req.Out != "" {
		if err := solidFile(req.Out); err != nil {
			return nil, nil, err
		}
	}
	shelf, err := req.Open()
	if err != nil {
		return nil, nil, err
	}
	soft, err := shelf.Soft(req.Soft)
	if err != nil {
		return nil, nil, err
	}
	// Openings have the ids that fettle reach gives them, gaps among them.
	part, err := LoadPart(ctx, req.Part, PartOptions{Media: shelf.Media}, say)
	if err != nil {
		return nil, nil, err
	}
	say.say("making a plug for "+req.Opening+" of "+part.Survey.File, 0, 1)
	made, err := plug.Make(ctx, plug.Input{Mesh: part.Mesh, Survey: part.Survey, Detail: part.Detail, Opening: req.Opening, Soft: soft})
	if err != nil {
		return nil, nil, err
	}
	doc := &fettle.MadePlug{
		VolumeMM3: made.Doc.VolumeMM3, Closed: made.Doc.Closed, Plug: made.Doc,
		Fit: fettle.Squeeze{MouthMM: made.Doc.MouthSqueezeMM, TipMM: made.Doc.TipPlayMM},
	}
	if req.Out == "" {
		return doc, nil, nil
	}
	doc.File = filepath.Base(req.Out)
	picture := beside(req.Out, "", ".png")
	return doc, []string{req.Out, picture}, writePlug(req.Out, picture, made)
}

// writePlug leaves a plug and a picture of it.
func writePlug(path, picture string, made plug.Made) error {
	name := "plug for " + made.Doc.Opening + " of " + made.Doc.Part
	if _, err := checked(made.Mesh, name); err != nil {
		return err
	}
	if err := writeSolid(path, made.Mesh, name); err != nil {
		return err
	}
	img, err := draw.Shade(made.Mesh, draw.FromAbove(upward).Oblique(), pictureSize/2)
	if err != nil {
		return err
	}
	return writePNG(picture, img)
}
