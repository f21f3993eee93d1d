package gate

import (
	"context"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"fettle"
)

// How long a passcode is: NIST SP 800-63B asks for eight characters at least and
// for no rules about which; the end keeps a megabyte from being hashed.
const (
	minRunes = 8
	maxBytes = 256
	minKinds = 4 // different characters
)

// obvious are passcodes that are tried first, by who knows that this is a shop.
var obvious = []string{
	"password", "passw0rd", "passcode", "password1", "password123", "qwertyui", "qwertyuiop", "asdfghjkl", "1q2w3e4r",
	"letmein1", "iloveyou", "baseball", "football", "sunshine", "princess", "trustno1", "changeme", "welcome1",
	"administrator", "fettleshop", "fettle123", "machinist", "machineshop", "workshop", "stonewash", "titanium", "stainless",
}

// runs are rows of keys and the alphabet; a passcode that is a piece of one, either
// way, is no passcode.
var runs = []string{"01234567890123456789", "abcdefghijklmnopqrstuvwxyz", "qwertyuiopasdfghjklzxcvbnm", "qwertzuiopasdfghjklyxcvbnm", "azertyuiopqsdfghjklmwxcvbn"}

// plain is a passcode as it is compared: without white space at its ends, which
// phones' keyboards add after a word, and with every kind of space as the common
// one (RFC 8265, section 4.2.2). False for what can be no passcode.
func plain(passcode string) (string, bool) {
	if len(passcode) > 4*maxBytes || !utf8.ValidString(passcode) {
		return "", false
	}
	ok := true
	s := strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Zs, r) {
			return ' '
		}
		ok = ok && !unicode.IsControl(r)
		return r
	}, strings.TrimSpace(passcode))
	return s, ok && len(s) <= maxBytes
}

// choose checks a new passcode and returns it as it is compared.
func choose(passcode string) (string, error) {
	s, ok := plain(passcode)
	if !ok {
		return "", fettle.Errorf(fettle.Invalid, "a passcode is text of at most %d bytes on one line; choose a shorter one", maxBytes)
	}
	if n := utf8.RuneCountInString(s); n < minRunes {
		return "", fettle.Errorf(fettle.Invalid, "this passcode has %d characters; choose one of at least %d, four short words say", n, minRunes)
	}
	low := strings.ToLower(s)
	kinds := []rune(low)
	slices.Sort(kinds)
	if len(slices.Compact(kinds)) < minKinds {
		return "", fettle.Errorf(fettle.Invalid, "this passcode repeats a few characters; choose one with at least %d different ones", minKinds)
	}
	back := []rune(low)
	slices.Reverse(back)
	for _, r := range runs {
		if strings.Contains(r, low) || strings.Contains(r, string(back)) {
			return "", fettle.Errorf(fettle.Invalid, "this passcode is a row of keys; choose one that is not the first guess")
		}
	}
	if slices.Contains(obvious, low) {
		return "", fettle.Errorf(fettle.Invalid, "this passcode is on every list of guesses; choose another, four short words say")
	}
	return s, nil
}

func secretOf(r Role) string { return "passcode." + string(r) }

func other(r Role) Role {
	if r == Owner {
		return Hand
	}
	return Owner
}

// kept is a role's hash, and the string it is kept as; false where none is set.
func (g *Gate) kept(ctx context.Context, r Role) (h phc, text string, set bool, err error) {
	text, err = g.keep.Secret(ctx, secretOf(r))
	if err != nil && fettle.CodeOf(err) != fettle.NotFound {
		return phc{}, "", false, err
	}
	if err != nil || text == "" {
		return phc{}, "", false, nil
	}
	if h, err = parsePHC(text); err != nil {
		return phc{}, "", false, err
	}
	return h, text, true, nil
}

// HasPasscode reports whether a role has one.
func (g *Gate) HasPasscode(ctx context.Context, r Role) (bool, error) {
	r.must()
	_, _, set, err := g.kept(ctx, r)
	return set, err
}

func (g *Gate) anyPasscode(ctx context.Context) (bool, error) {
	owner, err := g.HasPasscode(ctx, Owner)
	if err != nil || owner {
		return owner, err
	}
	return g.HasPasscode(ctx, Hand)
}

// SetPasscode gives a role a passcode and sends everyone away who came in as that
// role. The owner's is set first, and the two differ: which one was given decides
// who came in.
func (g *Gate) SetPasscode(ctx context.Context, r Role, passcode string) error {
	r.must()
	s, err := choose(passcode)
	if err != nil {
		return err
	}
	if err := g.enter(ctx); err != nil {
		return err
	}
	defer g.leave()
	g.codes.Lock()
	defer g.codes.Unlock()
	h, _, set, err := g.kept(ctx, other(r))
	if err != nil {
		return err
	}
	if r == Hand && !set {
		return fettle.Errorf(fettle.Conflict, "the owner has no passcode yet; set the owner's first")
	}
	if set && h.matches(s) == 1 {
		return fettle.Errorf(fettle.Invalid, "this is the %s's passcode already; choose another for the %s", other(r), r)
	}
	if err := g.keep.SetSecret(ctx, secretOf(r), hashOf(s, g.cost).String()); err != nil {
		return err
	}
	g.log.InfoContext(ctx, "passcode set", "role", r)
	return g.sendAway(ctx, r)
}

// RemovePasscode takes a role's passcode away and sends everyone away who came in
// as that role: nobody can log in as it any more. The owner's goes last.
func (g *Gate) RemovePasscode(ctx context.Context, r Role) error {
	r.must()
	g.codes.Lock()
	defer g.codes.Unlock()
	if r == Owner {
		_, _, set, err := g.kept(ctx, Hand)
		if err != nil {
			return err
		}
		if set {
			return fettle.Errorf(fettle.Conflict, "the hand has a passcode; remove that one first")
		}
	}
	if err := g.keep.SetSecret(ctx, secretOf(r), ""); err != nil {
		return err
	}
	g.log.InfoContext(ctx, "passcode removed", "role", r)
	return g.sendAway(ctx, r)
}

func (g *Gate) sendAway(ctx context.Context, r Role) error {
	g.invites.drop(r)
	return g.keep.DropSessions(ctx, string(r))
}
