package api

import (
	"context"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"fettle"
)

// called names a file that leaves the shop after the record it belongs to, so that of
// twenty in one folder each tells what it is: "offer-escutcheon-plate-2026-03-31.pdf". Of
// an offer the day is that on which it was made. Where the record cannot be read, the
// answer that follows says why.
func (a *API) called(ctx context.Context, kind fettle.RecordKind, id, what, ending string) string {
	parts := []string{what}
	if r, err := a.o.Shop.Get(ctx, kind, id); err == nil {
		if name := plainName(r.Name); name != "" {
			parts = append(parts, name)
		}
		if kind == fettle.KeptOffer {
			parts = append(parts, r.Made.UTC().Format("2006-01-02"))
		}
	}
	return strings.Join(parts, "-") + ending
}

// longestName keeps what a file is called within what every file system takes.
const longestName = 60

// plainName is a title in small letters a to z, digits and hyphens: accents are dropped,
// what has no such letters becomes nothing.
func plainName(title string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToLower(norm.NFKD.String(title)) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			if gap && b.Len() > 0 {
				b.WriteByte('-')
			}
			gap = false
			b.WriteRune(r)
		case !unicode.Is(unicode.Mn, r):
			gap = true
		}
		if b.Len() >= longestName {
			break
		}
	}
	return b.String()
}
