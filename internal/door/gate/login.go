package gate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"fettle"
)

// LogIn lets somebody in who gives a passcode: remote is the address they come
// from (http.Request.RemoteAddr), agent what their browser calls itself. The token
// goes into [Gate.Cookie]; it is a new one each time, whatever the browser held
// before.
//
// The error is fettle.Denied for a wrong passcode, and for too many tries, where
// [RetryAfter] says when the next one counts. Both roles' hashes are computed every
// time, and one against nothing where a passcode is not set: the time tells neither
// which roles have one nor whose it nearly was.
func (g *Gate) LogIn(ctx context.Context, remote, passcode, agent string) (token string, role Role, err error) {
	try, err := g.try(remote)
	if err != nil {
		return "", "", err
	}
	token, role, err = g.logIn(ctx, passcode, agent)
	g.tell(ctx, try, role, err)
	return token, role, err
}

func (g *Gate) logIn(ctx context.Context, passcode, agent string) (string, Role, error) {
	if err := g.enter(ctx); err != nil {
		return "", "", err
	}
	defer g.leave()
	s, ok := plain(passcode)
	var role Role
	var text string
	for _, r := range []Role{Hand, Owner} {
		h, kept, set, err := g.kept(ctx, r)
		if err != nil {
			return "", "", err
		}
		if !set {
			h = g.dummy
		}
		if h.matches(s) == 1 && set && ok {
			role, text = r, kept
		}
	}
	if role == "" {
		return "", "", fettle.Errorf(fettle.Denied, "that is not the passcode; try again, or ask the owner")
	}
	g.codes.RLock()
	defer g.codes.RUnlock()
	if _, now, _, err := g.kept(ctx, role); err != nil {
		return "", "", err
	} else if now != text {
		return "", "", fettle.Errorf(fettle.Denied, "the passcode was changed just now; log in with the new one")
	}
	token, err := g.begin(ctx, role, agent)
	return token, role, err
}

// try asks for one try from an address.
func (g *Gate) try(remote string) (*try, error) {
	t, wait := g.tries.begin(remote, g.now())
	if t == nil {
		return nil, tooMany(wait)
	}
	return t, nil
}

// tell counts how a try ended, and logs it.
func (g *Gate) tell(ctx context.Context, t *try, role Role, err error) {
	switch {
	case err == nil:
		t.passed(role)
		g.log.InfoContext(ctx, "came in", "role", role, "from", t.from)
	case fettle.CodeOf(err) == fettle.Denied:
		g.log.WarnContext(ctx, "not let in", "from", t.from, "why", err.Error())
	default: // our fault, or gone meanwhile: not a failure of theirs
		t.forget()
	}
}

// enter waits for a place among those whose passcode is being hashed.
func (g *Gate) enter(ctx context.Context) error {
	select {
	case g.busy <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (g *Gate) leave() { <-g.busy }

// tooSoon is the cause of an error that goes away by waiting.
type tooSoon struct{ wait time.Duration }

func (e *tooSoon) Error() string { return fmt.Sprintf("gate: too many tries, %s to wait", e.wait) }

func tooMany(wait time.Duration) error {
	s := math.Ceil(wait.Seconds())
	in := fmt.Sprintf("%.0f s", s)
	if s > 120 {
		in = fmt.Sprintf("%.0f min", math.Ceil(s/60))
	}
	return &fettle.Error{Code: fettle.Denied, Message: "too many tries; try again in " + in, Err: &tooSoon{wait}}
}

// RetryAfter is how long to wait after an error that waiting helps against, for a
// Retry-After header; false for any other.
func RetryAfter(err error) (time.Duration, bool) {
	var e *tooSoon
	if errors.As(err, &e) {
		return e.wait, true
	}
	return 0, false
}
