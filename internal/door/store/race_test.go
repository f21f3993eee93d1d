package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
)

// crowd runs a function in many goroutines at once.
func crowd(n int, f func(i int)) {
	var all sync.WaitGroup
	begin := make(chan struct{})
	for i := range n {
		all.Go(func() {
			<-begin
			f(i)
		})
	}
	close(begin)
	all.Wait()
}

func TestManyAlterOne(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		r := made(t, s, fettle.KeptJob, "escutcheons")
		// All saw the same revision: one wins.
		var won atomic.Int64
		crowd(20, func(i int) {
			v := r
			v.Body = body(i)
			_, err := one(s, fettle.Alter, v)
			switch {
			case err == nil:
				won.Add(1)
			case fettle.CodeOf(err) != fettle.Conflict:
				t.Error(err)
			default:
				plain(t, err)
			}
		})
		if won.Load() != 1 {
			t.Fatalf("%d won", won.Load())
		}
		// Each reads again until it wins: all win, one after the other.
		crowd(20, func(i int) {
			for {
				v, err := s.Get(ctx, r.Kind, r.ID)
				if err != nil {
					t.Error(err)
					return
				}
				v.Body = body(100 + i)
				if _, err = one(s, fettle.Alter, v); err == nil {
					return
				}
				if fettle.CodeOf(err) != fettle.Conflict {
					t.Error(err)
					return
				}
			}
		})
		all := must[[]fettle.Record](t)(s.History(ctx, r.Kind, r.ID))
		seen := map[string]bool{}
		for i, v := range all {
			if v.Rev != int64(i+1) || i > 0 && v.Changed.Before(all[i-1].Changed) {
				t.Fatalf("revision %d at place %d, %v", v.Rev, i, v.Changed)
			}
			seen[string(v.Body)] = true
		}
		if len(all) != 22 || len(seen) != 22 {
			t.Fatalf("%d revisions with %d bodies", len(all), len(seen))
		}
		same(t, all[21], must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID)))
	})
}

func TestManyWithOneKey(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		var ids sync.Map
		crowd(20, func(int) {
			out, err := s.Apply(ctx, fettle.Edit{By: "Anna", Key: "the form", Changes: []fettle.Change{
				{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptCustomer, Name: "Quay", Body: body(1)}},
			}})
			if err != nil {
				t.Error(err)
				return
			}
			ids.Store(out[0].ID, true)
		})
		n := 0
		ids.Range(func(any, any) bool { n++; return true })
		if all := must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptCustomer})).Records; n != 1 || len(all) != 1 {
			t.Fatalf("%d ids, %d records", n, len(all))
		}
	})
}

func TestManyWantOneName(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		var won atomic.Int64
		crowd(20, func(i int) {
			_, err := one(s, fettle.Make, fettle.Record{Kind: fettle.KeptLook, Name: "Satin"})
			switch {
			case err == nil:
				won.Add(1)
			case fettle.CodeOf(err) != fettle.Conflict:
				t.Error(err)
			default:
				says(t, err, `there is a look named "Satin" already`)
			}
		})
		if won.Load() != 1 {
			t.Fatalf("%d won", won.Load())
		}
	})
}

// TestCrossing: edits that take the same records in opposite order get in each
// other's way on PostgreSQL, which ends one of them; that is tried again.
func TestCrossing(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		a, b := made(t, s, fettle.KeptJob, "a"), made(t, s, fettle.KeptJob, "b")
		const n, times = 4, 3
		crowd(n, func(i int) {
			for range times {
				for {
					x, err1 := s.Get(ctx, a.Kind, a.ID)
					y, err2 := s.Get(ctx, b.Kind, b.ID)
					if err := errors.Join(err1, err2); err != nil {
						t.Error(err)
						return
					}
					if i%2 == 1 {
						x, y = y, x
					}
					_, err := s.Apply(ctx, fettle.Edit{By: fmt.Sprint(i), Changes: []fettle.Change{{Act: fettle.Alter, Record: x}, {Act: fettle.Alter, Record: y}}})
					if err == nil {
						break
					}
					if fettle.CodeOf(err) != fettle.Conflict {
						t.Error(err)
						return
					}
				}
			}
		})
		x, y := must[[]fettle.Record](t)(s.History(ctx, a.Kind, a.ID)), must[[]fettle.Record](t)(s.History(ctx, b.Kind, b.ID))
		if len(x) != 1+n*times || len(y) != len(x) {
			t.Fatalf("%d and %d revisions", len(x), len(y))
		}
		for i := 1; i < len(x); i++ {
			if x[i].By != y[i].By || !x[i].Changed.Equal(y[i].Changed) {
				t.Errorf("revision %d is not of one edit: %s and %s", i+1, x[i].By, y[i].By)
			}
		}
	})
}

// TestGivenUp: whoever gives up gets his reason back, nothing of his edit stays, and
// the store goes on.
func TestGivenUp(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		gone, cancel := context.WithCancel(ctx)
		cancel()
		make := fettle.Edit{Changes: []fettle.Change{{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptPart, Body: body(1)}}}}
		if _, err := s.Apply(gone, make); !errors.Is(err, context.Canceled) {
			t.Errorf("apply: %v", err)
		}
		if _, err := s.List(gone, fettle.Query{Kind: fettle.KeptPart}); !errors.Is(err, context.Canceled) {
			t.Errorf("list: %v", err)
		}
		// Somebody holds the writer: who waits gives up in time.
		if s.Dialect() == SQLite {
			tx := must[*sql.Tx](t)(s.DB().BeginTx(ctx, nil))
			short, cancel := context.WithTimeout(ctx, 20*time.Millisecond)
			if _, err := s.Apply(short, make); !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("apply behind another: %v", err)
			}
			cancel()
			if _, err := s.List(ctx, fettle.Query{Kind: fettle.KeptPart}); err != nil {
				t.Errorf("who only reads does not wait: %v", err)
			}
			if err := tx.Rollback(); err != nil {
				t.Fatal(err)
			}
		}
		// Given up at any moment: all 30 records or none.
		const size = 30
		big := fettle.Edit{By: "Anna"}
		for range size {
			big.Changes = append(big.Changes, make.Changes[0])
		}
		whole := 0
		for i := range 30 {
			c, cancel := context.WithTimeout(ctx, time.Duration(i)*200*time.Microsecond)
			_, err := s.Apply(c, big)
			cancel()
			if err == nil {
				whole++
			} else if !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("%v", err)
			}
		}
		all := must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptPart, Limit: 1000})).Records
		if len(all)%size != 0 || len(all) < whole*size {
			t.Errorf("%d records after %d whole edits of %d", len(all), whole, size)
		}
	})
}
