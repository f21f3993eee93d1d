package api

import (
	"strings"
	"testing"
)

// Only letters, digits and hyphens of the portable filename character set are left
// (POSIX.1-2017, 3.282).
func TestPlainName(t *testing.T) {
	for title, want := range map[string]string{
		"Escutcheon plate":      "escutcheon-plate",
		" Türschild, 3. Größe ": "turschild-3-gro-e",
		"../../etc/passwd":      "etc-passwd",
		"a\r\nSet-Cookie: b":    "a-set-cookie-b",
		"部品":                    "",
	} {
		if got := plainName(title); got != want {
			t.Errorf("%q is called %q, want %q", title, got, want)
		}
	}
	if n := len(plainName(strings.Repeat("plate ", 60))); n > longestName+1 {
		t.Errorf("a long title gives a name of %d letters", n)
	}
}
