package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"fettle"
	"fettle/internal/door/store"
)

// ledger is what the shop has promised its clients: everything that was answered, and
// what was asked for and not answered. What is in it is looked for after every crash.
type ledger struct {
	rest    atomic.Bool // clients are to do nothing more
	mu      sync.Mutex
	lines   []*line
	lost    []*making         // makings whose answer was lost
	again   []*making         // those that were asked for again
	tasks   map[string]*asked // by their id, until their answer was looked at
	backups []*saved
	// hours were put on the media by runs that ended; those of a run whose end was
	// not answered may have been.
	hours, maybe float64

	// What was looked at, by its kind.
	count map[string]int
}

func newLedger() *ledger { return &ledger{tasks: map[string]*asked{}, count: map[string]int{}} }

// line is one record in the last revision that was answered.
type line struct {
	kind    fettle.RecordKind
	path    string // of its kind, such as "/api/customers"
	id      string
	rev     int64
	body    string // as canonical writes it
	links   map[string]string
	deleted bool
	sha     string // of a model
	fresh   bool   // answered since it was last looked at
	lost    *state // a change that was asked for and not answered
}

type state struct {
	body    string
	deleted bool
}

// making is a record that is to be made.
type making struct {
	kind  fettle.RecordKind
	post  string // where it is sent
	path  string // of its kind
	key   string // Idempotency-Key; empty: none
	mark  string // stands in its body and in no other
	name  string // that it is found by; empty where its body has none
	body  string // that it must have; empty: what the shop fills in is not known beforehand
	send  []byte
	model bool // what is sent is a file
	found string
}

// asked is a task and the right answer to it: the survey of a block of this size, or
// the proof of a program that feeds so far.
type asked struct {
	file  string // of a survey
	block [3]float64
	feed  float64 // mm, of a proof
}

// saved is a backup, and what must be in it at least: what had been answered before it
// was asked for.
type saved struct {
	path string
	must []line
}

func canonical(b []byte) string {
	var v any
	if err := json.Unmarshal(b, &v); err != nil {
		return "no JSON: " + string(b)
	}
	out, err := json.Marshal(v)
	if err != nil {
		return "no JSON: " + err.Error()
	}
	return string(out)
}

func (l *ledger) counted(what string) {
	l.mu.Lock()
	l.count[what]++
	l.mu.Unlock()
}

// audit looks whether the store keeps what the ledger says. All of it, or what
// changed since it was last looked at.
func (l *ledger) audit(t *testing.T, st *store.Store, all bool) {
	t.Helper()
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, ln := range l.lines {
		if all || ln.fresh || ln.lost != nil {
			l.auditLine(t, st, ln, all)
		}
	}
	l.auditLost(t, st)
	l.auditHours(t, st)
}

func (l *ledger) auditLine(t *testing.T, st *store.Store, ln *line, all bool) {
	t.Helper()
	r, err := st.Get(context.Background(), ln.kind, ln.id)
	if err != nil {
		t.Errorf("%s %s was answered in revision %d and is not there: %v", ln.kind, ln.id, ln.rev, err)
		return
	}
	body, deleted := canonical(r.Body), r.Deleted != nil
	switch {
	case r.Rev == ln.rev:
		if body != ln.body || deleted != ln.deleted {
			t.Errorf("%s %s revision %d: deleted %t, %s; answered was deleted %t, %s", ln.kind, ln.id, r.Rev, deleted, body, ln.deleted, ln.body)
		}
		if ln.lost != nil {
			l.count["changes not answered, not there"]++
		}
	case r.Rev == ln.rev+1 && ln.lost != nil:
		if body != ln.lost.body || deleted != ln.lost.deleted {
			t.Errorf("%s %s: half a change is there: deleted %t, %s; asked for was deleted %t, %s", ln.kind, ln.id, deleted, body, ln.lost.deleted, ln.lost.body)
		}
		l.count["changes not answered, there whole"]++
		ln.rev, ln.body, ln.deleted = r.Rev, body, deleted
	default:
		t.Errorf("%s %s is in revision %d; answered was %d", ln.kind, ln.id, r.Rev, ln.rev)
	}
	if ln.sha != "" && (all || ln.fresh) {
		l.auditFile(t, st, r, ln.sha)
	}
	switch {
	case ln.lost != nil: // counted above
	case ln.fresh && ln.deleted:
		l.count["deleted"]++
	case ln.fresh && ln.rev > 1:
		l.count["altered"]++
	case ln.fresh:
		l.count["made: "+string(ln.kind)]++
	}
	ln.fresh, ln.lost = false, nil
}

// auditFile reads a model from the disk.
func (l *ledger) auditFile(t *testing.T, st *store.Store, r fettle.Record, sha string) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(st.Dir(), "files", sha[:2], sha))
	if sum := sha256.Sum256(b); err != nil || hex.EncodeToString(sum[:]) != sha {
		t.Errorf("the file %s of %s is %x, %v", sha, r.ID, sum, err)
	}
	if r.Files["model"] != sha {
		t.Errorf("%s %s has the file %q; answered was %s", r.Kind, r.ID, r.Files["model"], sha)
	}
	l.count["files read"]++
}

// auditLost looks for records whose making was not answered: each is there once
// and whole, or not at all.
func (l *ledger) auditLost(t *testing.T, st *store.Store) {
	t.Helper()
	l.lost = slices.DeleteFunc(l.lost, func(m *making) bool {
		found := find(t, st, m)
		if len(found) > 1 {
			t.Errorf("%s %s was asked for once and is there %d times", m.kind, m.mark, len(found))
		}
		if len(found) == 0 {
			if m.found != "" {
				t.Errorf("%s %s was there and is not any more", m.kind, m.found)
			}
			l.count["makings not answered, not there"]++
			return m.key == ""
		}
		r := found[0]
		if m.body != "" && canonical(r.Body) != m.body {
			t.Errorf("half a %s is there: %s; asked for was %s", m.kind, r.Body, m.body)
		}
		l.count["makings not answered, there whole"]++
		m.found = r.ID
		if m.key != "" {
			return false // asked again when the next server stands
		}
		l.lines = append(l.lines, &line{kind: m.kind, path: m.path, id: r.ID, rev: r.Rev, body: canonical(r.Body), links: r.Links, sha: r.Files["model"]})
		return true
	})
	for _, m := range l.again {
		if found := find(t, st, m); len(found) != 1 {
			t.Errorf("%s %s was asked for twice with the key %s and is there %d times", m.kind, m.mark, m.key, len(found))
		}
		l.count["makings asked again, there once"]++
	}
	l.again = nil
}

// find finds what came of a making.
func find(t *testing.T, st *store.Store, m *making) []fettle.Record {
	t.Helper()
	var found []fettle.Record
	for q := (fettle.Query{Kind: m.kind, Name: m.name, Newest: true, Limit: 1000}); ; {
		page, err := st.List(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range page.Records {
			if strings.Contains(string(r.Body), m.mark) {
				found = append(found, r)
			}
		}
		if page.Next == "" {
			return found
		}
		q.After = page.Next
	}
}

// auditHours holds an edit of two records to its word: a run that ended has put its
// hours on its media.
func (l *ledger) auditHours(t *testing.T, st *store.Store) {
	t.Helper()
	ctx := context.Background()
	var runs float64
	for q := (fettle.Query{Kind: fettle.KeptRun, Limit: 1000}); ; {
		page, err := st.List(ctx, q)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range page.Records {
			var run fettle.Run
			if err := json.Unmarshal(r.Body, &run); err != nil {
				t.Fatal(err)
			}
			runs += run.HoursRun
		}
		if page.Next == "" {
			break
		}
		q.After = page.Next
	}
	r, err := st.Named(ctx, fettle.KeptMedia, wornMedia)
	if err != nil {
		t.Fatal(err)
	}
	var media fettle.Media
	if err := json.Unmarshal(r.Body, &media); err != nil {
		t.Fatal(err)
	}
	// Hours are eighths, which add up without rounding.
	if media.HoursRun != runs {
		t.Errorf("the media have run %g h, their runs %g h: half an edit is there", media.HoursRun, runs)
	}
	if runs != l.hours && runs != l.hours+l.maybe {
		t.Errorf("runs took %g h; answered were %g and not answered %g", runs, l.hours, l.maybe)
	}
	l.hours, l.maybe = runs, 0
}

const wornMedia = "ceramic-fine-5"

// report says what was looked at.
func (l *ledger) report(t *testing.T, least map[string]int) {
	t.Helper()
	l.mu.Lock()
	defer l.mu.Unlock()
	var says []string
	for what, n := range l.count {
		says = append(says, fmt.Sprintf("%6d %s", n, what))
	}
	slices.SortFunc(says, func(a, b string) int { return strings.Compare(a[7:], b[7:]) })
	t.Logf("looked at after the crashes:\n%s", strings.Join(says, "\n"))
	for what, n := range least {
		if l.count[what] < n {
			t.Errorf("only %d of %q: too few to tell anything, want %d", l.count[what], what, n)
		}
	}
}

// enough reports whether so much of each was looked at.
func (l *ledger) enough(least map[string]int) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	for what, n := range least {
		if l.count[what] < n {
			return false
		}
	}
	return true
}
