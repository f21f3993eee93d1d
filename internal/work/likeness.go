package work

import (
	"context"
	"fmt"
	"image"
	"image/png"
	"io"
	"path"
	"path/filepath"
	"strings"

	"fettle"
	"fettle/internal/output/closeup"
	"fettle/internal/output/tongue"
	"fettle/internal/trade/grain"
)

// The piece of a face that is shown, mm, and its picture's width in pixels.
const (
	likeWideMM, likeHighMM = 3.0, 2.0
	likeWidthPX            = 600
)

// writeStrip leaves a close-up of the judged face after each step of the route, all
// under one lamp and at one exposure, one below the other and each by itself.
func writeStrip(ctx context.Context, dir string, plan *fettle.Plan) ([]string, error) {
	var panels []closeup.Panel
	var names []string
	judged := ""
	for i := len(plan.Route) - 1; i >= 0 && judged == ""; i-- {
		judged = plan.Route[i].Zone
	}
	say := plan.Brief.Display.Height
	for i, s := range plan.Route {
		if s.Zone != judged || s.Kind == fettle.StepWash || s.Kind == fettle.StepInspect {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		m, err := grain.Surface(s, grain.Patch{WideMM: likeWideMM, HighMM: likeHighMM})
		if err != nil {
			return nil, err
		}
		panels = append(panels, closeup.Panel{Map: m, Caption: fmt.Sprintf("%d %s: Ra %s", i+1, s.Key, say(s.RaUM.Value))})
		names = append(names, fmt.Sprintf("step-%02d.png", i+1))
	}
	return writePanels(dir, plan, panels, names, "strip.png")
}

// likeness is what a finish is expected to look like, close up.
type likeness struct{ look, file string }

// writeLikenesses leaves a close-up of each finish as it comes out, all under one lamp
// and at one exposure, so that what looks smoother is.
func writeLikenesses(ctx context.Context, dir string, plans []*fettle.Plan) ([]likeness, []string, error) {
	var panels []closeup.Panel
	var names []string
	var out []likeness
	for _, pl := range plans {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		m, err := grain.Surface(pl.Route[len(pl.Route)-1], grain.Patch{WideMM: likeWideMM, HighMM: likeHighMM})
		if err != nil {
			return nil, nil, err
		}
		name := path.Base(LikenessFile(pl.Look.Name))
		panels = append(panels, closeup.Panel{Map: m, Caption: pl.Look.Title})
		names = append(names, name)
		out = append(out, likeness{pl.Look.Name, filepath.Join(dir, "pictures", name)})
	}
	files, err := writePanels(dir, plans[0], panels, names, "")
	return out, files, err
}

// writePanels leaves panels as pictures of their own, and all of them in one where it
// has a name.
func writePanels(dir string, plan *fettle.Plan, panels []closeup.Panel, names []string, whole string) ([]string, error) {
	if len(panels) == 0 {
		return nil, nil
	}
	pic, at, err := closeup.Strip(panels, likeOptions(plan), true)
	if err != nil {
		return nil, err
	}
	if err := makeDir(filepath.Join(dir, "pictures")); err != nil {
		return nil, err
	}
	var files []string
	put := func(name string, img image.Image) error {
		file := filepath.Join(dir, "pictures", name)
		files = append(files, file)
		return WriteFile(file, func(w io.Writer) error { return png.Encode(w, img) })
	}
	if whole != "" {
		if err := put(whole, pic.Paletted); err != nil {
			return nil, err
		}
	}
	for i, r := range at {
		if err := put(names[i], pic.SubImage(r)); err != nil {
			return nil, err
		}
	}
	return files, nil
}

// likeOptions are the lamp, the scale and the metal of the close-ups of a plan.
func likeOptions(plan *fettle.Plan) closeup.Options {
	along, from := 0.0, 60.0 // both lays show
	return closeup.Options{
		LayDeg: &along, FromDeg: &from, Tint: closeup.TintOf(plan.Material.Class), Display: plan.Brief.Display,
		Width: likeWidthPX, Height: int(likeWidthPX * likeHighMM / likeWideMM), WideMM: likeWideMM * likeShown,
	}
}

// likeShown is how much of a piece a picture shows: its rim is left out.
const likeShown = 0.98

// fileName is a name that any system takes for a file's.
func fileName(s string) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r == '.':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, s), "-.")
}

// LikenessFile is the name of the close-up of a finish among a plan's files.
func LikenessFile(look string) string { return "pictures/finish-" + fileName(look) + ".png" }

// LikenessSays is what the close-up of a finish shows.
func LikenessSays(b fettle.Brief) string {
	return tongueOf(b).Say("A piece of the face %s wide as it is expected to come out: computed, under a low lamp, all finishes in the same light.", b.Display.Length(likeWideMM))
}

// PartSays is what the picture of the part shows.
func PartSays(b fettle.Brief) string { return tongueOf(b).Say("The part, from its show side.") }

// PhotoSays is what a photo shows of which nobody said it.
func PhotoSays(b fettle.Brief) string {
	return tongueOf(b).Say("A photo of a piece with this finish, made in this shop in the same metal.")
}

// tongueOf is the language of a brief's papers.
func tongueOf(b fettle.Brief) *tongue.Tongue {
	t, err := tongue.Of(b.Language)
	if err != nil {
		return tongue.English()
	}
	return t
}
