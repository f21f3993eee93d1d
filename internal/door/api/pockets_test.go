package api

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"fettle"
)

// block is a block of 30 × 24 × 14 mm.
const block = "OFF\n8 6 0\n-15 -12 0\n15 -12 0\n15 12 0\n-15 12 0\n-15 -12 14\n15 -12 14\n15 12 14\n-15 12 14\n" +
	"4 0 3 2 1\n4 4 5 6 7\n4 0 1 5 4\n4 1 2 6 5\n4 2 3 7 6\n4 3 0 4 7\n"

// TestPockets asks for a pocket until it is there, says that it was cut, and takes that
// back.
func TestPockets(t *testing.T) {
	h := open(t, 1)
	part := h.make("parts", nil, m{"name": "Block"})
	file := h.ask("POST /api/parts/"+part.ID+"/files?name=block.off", strings.NewReader(block)).want(http.StatusCreated).record()
	job := h.make("jobs", m{"part": part.ID, "file": file.ID}, m{"title": "Blocks", "brief": m{
		"material": "naval brass", "finish": "satin", "lot": 4, "model_units": "mm", "up": []float64{0, 0, 1},
	}})
	at := "/api/jobs/" + job.ID + "/pocket"
	const wish = "?pair=soft-100&shift_mm=0&grip_mm=4&places=own&moving=as%20new"

	// wait asks until the answer is no task any more.
	wait := func(role, call string, body any) *reply {
		t.Helper()
		for range 600 {
			got := h.as(role, call, body)
			if got.status != http.StatusAccepted {
				return got
			}
			var task fettle.Task
			if got.into(&task); task.Kind != fettle.TaskPocket || got.header.Get("Location") != "/api/tasks/"+task.ID {
				t.Fatalf("%+v", task)
			}
			time.Sleep(50 * time.Millisecond)
		}
		t.Fatalf("%s never came out", call)
		return nil
	}
	var p fettle.TriedPocket
	got := wait("hand", "GET "+at+wish, nil).want(http.StatusOK)
	if got.into(&p); p.Pair.Name != "soft-100" || p.Pocket.Pose.GripMM != 4 || p.Wish.ShiftMM == nil || *p.Wish.ShiftMM != 0 || p.Wish.TurnDeg != nil || p.Wish.Swapped == nil {
		t.Errorf("%+v", p.Wish)
	}
	h.as("hand", "GET "+at+wish, nil, "If-None-Match", got.header.Get("ETag")).want(http.StatusNotModified)
	h.as("hand", "GET /api/stored/"+p.Files["jaws.pdf"]+"?name=jaws.pdf", nil).want(http.StatusOK)

	cut := "POST " + at + "/cut"
	h.as("hand", cut, m{"pocket": p.Pocket.ID, "wish": p.Wish}).want(http.StatusForbidden)
	h.ask(cut, m{"pocket": "another", "wish": p.Wish}).problem(http.StatusConflict, "")
	var pair Kept[fettle.Jaws]
	if h.ask(cut, m{"pocket": p.Pocket.ID, "wish": p.Wish}).want(http.StatusOK).into(&pair); len(pair.Body.Cuts) != 2 || pair.Name != "soft-100" {
		t.Fatalf("%+v", pair)
	}
	h.ask("POST /api/shelf/jaws/"+pair.ID+"/undo", nil, "If-Match", revTag(pair.Rev)).want(http.StatusOK)

	h.as("hand", "GET "+at+"?pair=soft-99", nil).problem(http.StatusNotFound, "")
	h.as("hand", "GET "+at+"?moving=sideways", nil).problem(http.StatusUnprocessableEntity, "query.moving")
	h.as("hand", "GET "+at+"?shift_mm=left", nil).problem(http.StatusUnprocessableEntity, "query.shift_mm")
	h.as("hand", "GET "+at+"?grip_mm=-1", nil).problem(http.StatusUnprocessableEntity, "query.grip_mm")
	h.as("hand", "GET /api/jobs/none/pocket", nil).problem(http.StatusNotFound, "")
}
