package gate

import (
	"context"

	"fettle"
)

// Who is who asks. The zero value is nobody.
type Who struct {
	Role Role
	// Session is what they came in with; zero at an open gate.
	Session fettle.Session
}

// May reports whether who asks may do what a role may: the owner may do all that
// a hand may.
func (w Who) May(r Role) bool {
	r.must()
	return w.Role == Owner || w.Role == r
}

type whoKey struct{}

// From is who asks, in a handler behind [Gate.Wrap]; nobody elsewhere.
func From(ctx context.Context) Who {
	w, _ := ctx.Value(whoKey{}).(Who)
	return w
}

// With puts who asks in a context, as [Gate.Wrap] does; for tests of handlers.
func With(ctx context.Context, w Who) context.Context {
	return context.WithValue(ctx, whoKey{}, w)
}
