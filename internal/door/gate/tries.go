package gate

import (
	"net/netip"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// How often somebody may try to log in.
const (
	triesAtOnce  = 5               // from one address
	triesEvery   = 5 * time.Second // and one more after each of these
	allAtOnce    = 30              // from all addresses together
	allEvery     = time.Second
	failuresFree = 9                // failures in a row without a further wait
	firstWait    = 15 * time.Second // after the next one; doubled with each
	longestWait  = 15 * time.Minute
	forgottenIn  = time.Hour // without a try
	mostCallers  = 4096      // addresses that are remembered
)

// tries counts tries to log in by address. An IPv6 caller counts as its /64, of
// which a single machine may take any address. When too many addresses are
// remembered, all others count as one.
type tries struct {
	mu    sync.Mutex
	known map[netip.Prefix]*caller
	rest  *caller
	all   *rate.Limiter
	swept time.Time
}

type caller struct {
	lim    *rate.Limiter
	failed int       // in a row, those under way too
	until  time.Time // the wait after failures
	used   time.Time
}

func newCaller() *caller {
	return &caller{lim: rate.NewLimiter(rate.Every(triesEvery), triesAtOnce)}
}

func newTries() *tries {
	return &tries{known: map[netip.Prefix]*caller{}, rest: newCaller(), all: rate.NewLimiter(rate.Every(allEvery), allAtOnce)}
}

// try is one try under way. It counts as failed until it is told otherwise, so that
// many at once do not slip under the count.
type try struct {
	of     *tries
	caller *caller
	from   string
}

// begin allows a try, or returns nil and how long to wait.
func (t *tries) begin(remote string, now time.Time) (*try, time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	addr, from := address(remote)
	c := t.find(from, now)
	if wait := c.until.Sub(now); wait > 0 {
		return nil, wait
	}
	if wait := delay(c.lim, now); wait > 0 {
		return nil, wait
	}
	// The flood from elsewhere does not lock out who sits at this machine.
	if !addr.IsLoopback() {
		if wait := delay(t.all, now); wait > 0 {
			return nil, wait
		}
		t.all.AllowN(now, 1)
	}
	c.lim.AllowN(now, 1)
	if now.Sub(c.used) > forgottenIn {
		c.failed = 0
	}
	c.used = now
	c.failed++
	if n := c.failed - failuresFree; n > 0 {
		c.until = now.Add(longestWait)
		if n < 10 {
			c.until = now.Add(min(longestWait, firstWait<<(n-1)))
		}
	}
	return &try{of: t, caller: c, from: from.String()}, 0
}

// passed ends a try that succeeded. Only the owner's success forgives failures:
// else whoever knows the hand's passcode could guess at the owner's for ever, and
// log in between.
func (t *try) passed(r Role) {
	if r != Owner {
		t.forget()
		return
	}
	t.of.mu.Lock()
	defer t.of.mu.Unlock()
	t.caller.failed, t.caller.until = 0, time.Time{}
}

// forget takes a try out of the failures.
func (t *try) forget() {
	t.of.mu.Lock()
	defer t.of.mu.Unlock()
	t.caller.failed, t.caller.until = max(0, t.caller.failed-1), time.Time{}
}

func (t *tries) find(from netip.Prefix, now time.Time) *caller {
	c, ok := t.known[from]
	if ok {
		return c
	}
	if len(t.known) >= mostCallers && now.Sub(t.swept) >= time.Minute {
		t.swept = now
		for k, c := range t.known {
			if now.Sub(c.used) > forgottenIn {
				delete(t.known, k)
			}
		}
	}
	if len(t.known) >= mostCallers {
		return t.rest
	}
	c = newCaller()
	c.used = now
	t.known[from] = c
	return c
}

// delay is how long until a limiter has one to give, and a little for rounding: who
// waits so long is let through.
func delay(l *rate.Limiter, now time.Time) time.Duration {
	if left := l.TokensAt(now); left < 1 {
		return time.Duration((1-left)/float64(l.Limit())*float64(time.Second)) + time.Millisecond
	}
	return 0
}

// address is where a request comes from, and what it is counted as. What cannot be
// read, such as a socket's path, counts as one.
func address(remote string) (netip.Addr, netip.Prefix) {
	a, err := netip.ParseAddr(remote)
	if err != nil {
		ap, err := netip.ParseAddrPort(remote)
		if err != nil {
			return netip.Addr{}, netip.Prefix{}
		}
		a = ap.Addr()
	}
	a = a.Unmap().WithZone("")
	bits := a.BitLen()
	if a.Is6() {
		bits = 64
	}
	p, _ := a.Prefix(bits)
	return a, p
}
