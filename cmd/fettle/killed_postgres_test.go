package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/store/storetest"
	"fettle/internal/shape/form"
)

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
	least := map[string]int{"made: customer": 2 * rounds, "made: file": 2 * rounds, "proofs done": rounds / 2, "checks": rounds / s.calm}
	for i := 0; i < rounds || i < 3*rounds && !s.l.enough(least); i++ {
		s.round(i, func(*rand.Rand) *child { return s.house.start(t, "work", "--workers", "1") })
		if t.Failed() {
			t.Fatalf("after round %d", i)
		}
	}
	if !testing.Short() {
		s.abandoned()
	}
	s.l.report(t, least)
	t.Logf("tasks came to an end within %v of a start; time went to %v", s.slow.Round(time.Millisecond), s.clock)
}

// abandoned kills a worker in the middle of a survey, and has another finish it.
func (s *siege) abandoned() {
	t := s.t
	server, first := s.house.serve(t, "--workers", "0").up(t), s.house.start(t, "work", "--workers", "1").up(t)
	post := func(path, typ string, body []byte) told {
		t.Helper()
		a, err := server.ask("POST", path, map[string]string{"Content-Type": typ}, body)
		var r told
		if err != nil || !a.ok() || json.Unmarshal(a.body, &r) != nil {
			t.Fatalf("%d %s, %v", a.status, a.body, err)
		}
		return r
	}
	part := post("/api/parts", "application/json", []byte(`{"body": {"name": "abandoned"}}`))
	file := post(fmt.Sprintf("/api/parts/%s/files?name=abandoned.stl", part.ID), "application/octet-stream", stl(t, form.Box(31, 17, 9)))
	a, err := server.ask("GET", "/api/files/"+file.ID+"/survey", nil, nil)
	var task fettle.Task
	if err != nil || json.Unmarshal(a.body, &task) != nil || task.ID == "" {
		t.Fatalf("%d %s, %v", a.status, a.body, err)
	}
	for task.State != fettle.Running && !task.State.Over() {
		time.Sleep(5 * time.Millisecond)
		if a, err = server.ask("GET", "/api/tasks/"+task.ID, nil, nil); err != nil || json.Unmarshal(a.body, &task) != nil {
			t.Fatalf("%s, %v", a.body, err)
		}
	}
	first.kill()
	began := time.Now()
	if task.State.Over() {
		t.Fatalf("the survey was %s before the worker was ended", task.State)
	}
	s.house.start(t, "work", "--workers", "1").up(t)
	task = over(t, server, task.ID)
	if task.State != fettle.Done || task.Attempt != 2 {
		t.Errorf("a survey whose worker was ended is %s at attempt %d: %s", task.State, task.Attempt, task.Why)
	}
	// The worker counts as dead after 10 s and is looked for every 3 s.
	t.Logf("a survey whose worker was ended was done after %v; taken up after %v", time.Since(began).Round(time.Millisecond), task.Started.Sub(began).Round(time.Millisecond))
	if took := task.Started.Sub(began); took > 20*time.Second {
		t.Errorf("it was taken up after %v", took)
	}
}
