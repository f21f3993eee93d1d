package shop

import (
	"context"
	"encoding/json"
	"io"

	"fettle"
	"fettle/internal/work"
)

// SurveyAnswer is where the answer to a survey is stored: the survey as JSON and
// the part as a buffer (see package buffer).
type SurveyAnswer struct {
	Survey string `json:"survey"`
	Mesh   string `json:"mesh"`
}

// AskSurvey asks what a model file is.
func (s *Shop) AskSurvey(ctx context.Context, by, file, units, body string) (fettle.Task, error) {
	a, err := s.argsOf(ctx, file, units, body)
	if err != nil {
		return fettle.Task{}, err
	}
	return s.ask(ctx, fettle.TaskSurvey, by, a)
}

func (s *Shop) survey(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error) {
	a, err := read[modelArgs](args)
	if err != nil {
		return nil, err
	}
	model, done, err := s.modelOf(ctx, a)
	if err != nil {
		return nil, err
	}
	defer done()
	part, err := work.SurveyFile(ctx, model, say)
	if err != nil {
		return nil, err
	}
	var out SurveyAnswer
	if out.Survey, err = s.document(ctx, part.Survey); err != nil {
		return nil, err
	}
	if out.Mesh, err = s.buffer(ctx, part.WriteView); err != nil {
		return nil, err
	}
	return write(out), nil
}

// buffer stores what fill writes.
func (s *Shop) buffer(ctx context.Context, fill func(io.Writer) error) (string, error) {
	r, w := io.Pipe()
	go func() { w.CloseWithError(fill(w)) }()
	b, err := s.store.PutBlob(ctx, r, 4*MostModel)
	r.CloseWithError(err) // lets the writer go where the store gave up
	return b.SHA256, err
}

// ReachAnswer is where the answer to a question of reach is stored: the document,
// and a buffer for each media.
type ReachAnswer struct {
	Reach  string            `json:"reach"`
	Values map[string]string `json:"values"`
}

type reachArgs struct {
	modelArgs
	Shelf string   `json:"shelf_sha256"`
	Media []string `json:"media,omitempty"`
}

// AskReach asks where media get on a part.
func (s *Shop) AskReach(ctx context.Context, by, file, units, body string, media []string) (fettle.Task, error) {
	a, err := s.argsOf(ctx, file, units, body)
	if err != nil {
		return fettle.Task{}, err
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return fettle.Task{}, err
	}
	for _, m := range media {
		if _, err := shelf.MediaNamed(m); err != nil {
			return fettle.Task{}, err
		}
	}
	sha, err := s.document(ctx, shelf)
	if err != nil {
		return fettle.Task{}, err
	}
	return s.ask(ctx, fettle.TaskReach, by, reachArgs{a, sha, media})
}

func (s *Shop) reach(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error) {
	a, err := read[reachArgs](args)
	if err != nil {
		return nil, err
	}
	shelf, err := stored[fettle.Shelf](ctx, s, a.Shelf)
	if err != nil {
		return nil, err
	}
	model, done, err := s.modelOf(ctx, a.modelArgs)
	if err != nil {
		return nil, err
	}
	defer done()
	part, err := work.LoadPart(ctx, model, work.PartOptions{Media: shelf.Media, Whole: true}, say)
	if err != nil {
		return nil, err
	}
	found, err := work.ReachPart(ctx, part, &shelf, a.Media, say)
	if err != nil {
		return nil, err
	}
	out := ReachAnswer{Values: map[string]string{}}
	if out.Reach, err = s.document(ctx, found.Doc); err != nil {
		return nil, err
	}
	for _, m := range found.Media() {
		if out.Values[m], err = s.buffer(ctx, func(w io.Writer) error { return found.WriteView(w, m) }); err != nil {
			return nil, err
		}
	}
	return write(out), nil
}

// ProofAnswer is where the answer to a proof is stored: the document and, where
// there is a part, a picture of the surface that the program leaves.
type ProofAnswer struct {
	Proof   string `json:"proof"`
	Picture string `json:"picture,omitempty"`
	Map     string `json:"map,omitempty"` // the same as a buffer of heights
}

type proofArgs struct {
	modelArgs
	Program string          `json:"program_sha256"`
	Name    string          `json:"program"`
	Setup   json.RawMessage `json:"setup,omitempty"`
	Shelf   string          `json:"shelf_sha256"`
}

// AskProof asks what a program will leave, on a part where a model file is named.
func (s *Shop) AskProof(ctx context.Context, by, file, name string, program io.Reader, setup json.RawMessage) (fettle.Task, error) {
	var a proofArgs
	var err error
	if file != "" {
		if a.modelArgs, err = s.argsOf(ctx, file, "", ""); err != nil {
			return fettle.Task{}, err
		}
	}
	if a.Name = baseName(name); a.Name == "" {
		a.Name = "program.nc"
	}
	if len(setup) > 0 {
		if _, err := read[fettle.Setup](setup); err != nil {
			return fettle.Task{}, err
		}
		a.Setup = setup
	}
	blob, err := s.store.PutBlob(ctx, program, MostModel)
	if err != nil {
		return fettle.Task{}, err
	}
	a.Program = blob.SHA256
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return fettle.Task{}, err
	}
	if a.Shelf, err = s.document(ctx, shelf); err != nil {
		return fettle.Task{}, err
	}
	return s.ask(ctx, fettle.TaskProof, by, a)
}
