package gate

import (
	"context"
	"errors"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
)

func TestLogIn(t *testing.T) {
	ctx := t.Context()
	for _, c := range []struct {
		set      []Role
		passcode string
		want     Role
	}{
		{nil, owners, ""},
		{nil, "", ""},
		{[]Role{Owner}, owners, Owner},
		{[]Role{Owner}, hands, ""},
		{[]Role{Owner}, "", ""},
		{[]Role{Owner, Hand}, owners, Owner},
		{[]Role{Owner, Hand}, hands, Hand},
		{[]Role{Owner, Hand}, owners + hands, ""},
		{[]Role{Owner, Hand}, strings.Repeat("x", 1<<20), ""},
		{[]Role{Owner, Hand}, owners + "\x00", ""},
		{[]Role{Owner, Hand}, "\xff" + owners, ""},
	} {
		s := newShop(t, nil)
		for _, r := range c.set {
			if err := s.SetPasscode(ctx, r, map[Role]string{Owner: owners, Hand: hands}[r]); err != nil {
				t.Fatal(err)
			}
		}
		token, role, err := s.LogIn(ctx, "192.168.1.7:5000", c.passcode, "a browser")
		if role != c.want {
			t.Errorf("%v set, %.40q given: %q, %v", c.set, c.passcode, role, err)
		}
		if c.want == "" {
			wantCode(t, err, fettle.Denied)
			if _, is := RetryAfter(err); is || token != "" || len(s.keep.sessions) != 0 {
				t.Errorf("not let in, with token %q and %d sessions: %v", token, len(s.keep.sessions), err)
			}
			continue
		}
		if got := s.asToken(token); got != c.want {
			t.Errorf("the session is %q's, want %q", got, c.want)
		}
	}
}

// Whatever is set, two hashes are computed, and the time does not tell.
func TestLogInWorksAlikeWithoutPasscodes(t *testing.T) {
	c := cost{kib: 64, passes: 2, threads: 1}
	defer func(was func(_, _ []byte, _, _ uint32, _ uint8, _ uint32) []byte) { idKey = was }(idKey)
	var did []cost
	count := idKey
	idKey = func(passcode, salt []byte, passes, kib uint32, threads uint8, n uint32) []byte {
		did = append(did, cost{kib: kib, passes: passes, threads: threads})
		return count(passcode, salt, passes, kib, threads, n)
	}
	for _, set := range [][]Role{nil, {Owner}, {Owner, Hand}} {
		s := newShop(t, nil)
		s.cost, s.dummy = c, noHash(c)
		for _, r := range set {
			if err := s.SetPasscode(t.Context(), r, map[Role]string{Owner: owners, Hand: hands}[r]); err != nil {
				t.Fatal(err)
			}
		}
		for _, passcode := range []string{"wrong passcode", "short", owners} {
			did = nil
			s.LogIn(t.Context(), "127.0.0.1:1", passcode, "")
			if len(did) != 2 || did[0] != c || did[1] != c {
				t.Errorf("with %v set, %q took %v", set, passcode, did)
			}
		}
	}
}

func TestTooManyTries(t *testing.T) {
	ctx := t.Context()
	s := locked(t, nil)
	for range 5 {
		_, _, err := s.LogIn(ctx, "192.168.1.7:5000", "wrong passcode", "")
		if _, is := RetryAfter(err); is {
			t.Fatal(err)
		}
	}
	_, _, err := s.LogIn(ctx, "192.168.1.7:5001", owners, "")
	wantCode(t, err, fettle.Denied)
	wait, is := RetryAfter(err)
	if !is || wait < 4*time.Second || wait > 6*time.Second || !strings.Contains(err.Error(), "try again in") {
		t.Fatalf("%v, to wait %v", err, wait)
	}
	if _, _, err := s.Accept(ctx, "192.168.1.7:1", s.Invite(ctx, Hand), ""); err == nil {
		t.Error("invites are not counted")
	}
	if _, _, err := s.LogIn(ctx, "192.168.1.8:5000", owners, ""); err != nil {
		t.Errorf("another address: %v", err)
	}
	s.clock.pass(wait)
	if _, role, err := s.LogIn(ctx, "192.168.1.7:5000", owners, ""); role != Owner {
		t.Errorf("after the wait: %v", err)
	}
	if _, is := RetryAfter(nil); is {
		t.Error("no error is to be waited for")
	}
}

// A passcode that is changed while it is being checked makes no session.
func TestChangedWhileLoggingIn(t *testing.T) {
	ctx := t.Context()
	s := locked(t, nil)
	var once sync.Once
	asked := 0
	s.keep.onSecret = func(name string) {
		if asked++; asked == 2 { // both hashes were read; the check comes now
			once.Do(func() {
				s.keep.mu.Lock()
				defer s.keep.mu.Unlock()
				s.keep.secrets[secretOf(Owner)] = hashOf("another passcode", weak).String()
			})
		}
	}
	_, _, err := s.LogIn(ctx, "127.0.0.1:1", owners, "")
	wantCode(t, err, fettle.Denied)
	if len(s.keep.sessions) != 0 {
		t.Error("there is a session")
	}
}

func TestNewPasscodeSendsAway(t *testing.T) {
	ctx := t.Context()
	s := locked(t, nil)
	owner, hand := s.in(t, owners), s.in(t, hands)
	invite := s.Invite(ctx, Hand)
	if err := s.SetPasscode(ctx, Hand, "a new one for the sink"); err != nil {
		t.Fatal(err)
	}
	if s.asToken(hand) != "" || s.asToken(owner) != Owner {
		t.Errorf("hand is %q, owner %q", s.asToken(hand), s.asToken(owner))
	}
	if _, _, err := s.Accept(ctx, "127.0.0.1:1", invite, ""); err == nil {
		t.Error("an old invite lets in")
	}
	if _, _, err := s.LogIn(ctx, "127.0.0.1:1", hands, ""); err == nil {
		t.Error("the old passcode lets in")
	}
}

// At most so many hashes are computed at once, and who has gone does not wait.
func TestHashesAtOnce(t *testing.T) {
	s := locked(t, nil)
	var now, most atomic.Int32
	release := make(chan struct{})
	s.keep.onSecret = func(name string) {
		if name != secretOf(Hand) {
			return
		}
		n := now.Add(1)
		defer now.Add(-1)
		for {
			m := most.Load()
			if n <= m || most.CompareAndSwap(m, n) {
				break
			}
		}
		<-release
	}
	var wg sync.WaitGroup
	for range 5 {
		wg.Go(func() { s.LogIn(t.Context(), "127.0.0.1:1", "wrong passcode", "") })
	}
	for now.Load() < atOnce {
		time.Sleep(time.Millisecond)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := s.LogIn(gone, "192.168.1.5:1", owners, ""); !errors.Is(err, context.Canceled) {
		t.Errorf("who has gone: %v", err)
	}
	_, p := address("192.168.1.5:1")
	if n := s.tries.known[p].failed; n != 0 {
		t.Errorf("who has gone has %d failures", n)
	}
	close(release)
	wg.Wait()
	if n := most.Load(); n != atOnce {
		t.Errorf("%d at once, want %d", n, atOnce)
	}
}

func TestStoreFails(t *testing.T) {
	ctx := t.Context()
	s := locked(t, nil)
	token := s.in(t, owners)
	s.keep.err = errors.New("disk on fire")
	if _, _, err := s.LogIn(ctx, "192.168.1.6:1", owners, ""); fettle.CodeOf(err) != fettle.Internal {
		t.Errorf("log in: %v", err)
	}
	_, res := s.ask(nil)
	if res.StatusCode != 200 { // without a cookie nothing is asked of the store
		t.Errorf("nobody: %d", res.StatusCode)
	}
	_, res = s.ask(withToken(s, token))
	if res.StatusCode != 500 {
		t.Errorf("somebody: %d", res.StatusCode)
	}
	invite := s.Invite(ctx, Hand)
	if _, _, err := s.Accept(ctx, "127.0.0.1:1", invite, ""); fettle.CodeOf(err) != fettle.Internal {
		t.Errorf("accept: %v", err)
	}
	s.keep.err = nil
	if _, role, err := s.Accept(ctx, "127.0.0.1:1", invite, ""); role != Hand {
		t.Errorf("the invite was lost with the failure: %v", err)
	}
}
