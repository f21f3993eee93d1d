package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"fettle"
)

// tries is how often an edit is tried that came in another's way.
const tries = 12

// errCommit is the error of an edit that was done but for its commit.
var errCommit = errors.New("commit")

// errRaced means that another edit was faster; what it did shows at the next try.
var errRaced = errors.New("another edit was faster")

// Apply does an edit and returns the records as they are then, in the edit's order.
// Changes happen in that order, so that a record may be changed twice; where links
// lead is looked at last, so that records made together may lead to each other.
//
// A link must lead to a record that is there and not deleted when it is made. It
// stays when that record is deleted later, and is not asked about again until it is
// changed or the record that has it comes back from deletion.
//
// Undo goes back step by step, as in an editor: after two alterations two undos give
// what was made first. Undo is itself a revision and takes nothing out of the
// history, but it is no step to go back to: an undo of an undo goes one step further,
// and what was undone is done again by altering.
func (s *Store) Apply(ctx context.Context, e fettle.Edit) ([]fettle.Record, error) {
	if s.readOnly {
		return nil, s.denied()
	}
	changes, err := judge(e)
	if err != nil {
		return nil, err
	}
	asked := ""
	if e.Key != "" {
		if asked = e.Asked; asked == "" {
			asked = fingerprint(changes)
		}
	}
	for try := 1; ; try++ {
		out, err := s.applyOnce(ctx, e, changes, asked)
		if err == nil {
			return out, nil
		}
		raced := errors.Is(err, errRaced) || again(err) || taken(err)
		// Whether an edit happened that was cut off in its last moment, only its key
		// can tell.
		cut := lost(err) && try < s.lostTries() && (e.Key != "" || !errors.Is(err, errCommit))
		if !raced && !cut || ctx.Err() != nil {
			return nil, s.fail(ctx, err)
		}
		if try == tries {
			return nil, &fettle.Error{Code: fettle.Conflict, Message: "others change the same records at the same time; try again in a moment", Err: err}
		}
		s.log.Debug("edit tried again", "try", try, "err", err)
		// Two that met once should not meet again.
		select {
		case <-ctx.Done():
		case <-time.After(time.Duration(rand.Int64N(int64(min(try*try, 50)) * int64(time.Millisecond)))):
		}
	}
}

// applyOnce is one try in one transaction.
func (s *Store) applyOnce(ctx context.Context, e fettle.Edit, changes []fettle.Change, asked string) (_ []fettle.Record, err error) {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			_ = tx.Rollback()
		}
	}()
	d := &doing{tx: tx, at: instant(micros(s.now())), by: e.By, now: map[string]*held{}}
	if e.Key != "" {
		// Who comes second with a key waits here for the first.
		n, err := d.exec(ctx, `INSERT INTO edit (edit_key, asked, records, made_us) VALUES ($1, $2, '', $3) ON CONFLICT (edit_key) DO NOTHING`,
			e.Key, asked, micros(d.at))
		if err != nil {
			return nil, err
		}
		if n == 0 {
			out, err := answered(ctx, tx, e.Key, asked)
			if err == nil {
				_ = tx.Rollback() // nothing was written
			}
			return out, err
		}
	}
	out := make([]fettle.Record, len(changes))
	for i, c := range changes {
		if out[i], err = d.change(ctx, c); err != nil {
			return nil, err
		}
	}
	if err := d.settle(ctx); err != nil {
		return nil, err
	}
	if e.Key != "" {
		refs := make([]revisionRef, len(out))
		for i, r := range out {
			refs[i] = revisionRef{r.ID, r.Rev}
		}
		if _, err := d.exec(ctx, `UPDATE edit SET records = $1 WHERE edit_key = $2`, mustJSON(refs), e.Key); err != nil {
			return nil, err
		}
	}
	if err := tx.Commit(); err != nil {
		return nil, fmt.Errorf("%w: %w", errCommit, err)
	}
	return out, nil
}

// revisionRef is one revision of one record.
type revisionRef struct {
	ID  string `json:"id"`
	Rev int64  `json:"rev"`
}

// answered is what an edit answered when it was asked for first.
func answered(ctx context.Context, tx *sql.Tx, key, asked string) ([]fettle.Record, error) {
	var was, records string
	switch err := tx.QueryRowContext(ctx, `SELECT asked, records FROM edit WHERE edit_key = $1`, key).Scan(&was, &records); {
	case errors.Is(err, sql.ErrNoRows):
		return nil, errRaced // the first gave up
	case err != nil:
		return nil, err
	}
	if was != asked {
		return nil, fettle.Errorf(fettle.Conflict, "the key %s was used for another edit; take a new key for a new edit", show(key))
	}
	var refs []revisionRef
	if err := json.Unmarshal([]byte(records), &refs); err != nil {
		return nil, fmt.Errorf("records of edit %q: %w", key, err)
	}
	out := make([]fettle.Record, len(refs))
	for i, ref := range refs {
		k, err := scan(tx.QueryRowContext(ctx, columns+` WHERE r.id = $1 AND v.rev = $2`, ref.ID, ref.Rev))
		if err != nil {
			return nil, err
		}
		out[i] = k.Record
	}
	return out, nil
}

// newID is a UUID of version 7; ids of one process rise.
func newID() (string, error) {
	u, err := uuid.NewV7()
	if err != nil {
		return "", fmt.Errorf("no random bytes for an id: %w", err)
	}
	return u.String(), nil
}

func mustJSON(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic("store: no JSON: " + err.Error())
	}
	return string(b)
}
