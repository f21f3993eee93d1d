package fettle

import (
	"encoding/json"
	"time"
)

// TaskKind is a kind of heavy work.
type TaskKind string

// The kinds.
const (
	TaskSurvey TaskKind = "survey" // a model file: what is it, and its mesh to look at
	TaskPlan   TaskKind = "plan"   // a brief for a model file
	TaskReach  TaskKind = "reach"  // where media get, as values on the mesh
	TaskProof  TaskKind = "proof"  // an NC program
	TaskLearn  TaskKind = "learn"  // what the log says now
	TaskCoarse TaskKind = "coarse" // a mesh to look at, with fewer triangles
	TaskPocket TaskKind = "pocket" // a pocket in soft jaws, as wished for
)

// TaskState is how far a task is.
type TaskState string

// The states. Waiting and running come to one of the others by themselves.
const (
	Waiting TaskState = "waiting"
	Running TaskState = "running"
	Done    TaskState = "done"
	Failed  TaskState = "failed" // it can never be done as asked; Why says what to change
	Stopped TaskState = "stopped"
	Parked  TaskState = "parked" // it was tried as often as makes sense; a person must look
)

// Over reports whether nothing more will happen by itself.
func (s TaskState) Over() bool { return s != Waiting && s != Running }

// Task is heavy work that is done in its turn, once for the same question.
type Task struct {
	ID   string   `json:"id"`
	Kind TaskKind `json:"kind"`
	// Key is a hash of all that the answer depends on.
	Key     string          `json:"key"`
	State   TaskState       `json:"state"`
	Doing   string          `json:"doing"` // what it does now, in words
	Done    int             `json:"done"`  // of Total
	Total   int             `json:"total"`
	Attempt int             `json:"attempt"`
	Why     string          `json:"why,omitempty"` // why it failed, is tried again or was parked
	Args    json.RawMessage `json:"args"`
	Result  json.RawMessage `json:"result,omitempty"`
	By      string          `json:"by"`
	Made    time.Time       `json:"made"`
	Started *time.Time      `json:"started,omitempty"`
	Changed time.Time       `json:"changed"`
	Ended   *time.Time      `json:"ended,omitempty"`
}

// Question is what a task is to answer.
type Question struct {
	Kind TaskKind
	Key  string
	Args json.RawMessage
	By   string
	// Now says that the answer is of the shop as it is when the work begins: one of
	// this kind that still waits will answer it too, whatever its key.
	Now bool
}
