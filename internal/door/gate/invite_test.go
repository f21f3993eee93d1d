package gate

import (
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle"
)

func TestInvites(t *testing.T) {
	ctx := t.Context()
	s := locked(t, nil)
	desk := "127.0.0.1:1"
	for _, r := range []Role{Hand, Owner} {
		invite := s.Invite(ctx, r)
		s.clock.pass(9*time.Minute + 59*time.Second)
		token, role, err := s.Accept(ctx, desk, invite, "a phone")
		if err != nil || role != r || s.asToken(token) != r {
			t.Errorf("%q is %q: %v", r, role, err)
		}
		_, _, err = s.Accept(ctx, desk, invite, "another") // once
		wantCode(t, err, fettle.Denied)
	}
	s.clock.pass(time.Hour)
	late := s.Invite(ctx, Hand)
	s.clock.pass(10 * time.Minute)
	for _, bad := range []string{late, "", "x", s.in(t, owners), digest(late)} {
		_, role, err := s.Accept(ctx, desk, bad, "")
		wantCode(t, err, fettle.Denied)
		if role != "" {
			t.Errorf("%q lets in %q", bad, role)
		}
		s.clock.pass(10 * time.Second)
	}
	if s.asToken(s.Invite(ctx, Owner)) != "" {
		t.Error("an invite is a session")
	}
}

func TestInvitesAtMost(t *testing.T) {
	ctx := t.Context()
	s := locked(t, nil)
	first, second := s.Invite(ctx, Hand), s.Invite(ctx, Hand)
	for range 19 {
		s.Invite(ctx, Hand)
	}
	if len(s.invites.live) != 20 {
		t.Errorf("%d are live", len(s.invites.live))
	}
	if _, _, err := s.Accept(ctx, "127.0.0.1:1", first, ""); err == nil {
		t.Error("the oldest of 21 lets in")
	}
	if _, _, err := s.Accept(ctx, "127.0.0.1:1", second, ""); err != nil {
		t.Error(err)
	}
	s.clock.pass(time.Hour)
	if s.Invite(ctx, Hand); len(s.invites.live) != 1 {
		t.Errorf("%d are live after an hour", len(s.invites.live))
	}
}

func TestInviteUsedAtOnce(t *testing.T) {
	s := locked(t, nil)
	invite := s.Invite(t.Context(), Hand)
	var wg sync.WaitGroup
	in := make(chan string, 16)
	for i := range 16 {
		wg.Go(func() {
			if token, _, err := s.Accept(t.Context(), "10.0.0."+string(rune('0'+i%10))+":1", invite, ""); err == nil {
				in <- token
			}
		})
	}
	wg.Wait()
	if len(in) != 1 || len(s.keep.sessions) != 1 {
		t.Errorf("%d came in by one invite", len(in))
	}
}

// What a browser sends of the address is without the fragment (RFC 9110, section
// 4.2.5), so that no log has it.
func TestInviteStaysOutOfRequests(t *testing.T) {
	s := locked(t, nil)
	token := s.Invite(t.Context(), Hand)
	u, err := url.Parse(InviteURL("https://192.168.1.20:8443/", token))
	if err != nil {
		t.Fatal(err)
	}
	if u.Fragment != "invite="+token || strings.Contains(u.RequestURI(), token) || u.RequestURI() != "/" || u.Host != "192.168.1.20:8443" {
		t.Errorf("%s asks for %s", u, u.RequestURI())
	}
	if strings.Contains(s.log.String(), token) {
		t.Error("the log has it")
	}
}
