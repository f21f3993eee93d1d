// Package gate decides who comes in by the shop's web door: passcodes, sessions,
// invites, the headers that keep other pages out, certificates. [New] gives a
// [Gate]; [Gate.Wrap] stands before everything that is served, and [From] says in a
// handler who asks. What a role may do is the handler's to decide.
//
// The address that a request comes from is the connection's own. What a proxy
// writes about where a request came from is not believed, because whoever reaches
// the shop without the proxy can write it too; behind one, all tries to log in
// count as one address's.
package gate

import (
	"context"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"fettle"
)

// Role is what somebody is in the shop; "" is nobody.
type Role string

// The roles.
const (
	Owner Role = "owner" // the desk: everything
	Hand  Role = "hand"  // the mill and the sink: runs and readings
)

func (r Role) known() bool { return r == Owner || r == Hand }

func (r Role) must() {
	if !r.known() {
		panic("gate: there is no role " + string(r))
	}
}

// Keep is where sessions and passcodes are kept. A session that is not there is
// false, a secret that is not there is "".
type Keep interface {
	SaveSession(ctx context.Context, s fettle.Session) error
	SessionOf(ctx context.Context, tokenSHA string) (fettle.Session, bool, error)
	SeenSession(ctx context.Context, tokenSHA string, at time.Time) error
	DropSession(ctx context.Context, tokenSHA string) error
	DropSessions(ctx context.Context, role string) error
	Secret(ctx context.Context, name string) (string, error)
	SetSecret(ctx context.Context, name, value string) error
}

// Options of a gate.
type Options struct {
	Keep Keep
	// Open lets everyone in as the owner who asks on this very machine, for as long as
	// no passcode is set.
	Open bool
	// Hosts are the names and addresses, without ports, that the shop may be called
	// by, besides this machine's own: localhost, and the address that a connection
	// came in at.
	Hosts []string
	// Secure says that browsers come over TLS, by this server's or a proxy's.
	Secure bool
	// HSTS tells browsers to come to this name by TLS only, for half a year. It is
	// for a certificate of the user's own that browsers trust: after a self-made one
	// nobody could click past the warning any more. And it holds for every port of
	// the name (RFC 6797, section 8.3), so that other services there in plain HTTP
	// are cut off; therefore it is asked for, never assumed.
	HSTS bool
	Now  func() time.Time
	Log  *slog.Logger
}

// Gate lets people in.
type Gate struct {
	keep   Keep
	open   bool
	hosts  map[string]bool
	secure bool
	hsts   bool
	now    func() time.Time
	log    *slog.Logger

	cross *http.CrossOriginProtection
	cost  cost // of a new passcode's hash
	dummy phc  // what is compared with where no passcode is set
	busy  chan struct{}
	tries *tries

	// codes is held for writing while a passcode changes and its sessions go, for
	// reading while a session is made: none is made with a passcode that was changed
	// meanwhile.
	codes   sync.RWMutex
	invites invites
	seen    seen
}

// atOnce is how many logins are worked on at a time; each takes the memory of one
// hash.
const atOnce = 2

// New makes a gate. The error says which of the hosts is none.
func New(o Options) (*Gate, error) { return newGate(o, strong) }

func newGate(o Options, c cost) (*Gate, error) {
	if o.Keep == nil {
		panic("gate: New without a Keep")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	hosts, err := hostSet(o.Hosts)
	if err != nil {
		return nil, err
	}
	return &Gate{
		keep: o.Keep, open: o.Open, hosts: hosts, secure: o.Secure, hsts: o.HSTS && o.Secure, now: o.Now, log: o.Log,
		cross: http.NewCrossOriginProtection(),
		cost:  c, dummy: noHash(c),
		busy: make(chan struct{}, atOnce), tries: newTries(),
	}, nil
}
