package shop

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"

	"fettle"
	"fettle/internal/work"
)

// Handlers answer the questions of the queue.
func (s *Shop) Handlers() map[fettle.TaskKind]Handler {
	return map[fettle.TaskKind]Handler{
		fettle.TaskSurvey: s.survey,
		fettle.TaskPlan:   s.plan,
		fettle.TaskReach:  s.reach,
		fettle.TaskProof:  s.proof,
		fettle.TaskLearn:  s.learn,
		fettle.TaskCoarse: s.coarse,
		fettle.TaskPocket: s.pocket,
	}
}

// ask puts a question whose answer depends on its arguments and on this program
// alone. Without a queue it is answered on the spot.
func (s *Shop) ask(ctx context.Context, kind fettle.TaskKind, by string, args any) (fettle.Task, error) {
	return s.put(ctx, s.question(kind, by, args))
}

// askNow asks what is answered by how things are when the work begins.
func (s *Shop) askNow(ctx context.Context, kind fettle.TaskKind, by string, args any) (fettle.Task, error) {
	q := s.question(kind, by, args)
	q.Now = true
	return s.put(ctx, q)
}

func (s *Shop) question(kind fettle.TaskKind, by string, args any) fettle.Question {
	body := write(args)
	return fettle.Question{Kind: kind, Key: hash([]byte(s.program), []byte(kind), body), Args: body, By: by}
}

func (s *Shop) put(ctx context.Context, q fettle.Question) (fettle.Task, error) {
	if s.tasks != nil {
		return s.tasks.Ask(ctx, q)
	}
	t := fettle.Task{Kind: q.Kind, Key: q.Key, Args: q.Args, By: q.By, State: fettle.Done, Attempt: 1, Made: s.now()}
	answer, err := s.Handlers()[q.Kind](ctx, q.Args, s.say)
	if err != nil {
		return fettle.Task{}, err
	}
	t.Result = answer
	return t, nil
}

// hash is the SHA-256 of parts that are kept apart.
func hash(parts ...[]byte) string {
	h := sha256.New()
	for _, p := range parts {
		sum := sha256.Sum256(p)
		h.Write(sum[:])
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Saying has the work that is done on the spot tell how far it is.
func (s *Shop) Saying(say work.Progress) *Shop {
	c := *s
	c.say = say
	return &c
}

// Queued has heavy work asked of a queue instead of done on the spot.
func (s *Shop) Queued(t Tasks) *Shop {
	c := *s
	c.tasks = t
	return &c
}

// document stores a document and returns its SHA-256.
func (s *Shop) document(ctx context.Context, v any) (string, error) {
	b, err := s.store.PutBlob(ctx, bytes.NewReader(write(v)), maxDocument)
	return b.SHA256, err
}

// maxDocument bounds what is stored as one document.
const maxDocument = 256 << 20

// stored reads a document back.
func stored[T any](ctx context.Context, s *Shop, sha string) (T, error) {
	var v T
	f, _, err := s.store.OpenBlob(ctx, sha)
	if err != nil {
		return v, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxDocument))
	if err != nil {
		return v, err
	}
	return read[T](data)
}

// snapshot stores the shelf and the log as they are now. The log is empty where
// nothing teaches.
func (s *Shop) snapshot(ctx context.Context) (shelf, log string, err error) {
	now, err := s.Shelf(ctx)
	if err != nil {
		return "", "", err
	}
	if shelf, err = s.document(ctx, now); err != nil {
		return "", "", err
	}
	book, err := s.Logbook(ctx)
	if err != nil {
		return "", "", err
	}
	if book = teaching(book); len(book.Runs) == 0 {
		return shelf, "", nil
	}
	log, err = s.document(ctx, book)
	return shelf, log, err
}

// takeUp reads a snapshot back.
func (s *Shop) takeUp(ctx context.Context, shelf, log string) (*fettle.Shelf, *fettle.Logbook, error) {
	sh, err := stored[fettle.Shelf](ctx, s, shelf)
	if err != nil {
		return nil, nil, err
	}
	var book fettle.Logbook
	if log != "" {
		if book, err = stored[fettle.Logbook](ctx, s, log); err != nil {
			return nil, nil, err
		}
	}
	return &sh, &book, nil
}

// answerOf reads what a handler answered.
func answerOf[T any](t fettle.Task) (T, error) {
	var v T
	return v, json.Unmarshal(t.Result, &v)
}
