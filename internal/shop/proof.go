package shop

import (
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"

	"fettle"
	"fettle/internal/shape/relief"
	"fettle/internal/work"
)

func (s *Shop) proof(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error) {
	a, err := read[proofArgs](args)
	if err != nil {
		return nil, err
	}
	shelf, err := stored[fettle.Shelf](ctx, s, a.Shelf)
	if err != nil {
		return nil, err
	}
	program, done, err := s.checkOut(ctx, a.Program, a.Name)
	if err != nil {
		return nil, err
	}
	defer done()
	dir, err := os.MkdirTemp(s.store.Scratch(), "proof-*")
	if err != nil {
		return nil, noRoom(err)
	}
	defer os.RemoveAll(dir)
	var out ProofAnswer
	req := work.ProofRequest{Program: program, Things: work.Things{Shelf: &shelf}}
	if len(a.Setup) > 0 {
		req.SetupFile = filepath.Join(dir, "set-up.json")
		if err := os.WriteFile(req.SetupFile, a.Setup, 0o600); err != nil {
			return nil, noRoom(err)
		}
	}
	if a.Model != "" {
		model, done, err := s.modelOf(ctx, a.modelArgs)
		if err != nil {
			return nil, err
		}
		defer done()
		req.Part, req.Map = model, filepath.Join(dir, "surface.png")
		req.Surface = func(m *relief.Map, p *fettle.Proof) (err error) {
			out.Map, err = s.buffer(ctx, func(w io.Writer) error { return work.WriteMap(w, m, p) })
			return err
		}
	}
	// Without a surface to draw the proof is an answer all the same.
	p, files, err := work.ProveFile(ctx, req, say)
	if err != nil && (p == nil || fettle.CodeOf(err) != fettle.No) {
		return nil, err
	}
	if out.Proof, err = s.document(ctx, p); err != nil {
		return nil, err
	}
	if len(files) > 0 {
		f, err := s.keepFile(ctx, dir, files[0])
		if err != nil {
			return nil, err
		}
		out.Picture = f.SHA256
	}
	return write(out), nil
}
