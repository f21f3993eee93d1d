package gate

import (
	"context"
	"slices"
	"strings"
	"sync"
	"time"

	"fettle"
)

const (
	invitedFor  = 10 * time.Minute
	mostInvites = 20
)

// invite lets one browser in, once.
type invite struct {
	sha  string
	role Role
	ends time.Time
}

// invites are kept in memory: they are gone with the program, and that is soon
// enough.
type invites struct {
	mu   sync.Mutex
	live []invite // the oldest first
}

func (v *invites) add(i invite, now time.Time) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.live = slices.DeleteFunc(v.live, func(o invite) bool { return !now.Before(o.ends) })
	v.live = append(v.live, i)
	if over := len(v.live) - mostInvites; over > 0 {
		v.live = slices.Delete(v.live, 0, over)
	}
}

// take takes an invite out, so that it works once.
func (v *invites) take(sha string, now time.Time) (invite, bool) {
	v.mu.Lock()
	defer v.mu.Unlock()
	// Digests are compared: how long that takes says nothing about a token.
	at := slices.IndexFunc(v.live, func(i invite) bool { return i.sha == sha })
	if at < 0 {
		return invite{}, false
	}
	i := v.live[at]
	v.live = slices.Delete(v.live, at, at+1)
	return i, now.Before(i.ends)
}

func (v *invites) drop(r Role) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.live = slices.DeleteFunc(v.live, func(i invite) bool { return i.role == r })
}

// Invite makes an invite for whoever reads it off the desk's screen within ten
// minutes; it works once, and does not outlive the program. Past twenty the oldest
// is withdrawn. [InviteURL] says where to put it.
func (g *Gate) Invite(ctx context.Context, r Role) (token string) {
	r.must()
	token = newToken(16)
	now := g.now()
	g.invites.add(invite{sha: digest(token), role: r, ends: now.Add(invitedFor)}, now)
	g.log.InfoContext(ctx, "invite made", "role", r)
	return token
}

// InviteURL is the address that a phone opens: the token stands behind the #, which
// browsers keep to themselves. In the path or the query it would be sent with the
// request and land in logs, and whatever looks a link up before a person opens it
// would use it up. The page there posts it to where [Gate.Accept] is asked, and
// takes it out of the address bar.
func InviteURL(base, token string) string {
	return strings.TrimRight(base, "/") + "/#invite=" + token
}

// Accept lets in who brings an invite; arguments and error are as for [Gate.LogIn].
func (g *Gate) Accept(ctx context.Context, remote, token, agent string) (session string, role Role, err error) {
	try, err := g.try(remote)
	if err != nil {
		return "", "", err
	}
	session, role, err = g.accept(ctx, token, agent)
	g.tell(ctx, try, role, err)
	return session, role, err
}

func (g *Gate) accept(ctx context.Context, token, agent string) (string, Role, error) {
	g.codes.RLock()
	defer g.codes.RUnlock()
	now := g.now()
	i, ok := g.invites.take(digest(token), now)
	if !ok {
		return "", "", fettle.Errorf(fettle.Denied, "this invite was used, or is older than %.0f min; show a new code at the desk", invitedFor.Minutes())
	}
	session, err := g.begin(ctx, i.role, agent)
	if err != nil {
		g.invites.add(i, now) // it was not used after all
		return "", "", err
	}
	return session, i.role, nil
}
