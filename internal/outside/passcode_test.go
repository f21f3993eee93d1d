//go:build outside

package outside

import (
	"context"
	"encoding/base64"
	"os/exec"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/gate"
)

// secrets is a place for passcodes and sessions in memory.
type secrets map[string]string

func (s secrets) SaveSession(context.Context, fettle.Session) error { return nil }
func (s secrets) SessionOf(context.Context, string) (fettle.Session, bool, error) {
	return fettle.Session{}, false, nil
}
func (s secrets) SeenSession(context.Context, string, time.Time) error { return nil }
func (s secrets) DropSession(context.Context, string) error            { return nil }
func (s secrets) DropSessions(context.Context, string) error           { return nil }
func (s secrets) Secret(_ context.Context, name string) (string, error) {
	return s[name], nil
}
func (s secrets) SetSecret(_ context.Context, name, value string) error {
	s[name] = value
	return nil
}

// argon2 is what the reference implementation's command gives for a passcode.
func argon2(t *testing.T, passcode, salt string, args ...string) string {
	t.Helper()
	cmd := exec.Command("argon2", append([]string{salt, "-id", "-e"}, args...)...)
	cmd.Stdin = strings.NewReader(passcode)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("argon2: %v\nThis test needs Debian's argon2: apt-get install --no-install-recommends argon2", err)
	}
	return strings.TrimSpace(string(out))
}

// Passcodes are kept as the reference implementation of argon2 would keep them, and
// what it made lets in.
func TestPasscodesAgainstArgon2(t *testing.T) {
	ctx := context.Background()
	const passcode = "burr under the relief, 0.2 mm à 45°"
	s := secrets{}
	g, err := gate.New(gate.Options{Keep: s})
	if err != nil {
		t.Fatal(err)
	}
	var kept string
	var salt []byte
	for {
		if err := g.SetPasscode(ctx, gate.Owner, passcode); err != nil {
			t.Fatal(err)
		}
		for _, kept = range s {
		}
		if salt, err = base64.RawStdEncoding.DecodeString(strings.Split(kept, "$")[4]); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(salt), "\x00") { // which no command can be given
			break
		}
	}
	if want := argon2(t, passcode, string(salt), "-t", "3", "-m", "16", "-p", "4", "-l", "32"); kept != want {
		t.Errorf("kept as %s\nwant    %s", kept, want)
	}
	for name := range s {
		for _, args := range [][]string{{"-t", "1", "-m", "8", "-p", "1"}, {"-t", "2", "-k", "19456", "-p", "1", "-l", "24"}, {"-t", "5", "-m", "10", "-p", "8", "-l", "64"}} {
			s[name] = argon2(t, passcode, "somesalt", args...)
			if _, role, err := g.LogIn(ctx, "127.0.0.1", passcode, ""); role != gate.Owner {
				t.Errorf("%s does not let in: %v", s[name], err)
			}
		}
	}
}
