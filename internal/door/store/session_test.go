package store

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"
	"time"

	"fettle"
)

func TestSessions(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		token := func(secret string) string {
			h := sha256.Sum256([]byte(secret))
			return hex.EncodeToString(h[:])
		}
		now := time.Now().UTC().Truncate(time.Microsecond)
		v := fettle.Session{Token: token("a"), Role: "owner", Made: now, Seen: now, Ends: now.Add(time.Hour), Agent: "Browser “1”"}
		nothing := func(token string) {
			t.Helper()
			if got, ok, err := s.SessionOf(ctx, token); ok || err != nil || got != (fettle.Session{}) {
				t.Fatalf("%+v, %v, %v", got, ok, err)
			}
		}
		is := func(want fettle.Session) {
			t.Helper()
			got, ok, err := s.SessionOf(ctx, want.Token)
			if !ok || err != nil {
				t.Fatal(ok, err)
			}
			same(t, want, got)
		}
		do := func(err error) {
			t.Helper()
			if err != nil {
				t.Fatal(err)
			}
		}
		nothing(v.Token)
		nothing("")
		nothing("\x00' OR 1=1")
		do(s.SaveSession(ctx, v))
		is(v)
		do(s.SeenSession(ctx, v.Token, now.Add(time.Minute)))
		do(s.SeenSession(ctx, v.Token, now)) // came late
		v.Seen = now.Add(time.Minute)
		is(v)
		v.Role = "bench"
		do(s.SaveSession(ctx, v))
		is(v)
		forever := fettle.Session{Token: token("b"), Role: "owner", Made: now}
		do(s.SaveSession(ctx, forever))
		is(forever)
		ended := fettle.Session{Token: token("c"), Role: "owner", Made: now, Ends: now.Add(-time.Second)}
		do(s.SaveSession(ctx, ended))
		is(ended) // whether it still counts is not asked here
		do(s.SaveSession(ctx, v))
		nothing(ended.Token) // but it is cleared away
		do(s.DropSessions(ctx, "bench"))
		nothing(v.Token)
		is(forever)
		do(s.SaveSession(ctx, v))
		do(s.DropSession(ctx, v.Token))
		do(s.DropSession(ctx, v.Token))
		do(s.SeenSession(ctx, v.Token, now))
		nothing(v.Token)
		do(s.SaveSession(ctx, v))
		do(s.DropSessions(ctx, ""))
		nothing(v.Token)
		nothing(forever.Token)
		wants(t, s.SaveSession(ctx, fettle.Session{Token: token("d"), Agent: "\x00"}), fettle.Invalid)
		wants(t, s.DropSession(ctx, "\xff"), fettle.Invalid)
	})
}

func TestSecrets(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		for _, want := range []string{"", "one", "another", ""} {
			if want != "" {
				if err := s.SetSecret(ctx, "passcode", want); err != nil {
					t.Fatal(err)
				}
			} else if err := s.SetSecret(ctx, "other", "x"); err != nil {
				t.Fatal(err)
			}
			if got, err := s.Secret(ctx, "none"); got != "" || err != nil {
				t.Fatalf("%q, %v", got, err)
			}
			if got, err := s.Secret(ctx, "passcode"); want != "" && got != want || err != nil {
				t.Fatalf("%q, want %q, %v", got, want, err)
			}
		}
		wants(t, s.SetSecret(ctx, "a\x00", "x"), fettle.Invalid)
		wants(t, s.SetSecret(ctx, "a", "\xff"), fettle.Invalid)
	})
}
