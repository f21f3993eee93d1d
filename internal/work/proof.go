package work

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"fettle"
	"fettle/internal/format/intake"
	"fettle/internal/format/nc"
	"fettle/internal/format/surface"
	"fettle/internal/output/closeup"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/proof"
)

// ProofRequest asks for the proof of a program.
type ProofRequest struct {
	Program   string // the NC file
	Part      Model  // without a file: no surface
	SetupFile string // JSON; may be empty
	// Tools are "T1=ball:6" or "T1=ball-6"; they add to the set-up's and win over
	// their cutters.
	Tools    []string
	Mill     string // wins over the set-up's; empty in both: the first on the shelf
	Material string // wins over the set-up's
	Things
	CellUM  float64
	Skip    bool   // the control's block skip switch is on
	Map     string // file for the surface; empty: none
	Display fettle.System
	// Surface, where given, gets the surface that the program leaves, if there is one.
	Surface func(*relief.Map, *fettle.Proof) error
}

// ProveFile proves a program. It returns the proof, which may find the program
// wrong, and the paths of the files written.
func ProveFile(ctx context.Context, req ProofRequest, say Progress) (*fettle.Proof, []string, error) {
	setup, err := OpenSetup(req.SetupFile)
	if err != nil {
		return nil, nil, err
	}
	if err := addTools(&setup, req.Tools); err != nil {
		return nil, nil, err
	}
	if err := setup.Validate(); err != nil {
		return nil, nil, err
	}
	shelf, err := req.Open()
	if err != nil {
		return nil, nil, err
	}
	in := proof.Input{Setup: setup, Shelf: shelf, CellMM: req.CellUM / 1000, Display: req.Display, Progress: say}
	if in.Mill, err = shelf.Mill(either(req.Mill, setup.Mill)); err != nil {
		return nil, nil, err
	}
	if name := either(req.Material, setup.Material); name != "" {
		mat, err := shelf.Material(name)
		if err != nil {
			return nil, nil, err
		}
		in.Material = &mat
	}
	write, err := mapWriter(req.Map, req.Part.File)
	if err != nil {
		return nil, nil, err
	}
	if in.Program, err = readProgram(ctx, req.Program, req.Skip, say); err != nil {
		return nil, nil, err
	}
	if req.Part.File != "" {
		part, err := LoadPart(ctx, req.Part, PartOptions{Fine: true}, say)
		if err != nil {
			return nil, nil, err
		}
		in.Part = &proof.Part{Mesh: part.Mesh, Survey: &part.Survey, Detail: part.Detail}
	}
	p, detail, err := proof.Of(ctx, in)
	if err != nil {
		return nil, nil, err
	}
	p.File = filepath.Base(req.Program)
	if req.Surface != nil && detail.Swept != nil {
		if err := req.Surface(detail.Swept, &p); err != nil {
			return nil, nil, err
		}
	}
	if write == nil {
		return &p, nil, nil
	}
	if detail.Swept == nil {
		return &p, nil, fettle.Errorf(fettle.No, "there is no surface to write to %s: %s", req.Map, whyNone(&p))
	}
	if err := WriteFile(req.Map, func(w io.Writer) error { return write(w, detail.Swept, &p) }); err != nil {
		return nil, nil, err
	}
	return &p, []string{req.Map}, nil
}

func either(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// whyNone is what the proof says about a surface that is not there.
func whyNone(p *fettle.Proof) string {
	for _, f := range p.Findings {
		switch f.Kind {
		case "surface", "zone", "tool", "empty":
			return f.Says
		}
	}
	return "the program cuts nothing of the part"
}

// OpenSetup reads a set-up from a JSON file; an empty path is an empty set-up.
func OpenSetup(path string) (fettle.Setup, error) {
	var s fettle.Setup
	if path == "" {
		return s, nil
	}
	return s, readDocument(path, "set-up", &s)
}

func toolName(n int) string { return "T" + strconv.Itoa(n) }

// addTools puts tools that were given one by one into a set-up.
func addTools(s *fettle.Setup, given []string) error {
	tools := map[string]fettle.SetupTool{}
	for name, t := range s.Tools {
		n, err := fettle.ToolNumber(name)
		if err != nil {
			return err
		}
		if _, twice := tools[toolName(n)]; twice {
			return fettle.Errorf(fettle.Invalid, "tool T%d stands twice in the set-up; leave one of them", n)
		}
		tools[toolName(n)] = t
	}
	for _, g := range given {
		name, cutter, ok := strings.Cut(g, "=")
		if !ok || strings.TrimSpace(cutter) == "" {
			return fettle.Errorf(fettle.Invalid, "tool %q is not understood; give --tool T1=ball:6, flat:10, bull:10:1 or a cutter on the shelf", g)
		}
		n, err := fettle.ToolNumber(name)
		if err != nil {
			return err
		}
		t := tools[toolName(n)]
		t.Cutter = strings.TrimSpace(cutter)
		tools[toolName(n)] = t
	}
	s.Tools = tools
	return nil
}

// readProgram reads an NC file within the limit.
func readProgram(ctx context.Context, path string, skip bool, say Progress) (*nc.Program, error) {
	name := filepath.Base(path)
	say.say("reading "+name, 0, 1)
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fettle.Errorf(fettle.NotFound, "%s is not there; check the path", path)
	case err != nil:
		return nil, fettle.Errorf(fettle.BadFile, "%s cannot be opened: %w", path, cause(err))
	case info.IsDir():
		return nil, fettle.Errorf(fettle.BadFile, "%s is a folder; name a program in it", path)
	case info.Size() > intake.MaxBytes:
		return nil, fettle.Errorf(fettle.BadFile, "%s has %d MB, and %d MB is the most that is read; split the program", name, info.Size()>>20, intake.MaxBytes>>20)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fettle.Errorf(fettle.BadFile, "%s cannot be read: %w", path, cause(err))
	}
	p, err := nc.ReadWith(ctx, data, nc.Options{Skip: skip})
	if err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, badFile(name, err)
	}
	return p, nil
}

// mapWriter chooses how a surface is written, by the file's name, before any
// work is done.
func mapWriter(path, part string) (func(io.Writer, *relief.Map, *fettle.Proof) error, error) {
	if path == "" {
		return nil, nil
	}
	if part == "" {
		return nil, fettle.Errorf(fettle.Invalid, "--map %s needs the part whose surface it shows; give --part too", path)
	}
	switch ext := strings.ToLower(filepath.Ext(path)); ext {
	case ".png":
		return func(w io.Writer, m *relief.Map, p *fettle.Proof) error {
			pic, err := closeup.Light(m, closeup.Options{Whole: true, LayDeg: p.LayDeg, Caption: p.File})
			if err != nil {
				return err
			}
			return pic.PNG(w)
		}, nil
	default:
		if surface.Writable(path) != nil {
			return nil, fettle.Errorf(fettle.Invalid, "--map %s: a file that ends in %q is not written; end it in .x3p, .sdf, .csv or .png", path, ext)
		}
		return func(w io.Writer, m *relief.Map, p *fettle.Proof) error {
			return surface.Write(w, path, m, surface.Info{Creator: "fettle", Comment: "surface left by " + p.File})
		}, nil
	}
}
