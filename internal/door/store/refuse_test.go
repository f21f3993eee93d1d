package store

import (
	"encoding/json"
	"strings"
	"testing"

	"fettle"
)

func TestRefused(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		there := made(t, s, fettle.KeptCustomer, "Quay")
		blobless := strings.Repeat("ab", 32)
		good := func() fettle.Record {
			return fettle.Record{Kind: fettle.KeptCustomer, Name: "n", Body: json.RawMessage(`{}`)}
		}
		for name, c := range map[string]struct {
			change func(r *fettle.Record)
			code   fettle.Code
		}{
			"kind unknown":       {func(r *fettle.Record) { r.Kind = "lathe" }, fettle.Invalid},
			"kind empty":         {func(r *fettle.Record) { r.Kind = "" }, fettle.Invalid},
			"name NUL":           {func(r *fettle.Record) { r.Name = "a\x00b" }, fettle.Invalid},
			"name not UTF-8":     {func(r *fettle.Record) { r.Name = "Gr\xf6\xdfe" }, fettle.Invalid},
			"name long":          {func(r *fettle.Record) { r.Name = strings.Repeat("ß", 201) }, fettle.Invalid},
			"name of shelf none": {func(r *fettle.Record) { r.Kind, r.Name = fettle.KeptLook, " - " }, fettle.Invalid},
			"no body":            {func(r *fettle.Record) { r.Body = nil }, fettle.Invalid},
			"body no JSON":       {func(r *fettle.Record) { r.Body = json.RawMessage(`{"a":}`) }, fettle.Invalid},
			"body two values":    {func(r *fettle.Record) { r.Body = json.RawMessage(`{} {}`) }, fettle.Invalid},
			"body not UTF-8":     {func(r *fettle.Record) { r.Body = json.RawMessage("\"\xff\"") }, fettle.Invalid},
			"body NUL":           {func(r *fettle.Record) { r.Body = json.RawMessage("\"\x00\"") }, fettle.Invalid},
			"body huge":          {func(r *fettle.Record) { r.Body = json.RawMessage(`"` + strings.Repeat("a", maxBody) + `"`) }, fettle.Invalid},
			"id of ours":         {func(r *fettle.Record) { r.ID = "customer-1" }, fettle.Invalid},
			"id random":          {func(r *fettle.Record) { r.ID = "9b2f6a4e-1c3d-4f5a-8b7c-0d1e2f3a4b5c" }, fettle.Invalid},
			"id taken":           {func(r *fettle.Record) { r.ID = there.ID }, fettle.Conflict},
			"link no id":         {func(r *fettle.Record) { r.Links = map[string]string{"part": "x'; --"} }, fettle.Invalid},
			"link to nothing":    {func(r *fettle.Record) { r.Links = map[string]string{"part": "0190a5e4-0000-7000-8000-000000000000"} }, fettle.Invalid},
			"link no role":       {func(r *fettle.Record) { r.Links = map[string]string{"": there.ID} }, fettle.Invalid},
			"link role NUL":      {func(r *fettle.Record) { r.Links = map[string]string{"\x00": there.ID} }, fettle.Invalid},
			"file not stored":    {func(r *fettle.Record) { r.Files = map[string]string{"model": blobless} }, fettle.Invalid},
			"file no SHA":        {func(r *fettle.Record) { r.Files = map[string]string{"model": strings.ToUpper(blobless)} }, fettle.Invalid},
		} {
			r := good()
			c.change(&r)
			out, err := s.Apply(ctx, fettle.Edit{By: "Anna", Changes: []fettle.Change{{Act: fettle.Make, Record: r}}})
			if fettle.CodeOf(err) != c.code || out != nil {
				t.Errorf("%s: %v, code %q, want %q", name, err, fettle.CodeOf(err), c.code)
			}
			plain(t, err)
		}
		for name, e := range map[string]fettle.Edit{
			"no changes":  {By: "Anna"},
			"no act":      {By: "Anna", Changes: []fettle.Change{{Record: there}}},
			"by NUL":      {By: "\x00", Changes: []fettle.Change{{Act: fettle.Make, Record: good()}}},
			"key bad":     {Key: "\xff", Changes: []fettle.Change{{Act: fettle.Make, Record: good()}}},
			"key long":    {Key: strings.Repeat("k", 201), Changes: []fettle.Change{{Act: fettle.Make, Record: good()}}},
			"no revision": {Changes: []fettle.Change{{Act: fettle.Delete, Record: fettle.Record{Kind: there.Kind, ID: there.ID}}}},
		} {
			_, err := s.Apply(ctx, e)
			if fettle.CodeOf(err) != fettle.Invalid {
				t.Errorf("%s: %v", name, err)
			}
			plain(t, err)
		}
		same(t, []fettle.Record{there}, must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptCustomer})).Records)

		_, err := s.Get(ctx, fettle.KeptJob, there.ID) // it is a customer
		wants(t, err, fettle.NotFound)
		_, err = s.Get(ctx, fettle.KeptCustomer, "\x00")
		wants(t, err, fettle.NotFound)
		_, err = s.Get(ctx, "lathe", there.ID)
		wants(t, err, fettle.Invalid)
		_, err = s.History(ctx, fettle.KeptJob, there.ID)
		wants(t, err, fettle.NotFound)
		_, err = s.Named(ctx, fettle.KeptLook, "\x00")
		wants(t, err, fettle.Invalid)
		_, err = one(s, fettle.Delete, fettle.Record{Kind: fettle.KeptJob, ID: there.ID, Rev: 1})
		wants(t, err, fettle.NotFound)
		for _, q := range []fettle.Query{
			{}, {Kind: fettle.KeptJob, Limit: 1001}, {Kind: fettle.KeptJob, Limit: -1},
			{Kind: fettle.KeptJob, Name: "\x00"}, {Kind: fettle.KeptJob, Role: "\xff"}, {Kind: fettle.KeptJob, After: "z"},
		} {
			_, err := s.List(ctx, q)
			wants(t, err, fettle.Invalid)
		}
	})
}

// TestHeld: what is odd but right is kept as it is.
func TestHeld(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		for _, r := range []fettle.Record{
			{Kind: fettle.KeptReading, Body: json.RawMessage(`null`)},
			{Kind: fettle.KeptPart, Name: strings.Repeat("ß", 200), Body: json.RawMessage(`"\u0000 \ud800 😀"`)},
			{Kind: fettle.KeptLook, Name: "Größe ½\" 'x'; DROP TABLE record; --\n%$1", Body: json.RawMessage(`[1e400,0.1,-0]`)},
		} {
			m := must[fettle.Record](t)(one(s, fettle.Make, r))
			got := must[fettle.Record](t)(s.Get(ctx, r.Kind, m.ID))
			same(t, m, got)
			if got.Name != r.Name || string(got.Body) != string(r.Body) {
				t.Errorf("%q %s came back as %q %s", r.Name, r.Body, got.Name, got.Body)
			}
		}
	})
}

func TestConflict(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		r := made(t, s, fettle.KeptJob, "escutcheons")
		e := fettle.Edit{By: "Ben", Changes: []fettle.Change{{Act: fettle.Alter, Record: r}}}
		r2 := must[[]fettle.Record](t)(s.Apply(ctx, e))[0]
		when := r2.Changed.Format("2006-01-02 15:04:05 UTC")
		for _, act := range []fettle.Act{fettle.Alter, fettle.Delete, fettle.Undo} {
			_, err := one(s, act, r)
			wants(t, err, fettle.Conflict)
			says(t, err, `the job "escutcheons" was changed by Ben at `+when, "read it again and repeat the change")
		}
		ahead := r2
		ahead.Rev = 9
		_, err := one(s, fettle.Alter, ahead)
		wants(t, err, fettle.Conflict)
		says(t, err, "no revision 9", "the last is 2")
		gone := must[fettle.Record](t)(one(s, fettle.Delete, r2))
		_, err = one(s, fettle.Alter, r2)
		wants(t, err, fettle.Conflict)
		says(t, err, "was deleted by Anna")
		for _, act := range []fettle.Act{fettle.Alter, fettle.Delete} {
			_, err = one(s, act, gone)
			wants(t, err, fettle.Conflict)
			says(t, err, "was deleted by Anna", "undo that first")
		}
	})
}

// plain fails where a driver speaks.
func plain(t testing.TB, err error) {
	t.Helper()
	for _, word := range []string{"SQLSTATE", "SQLITE", "constraint", "ERROR", "sql:", "pgx", "dial tcp"} {
		if err != nil && strings.Contains(err.Error(), word) {
			t.Errorf("a driver speaks: %v", err)
		}
	}
}
