package store

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"fettle"
)

// benchBoth runs a benchmark on each database. The server that tests use never waits
// for the disk; SQLite does.
func benchBoth(b *testing.B, f func(b *testing.B, s *Store)) {
	b.Run("sqlite", func(b *testing.B) { f(b, place{Options{Dir: b.TempDir()}}.open(b)) })
	b.Run("postgres", func(b *testing.B) { f(b, onPostgres(b).open(b)) })
}

// jobBody is of the size of a job with its brief.
var jobBody = []byte(fmt.Sprintf(`{"title":"escutcheon plates","notes":%q}`, bytes.Repeat([]byte("n"), 2000)))

func BenchmarkApply(b *testing.B) {
	benchBoth(b, func(b *testing.B, s *Store) {
		customer := made(b, s, fettle.KeptCustomer, "Quay")
		r := fettle.Record{Kind: fettle.KeptJob, Name: "plates", Links: map[string]string{"customer": customer.ID}, Body: jobBody}
		for b.Loop() {
			if _, err := one(s, fettle.Make, r); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkApplyMany(b *testing.B) {
	benchBoth(b, func(b *testing.B, s *Store) {
		b.ResetTimer()
		b.RunParallel(func(p *testing.PB) {
			for p.Next() {
				if _, err := one(s, fettle.Make, fettle.Record{Kind: fettle.KeptJob, Name: "plates", Body: jobBody}); err != nil {
					b.Error(err)
				}
			}
		})
	})
}

func BenchmarkGet(b *testing.B) {
	benchBoth(b, func(b *testing.B, s *Store) {
		r := must[fettle.Record](b)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptJob, Body: jobBody}))
		for b.Loop() {
			if _, err := s.Get(ctx, r.Kind, r.ID); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkList100Of10000(b *testing.B) {
	benchBoth(b, func(b *testing.B, s *Store) {
		customer := made(b, s, fettle.KeptCustomer, "Quay")
		var middle string
		for part := range 10 {
			e := fettle.Edit{By: "Anna"}
			for range 1000 {
				e.Changes = append(e.Changes, fettle.Change{Act: fettle.Make, Record: fettle.Record{
					Kind: fettle.KeptJob, Name: "plates", Body: jobBody, Links: map[string]string{"customer": customer.ID},
				}})
			}
			out := must[[]fettle.Record](b)(s.Apply(ctx, e))
			if part == 5 {
				middle = out[0].ID
			}
		}
		// A server that runs for longer does this by itself.
		if _, err := s.DB().ExecContext(ctx, `ANALYZE`); err != nil {
			b.Fatal(err)
		}
		for name, q := range map[string]fettle.Query{
			"middle": {Kind: fettle.KeptJob, After: middle},
			"newest": {Kind: fettle.KeptJob, Newest: true},
			"linked": {Kind: fettle.KeptJob, Role: "customer", Target: customer.ID, After: middle},
			"named":  {Kind: fettle.KeptJob, Name: "PLATES", After: middle},
		} {
			b.Run(name, func(b *testing.B) {
				for b.Loop() {
					if page := must[fettle.RecordPage](b)(s.List(ctx, q)); len(page.Records) != 100 {
						b.Fatal(len(page.Records))
					}
				}
			})
		}
	})
}

// BenchmarkPutBlob stores 16 MB, beside the same bytes copied to a plain file that is
// synced.
func BenchmarkPutBlob(b *testing.B) {
	content := make([]byte, 16<<20)
	random := rand.NewChaCha8([32]byte{1})
	_, _ = random.Read(content)
	fresh := func() io.Reader {
		_, _ = random.Read(content[:32]) // each is another file
		return struct{ io.Reader }{bytes.NewReader(content)}
	}
	b.Run("plain", func(b *testing.B) {
		dir := b.TempDir()
		b.SetBytes(int64(len(content)))
		for i := 0; b.Loop(); i++ {
			f, err := os.Create(filepath.Join(dir, fmt.Sprint(i)))
			if err != nil {
				b.Fatal(err)
			}
			if _, err := io.Copy(f, fresh()); err != nil {
				b.Fatal(err)
			}
			if err := f.Sync(); err != nil {
				b.Fatal(err)
			}
			f.Close()
			os.Remove(f.Name())
		}
	})
	benchBoth(b, func(b *testing.B, s *Store) {
		b.SetBytes(int64(len(content)))
		for b.Loop() {
			blob, err := s.PutBlob(ctx, fresh(), 1<<30)
			if err != nil {
				b.Fatal(err)
			}
			os.Remove(s.blobPath(blob.SHA256))
		}
	})
}
