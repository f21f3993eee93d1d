package gate

import (
	"strings"
	"testing"

	"fettle"
)

func TestPasscodesThatAreNone(t *testing.T) {
	s := newShop(t, nil)
	for _, p := range []string{
		"", "brass", "1234567", "       7 chars       ", "éééé ab", // counted in characters, ends not
		strings.Repeat("long and longer ", 17),
		"\xff\xfe is not text", "two\nlines of it", "a\x00 in the middle",
		"aaaaaaaaaaaa", "abababababab", "12121212", "AbCbAaBaBC",
		"12345678", "87654321", "QWERTYUI", "abcdefghij", "poiuytrewq", "asdfghjk",
		"password", "PassWord123", " changeme ", "Stonewash",
	} {
		err := s.SetPasscode(t.Context(), Owner, p)
		if err == nil {
			t.Errorf("%q is taken", p)
			continue
		}
		wantCode(t, err, fettle.Invalid)
		if strings.Contains(err.Error(), p) && p != "" {
			t.Errorf("the sentence %q gives the passcode away", err)
		}
	}
	if set, err := s.HasPasscode(t.Context(), Owner); set || err != nil {
		t.Errorf("a refused passcode was set: %v, %v", set, err)
	}
}

func TestPasscodesThatAre(t *testing.T) {
	for _, p := range []string{"eight ch", "three brass plates", "8 Stk. à 3 €", strings.Repeat("abcdefg ", 31) + "abcdefgh"} {
		s := newShop(t, nil)
		if err := s.SetPasscode(t.Context(), Owner, p); err != nil {
			t.Errorf("%q: %v", p, err)
		}
		// A phone's keyboard adds spaces, and some of them are no common ones.
		for i, as := range []string{p, " " + p + "  ", strings.ReplaceAll(p, " ", "\u00a0") + "\n"} {
			if _, role, err := s.LogIn(t.Context(), "127.0.0.1:1", as, ""); role != Owner {
				t.Errorf("%q as %q, %d: %v", p, as, i, err)
			}
		}
		if _, _, err := s.LogIn(t.Context(), "127.0.0.1:1", strings.ToUpper(p), ""); err == nil {
			t.Errorf("%q is compared without its case", p)
		}
	}
}

func TestPasscodesAreKeptHashed(t *testing.T) {
	s := locked(t, nil)
	for name, v := range s.keep.secrets {
		if _, err := parsePHC(v); err != nil || strings.Contains(v, owners) {
			t.Errorf("%s is kept as %s", name, v)
		}
	}
	if len(s.keep.secrets) != 2 || strings.Contains(s.log.String(), "burr") {
		t.Errorf("%d secrets; log: %s", len(s.keep.secrets), s.log)
	}
}

func TestPasscodesOfTwoRoles(t *testing.T) {
	ctx := t.Context()
	s := newShop(t, nil)
	wantCode(t, s.SetPasscode(ctx, Hand, hands), fettle.Conflict) // the owner's first
	s = locked(t, nil)
	wantCode(t, s.SetPasscode(ctx, Hand, " "+owners), fettle.Invalid)
	wantCode(t, s.SetPasscode(ctx, Owner, hands), fettle.Invalid)
	wantCode(t, s.RemovePasscode(ctx, Owner), fettle.Conflict)

	token, invite := s.in(t, hands), s.Invite(ctx, Hand)
	if err := s.RemovePasscode(ctx, Hand); err != nil {
		t.Fatal(err)
	}
	if r := s.asToken(token); r != "" {
		t.Errorf("without a passcode for it, a session is still %q", r)
	}
	if _, _, err := s.Accept(ctx, "127.0.0.1:1", invite, ""); err == nil {
		t.Error("an invite outlives the passcode")
	}
	if set, _ := s.HasPasscode(ctx, Hand); set {
		t.Error("the passcode is still there")
	}
	if _, _, err := s.LogIn(ctx, "127.0.0.1:1", hands, ""); err == nil {
		t.Error("a removed passcode lets in")
	}
	if err := s.RemovePasscode(ctx, Owner); err != nil {
		t.Error(err)
	}
}

func TestDamagedHashIsOurFault(t *testing.T) {
	s := locked(t, nil)
	s.keep.secrets[secretOf(Hand)] = "damaged"
	if _, _, err := s.LogIn(t.Context(), "127.0.0.1:1", owners, ""); fettle.CodeOf(err) != fettle.Internal {
		t.Errorf("%v", err)
	}
}
