package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"fettle"
)

// How much of a thing is taken.
const (
	maxName    = 200 // letters
	maxRole    = 64
	maxBody    = 16 << 20 // bytes
	maxChanges = 10_000
)

// knownKind refuses kinds that are not kept.
func knownKind(k fettle.RecordKind) error {
	if !k.Known() {
		return fettle.Errorf(fettle.Invalid, "%s is no kind of record; take one of those listed", show(string(k)))
	}
	return nil
}

// goodText refuses what not every database can hold: bytes that are no UTF-8, and
// NUL; and what is too long.
func goodText(what, s string, most int) error {
	switch {
	case !utf8.ValidString(s):
		return fettle.Errorf(fettle.Invalid, "%s is not UTF-8; send it as UTF-8", what)
	case strings.ContainsRune(s, 0):
		return fettle.Errorf(fettle.Invalid, "%s has a NUL character in it; take that out", what)
	case utf8.RuneCountInString(s) > most:
		return fettle.Errorf(fettle.Invalid, "%s is longer than %d characters; shorten it", what, most)
	}
	return nil
}

// isID reports whether a text can be the id of a record: a UUID of version 7 in the
// form of RFC 9562, section 4, in small letters.
func isID(s string) bool {
	u, err := uuid.Parse(s)
	return err == nil && u.Version() == 7 && u.Variant() == uuid.RFC4122 && u.String() == s
}

// show is a text of unknown origin, fit to stand in a sentence.
func show(s string) string {
	const most = 60
	b, _ := json.Marshal(s) // makes bad bytes visible
	r := []rune(string(b))
	if len(r) > most {
		return string(r[:most]) + `…"`
	}
	return string(r)
}

// judge checks an edit as far as that goes without looking at what is kept, and
// returns its changes with each body in its shortest form and nothing in them that
// their act does not use.
func judge(e fettle.Edit) ([]fettle.Change, error) {
	if err := goodText("the name of who makes the change", e.By, maxName); err != nil {
		return nil, err
	}
	if err := goodText("the key of the edit", e.Key, maxName); err != nil {
		return nil, err
	}
	if len(e.Changes) == 0 {
		return nil, fettle.Errorf(fettle.Invalid, "the edit has no change in it; say what to change")
	}
	if len(e.Changes) > maxChanges {
		return nil, fettle.Errorf(fettle.Invalid, "%d changes are more than the %d that happen together; do them in parts", len(e.Changes), maxChanges)
	}
	out := make([]fettle.Change, len(e.Changes))
	for i, c := range e.Changes {
		var err error
		if out[i], err = judgeChange(c); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func judgeChange(c fettle.Change) (fettle.Change, error) {
	none := fettle.Change{}
	r := fettle.Record{Kind: c.Record.Kind, ID: c.Record.ID, Rev: c.Record.Rev}
	if err := knownKind(r.Kind); err != nil {
		return none, err
	}
	switch c.Act {
	case fettle.Make:
		r.Rev = 0
		if r.ID != "" && !isID(r.ID) {
			return none, fettle.Errorf(fettle.Invalid, "%s cannot be an id: that is a UUID of version 7, in small letters; leave it away and one is made", show(r.ID))
		}
	case fettle.Alter, fettle.Delete, fettle.Undo:
		if !isID(r.ID) {
			return none, noSuch(r.Kind, r.ID)
		}
		if r.Rev < 1 {
			return none, fettle.Errorf(fettle.Invalid, "the change does not say which revision of the %s was seen; read it and send its rev along", r.Kind)
		}
	default:
		return none, fettle.Errorf(fettle.Invalid, "%s is nothing that can be done with a record; make, alter, delete or undo it", show(string(c.Act)))
	}
	if c.Act == fettle.Make || c.Act == fettle.Alter {
		r.Name, r.Links, r.Files = c.Record.Name, maps.Clone(c.Record.Links), maps.Clone(c.Record.Files)
		if err := judgeContent(&r, c.Record.Body); err != nil {
			return none, err
		}
	}
	return fettle.Change{Act: c.Act, Record: r}, nil
}

// judgeContent checks what a record holds and sets its body.
func judgeContent(r *fettle.Record, body json.RawMessage) error {
	if err := goodText("the name", r.Name, maxName); err != nil {
		return err
	}
	if r.Kind.NamesAreUnique() && fettle.FoldName(r.Name) == "" {
		return fettle.Errorf(fettle.Invalid, "a %s is found by its name; give it one", r.Kind)
	}
	for _, role := range slices.Sorted(maps.Keys(r.Links)) {
		if err := goodRole(role); err != nil {
			return err
		}
		if !isID(r.Links[role]) {
			return fettle.Errorf(fettle.Invalid, "links.%s leads to %s, which is no record's id; take the id of one that is there", role, show(r.Links[role]))
		}
	}
	for _, role := range slices.Sorted(maps.Keys(r.Files)) {
		if err := goodRole(role); err != nil {
			return err
		}
		if !isSHA(r.Files[role]) {
			return fettle.Errorf(fettle.Invalid, "files.%s is %s, which is no SHA-256 of a file; store the file first and take what that answers", role, show(r.Files[role]))
		}
	}
	switch {
	case len(body) == 0:
		return fettle.Errorf(fettle.Invalid, "the %s has no body; send one", r.Kind)
	case len(body) > maxBody:
		return fettle.Errorf(fettle.Invalid, "the body has %d bytes, and %d are taken; store what is large as a file", len(body), maxBody)
	case !utf8.Valid(body):
		return fettle.Errorf(fettle.Invalid, "the body is not UTF-8; send it as UTF-8")
	}
	var short bytes.Buffer
	if err := json.Compact(&short, body); err != nil {
		return fettle.Errorf(fettle.Invalid, "the body is no JSON (%w); send it as JSON", err)
	}
	r.Body = short.Bytes()
	return nil
}

func goodRole(role string) error {
	if role == "" {
		return fettle.Errorf(fettle.Invalid, "a link or file has no role; say what it is to the record")
	}
	return goodText("the role of a link or file", role, maxRole)
}

// fingerprint is the SHA-256 of changes, for telling whether an edit is asked for again.
func fingerprint(changes []fettle.Change) string {
	h := sha256.New()
	if err := json.NewEncoder(h).Encode(changes); err != nil {
		panic("store: changes that were judged are no JSON: " + err.Error())
	}
	return hex.EncodeToString(h.Sum(nil))
}
