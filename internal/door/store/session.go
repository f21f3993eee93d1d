package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"fettle"
)

// SaveSession keeps a session, or replaces the one with its token. Sessions that
// have ended are cleared away with it.
func (s *Store) SaveSession(ctx context.Context, v fettle.Session) error {
	if s.readOnly {
		return s.denied()
	}
	for _, text := range []string{v.Token, v.Role, v.Agent} {
		if err := goodText("a session's text", text, 1000); err != nil {
			return err
		}
	}
	if err := s.exec(ctx, `DELETE FROM session WHERE ends_us <> 0 AND ends_us < $1`, micros(s.now())); err != nil {
		return err
	}
	return s.exec(ctx, `INSERT INTO session (token, role, made_us, seen_us, ends_us, agent) VALUES ($1, $2, $3, $4, $5, $6)
ON CONFLICT (token) DO UPDATE SET role = excluded.role, made_us = excluded.made_us, seen_us = excluded.seen_us, ends_us = excluded.ends_us, agent = excluded.agent`,
		v.Token, v.Role, micros(v.Made), micros(v.Seen), micros(v.Ends), v.Agent)
}

// SessionOf is the session with a token, ended or not, and whether there is one.
func (s *Store) SessionOf(ctx context.Context, tokenSHA string) (fettle.Session, bool, error) {
	if !isSHA(tokenSHA) {
		return fettle.Session{}, false, nil
	}
	v := fettle.Session{Token: tokenSHA}
	var made, seen, ends int64
	err := s.once(ctx, func() error {
		return s.ask.QueryRowContext(ctx, `SELECT role, made_us, seen_us, ends_us, agent FROM session WHERE token = $1`, tokenSHA).
			Scan(&v.Role, &made, &seen, &ends, &v.Agent)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return fettle.Session{}, false, nil
	}
	if err != nil {
		return fettle.Session{}, false, err
	}
	v.Made, v.Seen, v.Ends = instant(made), instant(seen), instant(ends)
	return v, true, nil
}

// SeenSession notes when a session was last seen; a time before the noted one
// changes nothing.
func (s *Store) SeenSession(ctx context.Context, tokenSHA string, at time.Time) error {
	return s.change(ctx, `UPDATE session SET seen_us = $2 WHERE token = $1 AND seen_us < $2`, tokenSHA, micros(at))
}

// DropSession ends a session; one that is not there is no error.
func (s *Store) DropSession(ctx context.Context, tokenSHA string) error {
	return s.change(ctx, `DELETE FROM session WHERE token = $1`, tokenSHA)
}

// DropSessions ends all sessions of a role, or with an empty role all.
func (s *Store) DropSessions(ctx context.Context, role string) error {
	return s.change(ctx, `DELETE FROM session WHERE role = $1 OR $1 = ''`, role)
}

// change runs a statement on sessions whose first argument is a text.
func (s *Store) change(ctx context.Context, text string, args ...any) error {
	if s.readOnly {
		return s.denied()
	}
	if err := goodText("a session's text", args[0].(string), 1000); err != nil {
		return err
	}
	return s.exec(ctx, text, args...)
}

// Secret is what is kept under a name; empty if nothing is.
func (s *Store) Secret(ctx context.Context, name string) (string, error) {
	if err := goodText("the name of a secret", name, maxName); err != nil {
		return "", err
	}
	var value string
	err := s.once(ctx, func() error {
		return s.ask.QueryRowContext(ctx, `SELECT value FROM secret WHERE name = $1`, name).Scan(&value)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return value, err
}

// SetSecret keeps a value under a name, in place of what was kept there.
func (s *Store) SetSecret(ctx context.Context, name, value string) error {
	if s.readOnly {
		return s.denied()
	}
	if err := goodText("the name of a secret", name, maxName); err != nil {
		return err
	}
	if err := goodText("a secret", value, maxBody); err != nil {
		return err
	}
	return s.exec(ctx, `INSERT INTO secret (name, value, changed_us) VALUES ($1, $2, $3)
ON CONFLICT (name) DO UPDATE SET value = excluded.value, changed_us = excluded.changed_us`, name, value, micros(s.now()))
}
