package work

import (
	"context"
	"image/png"
	"io"
	"path/filepath"

	"fettle/internal/output/draw"
	"fettle/internal/output/paper"
)

// write leaves a plan's files in a folder: plan.json, traveler.pdf, the plans of the
// finishes beside it in others/, pictures of the part, of the face after each step and
// of each finish, where the media of each charge reach, and what must be made first in
// solids/. With a promise also promise.json and promise.ics, and what goes to the
// customer: offers.html, offers.pdf.
func (d *Planned) write(ctx context.Context, dir string, size paper.Size, link func(int) string, say Progress) error {
	part, plan := d.part, d.Plan
	say.say("writing the papers of "+part.Survey.File, 0, 1)
	if err := makeDir(dir); err != nil {
		return err
	}
	made, err := makeThings(ctx, dir, part, plan, d.shelf, size, say)
	if err != nil {
		return err
	}
	put := func(name string, fill func(path string) error) {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err == nil {
			if err = makeDir(filepath.Dir(path)); err == nil {
				err = fill(path)
			}
		}
		d.Files = append(d.Files, path)
	}
	put("plan.json", func(path string) error { return writeJSON(path, plan) })
	put("traveler.pdf", func(path string) error {
		pdf, err := paper.Traveler(plan, part.Mesh, paper.Options{Size: size, Display: plan.Brief.Display, Link: link, Promise: d.Promise, Cutters: d.shelf.Cutters})
		if err != nil {
			return err
		}
		return WriteBytes(path, pdf)
	})
	for _, o := range d.Others {
		put("others/"+fileName(o.Look.Name)+".json", func(path string) error { return writeJSON(path, o) })
	}
	if err != nil {
		return err
	}
	picture, err := writePicture(dir, part)
	if err != nil {
		return err
	}
	say.say("drawing the surface of "+part.Survey.File, 0, 1)
	closeups, err := writeCloseups(ctx, dir, part, plan, d.shelf)
	if err != nil {
		return err
	}
	strip, err := writeStrip(ctx, dir, plan)
	if err != nil {
		return err
	}
	likes, files, err := writeLikenesses(ctx, dir, d.finishes())
	if err != nil {
		return err
	}
	d.Files = append(append(append(append(d.Files, picture), closeups...), strip...), files...)
	drawn := map[string]bool{}
	for _, c := range plan.Charges {
		if d.found == nil || drawn[c.Media] {
			continue
		}
		drawn[c.Media] = true
		path := filepath.Join(dir, "pictures", "reach-"+c.Media+".png")
		if err := d.found.draw(path, part, c.Media); err != nil {
			return err
		}
		d.Files = append(d.Files, path)
	}
	d.Files = append(d.Files, made...)
	return d.writeOffers(ctx, dir, size, picture, likes)
}

// pictureSize is the longer side of a picture in pixels.
const pictureSize = 900

// writePicture leaves a shaded view of the part in pictures/part.png.
func writePicture(dir string, part *Part) (string, error) {
	img, err := draw.Shade(part.Mesh, draw.FromAbove(part.Detail.Up).Oblique(), pictureSize)
	if err != nil {
		return "", err
	}
	if err := makeDir(filepath.Join(dir, "pictures")); err != nil {
		return "", err
	}
	path := filepath.Join(dir, "pictures", "part.png")
	return path, WriteFile(path, func(w io.Writer) error { return png.Encode(w, img) })
}
