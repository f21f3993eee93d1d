package main

import (
	"encoding/json"
	"fmt"
	"math"
	"time"

	"fettle"
)

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
