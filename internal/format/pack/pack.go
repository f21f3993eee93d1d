// Package pack writes and reads the one file that takes a job to a partner shop: a
// zip archive whose first entry, manifest.json, lists every other with its size and
// SHA-256.
//
// [Write] makes one, the same bytes from the same input. [Read] opens one that may
// come from anywhere: whatever is not exactly as the list says is refused in one
// sentence, an [intake.Fault], before anything is unpacked or, where only the bytes
// can tell, in place of the end of the file.
package pack

import (
	"encoding/hex"
	"fmt"
	"time"
	"unicode/utf8"

	"fettle/internal/format/intake"
)

// Format is what stands in a manifest of the only form there is so far.
const Format = "fettle pack 1"

// ManifestName is the entry that lists the others.
const ManifestName = "manifest.json"

// Limits of a pack. They are far above a job with its model and pictures.
const (
	MaxEntries  = 2000    // the manifest counts as one
	MaxManifest = 1 << 20 // bytes
	MaxBytes    = intake.MaxBytes
	maxText     = 500 // characters of a title, a name or a reason
)

// Manifest is the list of contents.
type Manifest struct {
	Format  string `json:"format"` // [Format]
	Title   string `json:"title"`
	From    string `json:"from,omitempty"` // the shop
	Written string `json:"written"`        // RFC 3339 date and time
	Program string `json:"program"`
	Files   []Item `json:"files"`
	// Customer and Money say whether such data was put in on request.
	Customer bool `json:"customer"`
	Money    bool `json:"money"`
	// NotOurs says why the shop passes the job on, where it does.
	NotOurs []Reason `json:"not_ours,omitempty"`
}

// Item is one file in a pack.
type Item struct {
	Name   string `json:"name"` // "model/plate.step", "brief.json", "recipe.json", "pictures/…"
	Role   string `json:"role"` // one of [Roles]
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"` // lower-case hex
}

// Reason is one limit of the shop that the part is beyond.
type Reason struct {
	Limit string `json:"limit"` // the key of the shop's envelope: "max_mm"
	Says  string `json:"says"`
}

// The roles of files.
const (
	Model   = "model"
	Brief   = "brief"
	Plan    = "plan"
	Recipe  = "recipe"
	Picture = "picture"
	Paper   = "paper"
	Solid   = "solid"
)

// Roles are what a file in a pack can be for.
func Roles() []string { return []string{Model, Brief, Plan, Recipe, Picture, Paper, Solid} }

func isRole(s string) bool {
	switch s {
	case Model, Brief, Plan, Recipe, Picture, Paper, Solid:
		return true
	}
	return false
}

// format stands in front of faults.
const format = "pack"

func fault(where, try, what string, args ...any) *intake.Fault {
	return &intake.Fault{Format: format, What: fmt.Sprintf(what, args...), Where: shown(where), Try: try}
}

// shown is a name or a text from the file for a message.
func shown(s string) string { return intake.Printable([]byte(s)) }

// check holds a manifest to what [Write] writes.
func (m *Manifest) check() error {
	const again = "ask for a pack written by a version of this program that you have"
	switch {
	case m.Format != Format:
		return fault(ManifestName, again, "the form %q is not known", shown(m.Format))
	case m.Title == "":
		return fault(ManifestName, "give the job a title", "it has no title")
	case m.Program == "":
		return fault(ManifestName, again, "it does not say which version of the program wrote it")
	case m.Files == nil:
		return fault(ManifestName, again, "it has no list of files")
	}
	if _, err := time.Parse(time.RFC3339, m.Written); err != nil {
		return fault(ManifestName, again, "%q is no date and time of writing (RFC 3339)", shown(m.Written))
	}
	texts := []string{m.Title, m.From, m.Program}
	for _, r := range m.NotOurs {
		if r.Limit == "" || r.Says == "" {
			return fault(ManifestName, again, "a reason for passing the job on names no limit or says nothing")
		}
		texts = append(texts, r.Limit, r.Says)
	}
	for _, s := range texts {
		if !utf8.ValidString(s) || utf8.RuneCountInString(s) > maxText {
			return fault(ManifestName, "shorten it", "the text %q… is longer than %d characters or is no UTF-8", shown(s), maxText)
		}
	}
	if len(m.Files)+1 > MaxEntries {
		return fault(ManifestName, "pack fewer files", "it lists %d files, and a pack holds at most %d", len(m.Files), MaxEntries-1)
	}
	n, left := newNames(), int64(MaxBytes)
	for _, f := range m.Files {
		if err := n.add(f.Name); err != nil {
			return err
		}
		switch {
		case !isRole(f.Role):
			return fault(f.Name, again, "the role %q is not known", shown(f.Role))
		case f.Bytes < 0:
			return fault(f.Name, again, "%d bytes is no size", f.Bytes)
		case f.Bytes > left:
			return fault(f.Name, "pack fewer or smaller files", "the files come to more than %d MB in all", MaxBytes>>20)
		case !isHash(f.SHA256):
			return fault(f.Name, again, "%q is no SHA-256 in lower-case hex", shown(f.SHA256))
		}
		left -= f.Bytes
	}
	return nil
}

func isHash(s string) bool {
	b, err := hex.DecodeString(s)
	return err == nil && len(b) == 32 && hex.EncodeToString(b) == s
}
