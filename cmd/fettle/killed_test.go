package main

import (
	"context"
	"encoding/json"
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
	"fettle/internal/door/store/storetest"
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
	for i := range rounds {
		s.round(i, nil)
		if t.Failed() {
			t.Fatalf("after round %d", i)
		}
	}
	least := map[string]int{}
	for what, n := range map[string]int{
		"made: customer": 100, "made: part": 60, "made: job": 100, "made: file": 100, "made: run": 10, "made: reading": 30,
		"altered": 100, "deleted": 30, "files read": 100, "proofs done": 50, "surveys done": 1, "backups restored": 5, "checks": 10, "starts cut off": 10,
		"makings asked again, there once": 10,
	} {
		least[what] = n * rounds / 100
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
	if i%4 == 3 {
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
		s.timed("tasks", func() { s.wait(server) })
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

// settle looks at the tasks that were asked for, until they are over or the server is.
func (s *siege) settle(server *child) {
	began := time.Now()
	for !server.ended() {
		s.l.mu.Lock()
		open := make(map[string]*asked, len(s.l.tasks))
		for id, a := range s.l.tasks {
			open[id] = a
		}
		s.l.mu.Unlock()
		for id, a := range open {
			if !s.settled(server, id, a) {
				continue
			}
			s.l.mu.Lock()
			delete(s.l.tasks, id)
			s.l.mu.Unlock()
			if d := time.Since(began); d > s.slow {
				s.slow = d
			}
		}
		time.Sleep(50 * time.Millisecond)
	}
}

// settled looks at a task, and at its answer.
func (s *siege) settled(server *child, id string, of *asked) bool {
	a, err := server.ask("GET", "/api/tasks/"+id, nil, nil)
	if err != nil {
		return false
	}
	var task fettle.Task
	if err := json.Unmarshal(a.body, &task); !a.ok() || err != nil {
		s.t.Errorf("task %s was answered and is not there: %d %s", id, a.status, a.body)
		return true
	}
	switch task.State {
	case fettle.Waiting, fettle.Running:
		return false
	case fettle.Parked: // the program ended three times in the middle of it
		if task.Attempt < 3 {
			s.t.Errorf("task %s was parked at attempt %d: %s", id, task.Attempt, task.Why)
		}
		a, err := server.ask("POST", "/api/tasks/"+id+"/again", nil, nil)
		var next fettle.Task
		if err == nil && (json.Unmarshal(a.body, &next) != nil || next.ID == "") {
			s.t.Errorf("task %s asked again: %d %s", id, a.status, a.body)
		}
		if next.ID != "" {
			s.l.mu.Lock()
			delete(s.l.tasks, id)
			s.l.tasks[next.ID] = of
			s.l.count["tasks parked and asked again"]++
			s.l.mu.Unlock()
		}
		return false
	case fettle.Done:
	default:
		s.t.Errorf("task %s is %s: %s", id, task.State, task.Why)
		return true
	}
	if of.feed > 0 {
		return s.proved(server, task, of)
	}
	a, err = server.ask("GET", "/api/files/"+of.file+"/survey", nil, nil)
	if err != nil {
		return false
	}
	var survey fettle.Survey
	if err := json.Unmarshal(a.body, &survey); a.status != 200 || err != nil {
		s.t.Errorf("the survey of %s: %d %s", of.file, a.status, a.body)
	}
	if v := of.block[0] * of.block[1] * of.block[2]; math.Abs(survey.VolumeMM3-v) > 1e-6*v {
		s.t.Errorf("the block of %v mm has %g mm³, want %g", of.block, survey.VolumeMM3, v)
	}
	s.l.counted("surveys done")
	return true
}

// proved looks at a proof.
func (s *siege) proved(server *child, task fettle.Task, of *asked) bool {
	var result struct{ Proof string }
	if err := json.Unmarshal(task.Result, &result); err != nil {
		s.t.Errorf("task %s answers %s", task.ID, task.Result)
		return true
	}
	a, err := server.ask("GET", "/api/stored/"+result.Proof, nil, nil)
	if err != nil {
		return false
	}
	var proof fettle.Proof
	if err := json.Unmarshal(a.body, &proof); a.status != 200 || err != nil || math.Abs(proof.FeedLengthMM-of.feed) > 1e-9 {
		s.t.Errorf("the proof of task %s: %d, %g mm of feed, want %g; %v", task.ID, a.status, proof.FeedLengthMM, of.feed, err)
	}
	s.l.counted("proofs done")
	return true
}

// wait waits until every task that was asked for has come to its end.
func (s *siege) wait(server *child) {
	for until := time.Now().Add(s.patient); !server.ended(); time.Sleep(20 * time.Millisecond) {
		s.l.mu.Lock()
		n := len(s.l.tasks)
		s.l.mu.Unlock()
		if n == 0 || s.t.Failed() {
			return
		}
		if time.Now().After(until) {
			s.t.Errorf("%d tasks are not done after %v; the queue holds %v", n, s.patient, s.queue(server))
			return
		}
	}
}

// queue counts the tasks by what they are and how far.
func (s *siege) queue(server *child) map[string]int {
	n := map[string]int{}
	for next := ""; ; {
		a, err := server.ask("GET", "/api/tasks?limit=1000&after="+next, nil, nil)
		var page struct {
			Tasks []fettle.Task
			Next  string
		}
		if err != nil || json.Unmarshal(a.body, &page) != nil {
			return n
		}
		for _, task := range page.Tasks {
			n[fmt.Sprintf("%s %s %d", task.Kind, task.State, task.Attempt)]++
		}
		if next = page.Next; next == "" {
			return n
		}
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

// promised are the records that were answered by now.
func (s *siege) promised() []line {
	s.l.mu.Lock()
	defer s.l.mu.Unlock()
	var out []line
	for _, ln := range s.l.lines {
		out = append(out, *ln)
	}
	return out
}

// backUp gets a backup by the web door.
func (s *siege) backUp(server *child, i int) {
	must := s.promised()
	a, err := server.ask("GET", "/api/backup", nil, nil)
	if err != nil {
		return // broken off: no backup
	}
	path := filepath.Join(filepath.Dir(s.house.dir), fmt.Sprintf("door-%d.zip", i))
	if err := os.WriteFile(path, a.body, 0o600); err != nil || a.status != 200 {
		s.t.Errorf("backup: %d, %v", a.status, err)
		return
	}
	s.keepBackup(path, must, true)
}

// keepBackup notes a backup. One that was cut off is not there, or it is whole.
func (s *siege) keepBackup(path string, must []line, done bool) {
	if _, err := os.Stat(path); err != nil {
		if done {
			s.t.Errorf("a backup was done and is not there: %v", err)
		}
		s.l.counted("backups cut off, not there")
		return
	}
	s.l.mu.Lock()
	defer s.l.mu.Unlock()
	s.l.backups = append(s.l.backups, &saved{path, must})
}

// takeBackups restores what was backed up into folders of their own, and looks whether
// all is there that had been answered before.
func (s *siege) takeBackups() {
	t := s.t
	s.timed("restores", func() {
		for _, b := range s.l.backups {
			dir := b.path + ".restored"
			if _, err := store.Restore(context.Background(), store.Options{Dir: dir}, b.path, nil); err != nil {
				t.Errorf("backup %s: %v", b.path, err)
				continue
			}
			st, err := house{dir: dir}.open(false)
			if err != nil {
				t.Fatal(err)
			}
			for _, ln := range b.must {
				r, err := st.Get(context.Background(), ln.kind, ln.id)
				if err != nil || r.Rev < ln.rev || r.Rev == ln.rev && canonical(r.Body) != ln.body {
					t.Errorf("backup %s: %s %s is in revision %d, %v; answered was %d", b.path, ln.kind, ln.id, r.Rev, err, ln.rev)
				}
			}
			st.Close()
			s.l.counted("backups restored")
			if err := os.RemoveAll(dir); err != nil {
				t.Error(err)
			}
			if err := os.Remove(b.path); err != nil {
				t.Error(err)
			}
		}
		s.l.backups = nil
	})
}

func names(dir string) []string {
	var out []string
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// TestKilledOnPostgres is TestKilled with the records in PostgreSQL and the work done
// by a process of its own, which is killed as well.
func TestKilledOnPostgres(t *testing.T) {
	url := storetest.Postgres(t)
	rounds := 10
	if testing.Short() {
		rounds = 2
	}
	s := besiege(t, house{dir: filepath.Join(t.TempDir(), "shop"), url: url}, rounds)
	s.calm = min(5, rounds)
	for i := range rounds {
		s.round(i, func(*rand.Rand) *child { return s.house.start(t, "work", "--workers", "1") })
		if t.Failed() {
			t.Fatalf("after round %d", i)
		}
	}
	s.l.report(t, map[string]int{"made: customer": 2 * rounds, "made: file": 2 * rounds, "proofs done": rounds / 2, "checks": rounds / s.calm})
	t.Logf("tasks came to an end within %v of a start; time went to %v", s.slow.Round(time.Millisecond), s.clock)
}
