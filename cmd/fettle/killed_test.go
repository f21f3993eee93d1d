package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/store"
)

// siege is a house whose processes are killed again and again while clients are at
// work in it.
type siege struct {
	t       *testing.T
	house   house
	l       *ledger
	clients []*client
	rounds  int
	calm    int // every so many rounds the tasks are waited for, and all is looked at
	patient time.Duration

	clock map[string]time.Duration // where the time goes
	slow  time.Duration            // the longest that tasks took after a start
}

// seed makes the moments the same in every run.
const seed = 20260331

func besiege(t *testing.T, h house, rounds int) *siege {
	s := &siege{t: t, house: h, l: newLedger(), rounds: rounds, calm: 10, patient: 30 * time.Second, clock: map[string]time.Duration{}}
	for i := range 4 {
		s.clients = append(s.clients, &client{t: t, l: s.l, name: fmt.Sprintf("plate-%d", i), runs: i == 0})
	}
	return s
}

func (s *siege) timed(what string, f func()) {
	began := time.Now()
	f()
	s.clock[what] += time.Since(began)
}

// between is a moment whose logarithm is spread evenly.
func between(rng *rand.Rand, from, to time.Duration) time.Duration {
	return time.Duration(float64(from) * math.Pow(float64(to)/float64(from), rng.Float64()))
}

// TestKilled ends fettle serve at seeded moments, at work and while it starts, and
// looks after each whether everything is there that was answered, and nothing by half.
func TestKilled(t *testing.T) {
	rounds := 100
	if testing.Short() {
		rounds = 10
	}
	s := besiege(t, house{dir: filepath.Join(t.TempDir(), "shop")}, rounds)
	least := map[string]int{}
	for what, n := range map[string]int{
		"made: customer": 100, "made: part": 60, "made: job": 100, "made: file": 100, "made: run": 10, "made: reading": 30,
		"altered": 100, "deleted": 30, "files read": 100, "proofs done": 50, "surveys done": 1, "backups restored": 3, "checks": 10, "starts cut off": 10,
		"makings asked again, there once": 10,
	} {
		least[what] = n * rounds / 100
	}
	// A busy computer does less in a round: it gets more of them, never fewer.
	for i := 0; i < rounds || i < 2*rounds+100 && !s.l.enough(least); i++ {
		s.round(i, nil)
		if t.Failed() {
			t.Fatalf("after round %d", i)
		}
	}
	s.l.report(t, least)
	t.Logf("tasks came to an end within %v of a start; time went to %v", s.slow.Round(time.Millisecond), s.clock)
}

// round starts the server, lets clients work, ends it, and looks.
func (s *siege) round(i int, worker func(rng *rand.Rand) *child) {
	t := s.t
	rng := rand.New(rand.NewPCG(seed, uint64(i)))
	calm := i%s.calm == s.calm-1
	before := names(filepath.Join(s.house.dir, "scratch"))
	server := s.house.serve(t, s.serving()...)
	var w *child
	if worker != nil {
		w = worker(rng)
	}
	if i > 0 && i%3 == 2 { // looked at beside the server, while it starts
		s.look(true, false)
	}
	if !calm && i > 0 && rng.IntN(3) == 0 {
		s.timed("starts cut off", func() {
			select {
			case <-server.ready:
			case <-time.After(between(rng, 5*time.Millisecond, 600*time.Millisecond)):
				s.l.counted("starts cut off")
			}
		})
	} else {
		s.timed("starts", func() { server.up(t) })
	}
	up := false
	select {
	case <-server.ready:
		up = true
	default:
	}
	if up {
		for _, name := range names(filepath.Join(s.house.dir, "scratch")) {
			if slices.Contains(before, name) && s.house.url == "" {
				t.Errorf("round %d: %s was left in the scratch folder", i, name)
			}
		}
		s.siege(i, rng, server, calm)
	}
	server.kill()
	if w != nil {
		w.kill()
	}
	switch {
	case calm:
		s.look(false, true)
	case i%3 != 1: // else beside the next
		s.look(i%3 == 0, false)
	}
	if calm {
		s.takeBackups()
	}
}

func (s *siege) serving() []string {
	if s.house.url != "" {
		return []string{"--workers", "0"}
	}
	return []string{"--workers", "2"}
}

// siege has the clients work on a server until it is ended.
func (s *siege) siege(i int, rng *rand.Rand, server *child, calm bool) {
	t := s.t
	var all sync.WaitGroup
	s.askAgain(server)
	all.Go(func() { s.settle(server) })
	s.clients[1].surveys = i%30 == 28
	for k, c := range s.clients {
		all.Go(func() { c.work(server, rand.New(rand.NewPCG(seed+uint64(i), uint64(k)))) })
	}
	delay := between(rng, 5*time.Millisecond, 1500*time.Millisecond)
	if i%5 == 3 {
		delay = 300*time.Millisecond + delay/2
		all.Go(func() { s.backUp(server, i) })
		path := filepath.Join(filepath.Dir(s.house.dir), fmt.Sprintf("beside-%d.zip", i))
		must := s.promised()
		beside := program(s.house.on("-q", "backup", path)...)
		if err := beside.Start(); err != nil {
			t.Fatal(err)
		}
		end := between(rng, 20*time.Millisecond, 4*time.Second)
		all.Go(func() {
			cut := time.AfterFunc(end, func() { _ = beside.Process.Kill() })
			_ = beside.Wait()
			cut.Stop()
			s.keepBackup(path, must, beside.ProcessState.ExitCode() == 0)
		})
	}
	s.timed("work", func() {
		select {
		case <-server.gone:
			t.Errorf("round %d: the server ended by itself and said %q", i, server.words())
		case <-time.After(delay):
		}
	})
	if calm {
		s.l.rest.Store(true)
		s.timed("tasks", func() { s.wait(server) })
		s.l.rest.Store(false)
	}
	server.kill()
	s.timed("ends", all.Wait)
}

// askAgain asks again, with the same key, for what was not answered.
func (s *siege) askAgain(server *child) {
	s.l.mu.Lock()
	lost := s.l.lost
	s.l.lost = nil
	s.l.mu.Unlock()
	for n, m := range lost {
		var a answer
		err := error(nil)
		if m.key != "" {
			a, err = server.ask("POST", m.post, m.head(), m.send)
		}
		if err != nil || m.key == "" {
			s.l.mu.Lock()
			s.l.lost = append(s.l.lost, lost[n])
			s.l.mu.Unlock()
			continue
		}
		if ln := s.l.answered(s.t, m, a); ln != nil && m.found != "" && m.found != ln.id {
			s.t.Errorf("%s %s was made as %s and, asked again, as %s", m.kind, m.mark, m.found, ln.id)
		}
		s.l.mu.Lock()
		s.l.again = append(s.l.again, m)
		s.l.mu.Unlock()
	}
}

// look opens the store and holds the ledger against it.
func (s *siege) look(readOnly, all bool) {
	t := s.t
	t.Helper()
	s.timed("looks", func() {
		st, err := s.house.open(readOnly)
		if fettle.CodeOf(err) == fettle.NotFound && len(s.l.lines) == 0 {
			return // killed before there was anything
		}
		if err != nil {
			t.Errorf("the store does not open: %v", err)
			return
		}
		defer st.Close()
		s.l.audit(t, st, all)
		if all {
			s.check(st)
		}
	})
}

func (s *siege) check(st *store.Store) {
	r, err := st.Check(context.Background(), nil)
	if err != nil || !r.Sound {
		s.t.Errorf("check: %+v, %v", r.Findings, err)
	}
	s.l.counted("checks")
	s.l.mu.Lock()
	s.l.count["leftovers"] = len(r.Leftovers)
	s.l.mu.Unlock()
}

func names(dir string) []string {
	var out []string
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}
