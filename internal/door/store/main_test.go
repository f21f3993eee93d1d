package store

import (
	"cmp"
	"context"
	"encoding/json"
	"os"
	"testing"

	"fettle"
	"fettle/internal/door/store/storetest"
)

func TestMain(m *testing.M) { os.Exit(storetest.Main(m)) }

// place is where a test's store lies, so that it can be opened again.
type place struct{ Options }

func (p place) open(t testing.TB) *Store {
	t.Helper()
	s, err := Open(context.Background(), p.Options)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// onBoth runs a test on each database, on an empty place.
func onBoth(t *testing.T, f func(t *testing.T, p place)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) {
		f(t, place{Options{Dir: t.TempDir()}})
	})
	t.Run("postgres", func(t *testing.T) {
		f(t, onPostgres(t))
	})
}

func onPostgres(t testing.TB) place {
	t.Helper()
	return place{Options{Dir: t.TempDir(), URL: storetest.Postgres(t), Schema: storetest.Schema(t)}}
}

// conform runs a test of what a store promises on each database.
func conform(t *testing.T, f func(t *testing.T, s *Store)) {
	t.Helper()
	onBoth(t, func(t *testing.T, p place) { f(t, p.open(t)) })
}

var ctx = context.Background()

// wants fails unless an error has this code.
func wants(t testing.TB, err error, code fettle.Code) {
	t.Helper()
	if fettle.CodeOf(err) != code {
		t.Fatalf("code %q, want %q: %v", fettle.CodeOf(err), code, err)
	}
}

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// one does one change as Anna.
func one(s *Store, act fettle.Act, r fettle.Record) (fettle.Record, error) {
	if len(r.Body) == 0 {
		r.Body = json.RawMessage(`{}`)
	}
	out, err := s.Apply(ctx, fettle.Edit{By: "Anna", Changes: []fettle.Change{{Act: act, Record: r}}})
	if err != nil {
		return fettle.Record{}, err
	}
	return out[0], nil
}

// made makes a record.
func made(t testing.TB, s *Store, kind fettle.RecordKind, name string) fettle.Record {
	t.Helper()
	return must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: kind, Name: name}))
}

func body(n int) json.RawMessage {
	b, _ := json.Marshal(map[string]int{"n": n})
	return b
}

// byID orders records as a list does.
func byID(a, b fettle.Record) int { return cmp.Compare(a.ID, b.ID) }
