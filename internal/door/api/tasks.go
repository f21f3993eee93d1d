package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
)

func (a *API) addTasks() {
	add(a, route{
		id: "list-tasks", tag: "tasks", call: "GET /api/tasks", least: hand, summary: "List tasks", says: "The newest first.",
	}, func(ctx context.Context, in *struct {
		State []fettle.TaskState `query:"state" enum:"waiting,running,done,failed,stopped,parked" doc:"with commas between; left out: all"`
		After string             `query:"after" maxLength:"64" doc:"next of the page before"`
		Limit int                `query:"limit" minimum:"0" maximum:"1000" doc:"0: 100"`
	}) (*struct{ Body TaskPage }, error) {
		ts, next, err := a.o.Tasks.List(ctx, in.State, in.After, in.Limit)
		if err != nil {
			return nil, err
		}
		if ts == nil {
			ts = []fettle.Task{}
		}
		return &struct{ Body TaskPage }{TaskPage{ts, next}}, nil
	})

	one := []int{http.StatusNotFound}
	add(a, route{id: "get-task", tag: "tasks", call: "GET /api/tasks/{id}", least: hand, summary: "Get a task", fails: one},
		func(ctx context.Context, in *ByID) (*struct{ Body fettle.Task }, error) {
			t, err := a.o.Tasks.Task(ctx, in.ID)
			return &struct{ Body fettle.Task }{t}, err
		})
	for _, c := range []struct {
		id, summary, says string
		do                func(context.Context, string) (fettle.Task, error)
	}{
		{"stop", "Stop a task", "One that is over stays as it is.", a.o.Tasks.Stop},
		{"again", "Try a task again", "One that failed, was stopped or was parked.", a.o.Tasks.Again},
	} {
		add(a, route{
			id: c.id + "-task", tag: "tasks", call: "POST /api/tasks/{id}/" + c.id, least: hand, status: http.StatusOK,
			summary: c.summary, says: c.says, fails: []int{http.StatusNotFound, http.StatusConflict},
		}, func(ctx context.Context, in *ByID) (*struct{ Body fettle.Task }, error) {
			t, err := c.do(ctx, in.ID)
			return &struct{ Body fettle.Task }{t}, err
		})
	}
	add(a, route{
		id: "forget-task", tag: "tasks", call: "DELETE /api/tasks/{id}", least: owner,
		summary: "Forget what a task answered", says: "The same question will be worked out anew.", fails: []int{http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *ByID) (*struct{}, error) {
		return nil, a.o.Tasks.Forget(ctx, in.ID)
	})

	add(a, route{
		id: "watch-task", tag: "tasks", call: "GET /api/tasks/{id}/events", least: hand, summary: "Watch a task",
		says: "Server-sent events: \"task\" with the task as its data, at once and at every change. The stream ends with the task. " +
			"A comment says every 15 s that it is alive. What was missed is not sent again: the first event is how the task is now. " +
			"Who comes back with the Last-Event-ID of the end is answered 204, which tells a browser not to come back.",
		fails: one, answers: map[string]*huma.Response{
			"200": {Description: "The events.", Content: map[string]*huma.MediaType{"text/event-stream": {Schema: &huma.Schema{Type: "string"}}}},
			"204": {Description: "The task is over, and that was told."},
		},
	}, func(ctx context.Context, in *struct {
		ByID
		Last string `header:"Last-Event-ID" doc:"as browsers send it when they come back"`
	}) (*huma.StreamResponse, error) {
		t, err := a.o.Tasks.Task(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		if t.State.Over() && in.Last == eventID(t) {
			return written(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) }), nil
		}
		return written(func(w http.ResponseWriter, r *http.Request) { a.tell(r.Context(), w, in.ID) }), nil
	})
}

// TaskPage is some tasks.
type TaskPage struct {
	Tasks []fettle.Task `json:"tasks" nullable:"false"`
	Next  string        `json:"next,omitempty" doc:"ask again with after set to this; left out on the last page"`
}

// eventID names a state of a task.
func eventID(t fettle.Task) string {
	return string(t.State) + "-" + strconv.FormatInt(t.Changed.UnixMicro(), 10)
}

// tell writes a task's events until it is over or nobody reads them.
func (a *API) tell(ctx context.Context, w http.ResponseWriter, id string) {
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	control := http.NewResponseController(w)
	defer control.SetWriteDeadline(time.Time{}) // the connection is used again
	send := func(b []byte) error {
		// A reader that stands still is given up, so that it does not hold a watch.
		if err := control.SetWriteDeadline(time.Now().Add(a.o.Heartbeat)); err != nil && !errors.Is(err, http.ErrNotSupported) {
			return err
		}
		if _, err := w.Write(b); err != nil {
			return err
		}
		return control.Flush()
	}
	if send([]byte("retry: 2000\n\n")) != nil {
		return
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	changes := make(chan fettle.Task)
	ended := make(chan error, 1)
	go func() {
		ended <- a.o.Tasks.Watch(ctx, id, func(t fettle.Task) error {
			select {
			case changes <- t:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
	}()
	beat := time.NewTicker(a.o.Heartbeat)
	defer beat.Stop()
	for {
		select {
		case t := <-changes:
			if send(event(t)) != nil {
				return
			}
		case <-beat.C:
			if send([]byte(": still here\n\n")) != nil {
				return
			}
		case err := <-ended:
			if err != nil && ctx.Err() == nil {
				a.log.ErrorContext(ctx, "a watch ended early", "task", id, "error", err)
			}
			return
		case <-ctx.Done():
			return
		}
	}
}

// event is one change. JSON has no line breaks in it, so that one data line holds it.
func event(t fettle.Task) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "id: %s\nevent: task\ndata: ", eventID(t))
	data, err := json.Marshal(t)
	if err != nil {
		panic("api: " + err.Error())
	}
	b.Write(data)
	b.WriteString("\n\n")
	return b.Bytes()
}
