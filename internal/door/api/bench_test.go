package api

import (
	"net/http"
	"testing"

	"github.com/google/uuid"
)

// TestRunWithoutConnection sends what a phone kept while it heard nothing, twice.
func TestRunWithoutConnection(t *testing.T) {
	h := open(t, 0)
	part := h.make("parts", nil, m{"name": "Escutcheon plate"})
	job := h.make("jobs", m{"part": part.ID}, m{"title": "Escutcheon plates", "brief": brief})
	id := uuid.Must(uuid.NewV7()).String()
	begun := m{"id": id, "kind": "rub", "grit": "P400", "area_mm2": 2000, "size_mm": 60, "started": "2026-03-31T08:00:00.25Z"}
	over := m{"ended": "2026-03-31T09:30:00.5Z"}
	for range 2 {
		if r := h.as("hand", "POST /api/jobs/"+job.ID+"/runs", begun, "Idempotency-Key", "start").want(http.StatusCreated).record(); r.ID != id {
			t.Errorf("%+v", r)
		}
		h.as("hand", "POST /api/runs/"+id+"/looked", m{"at_h": 0.5}).want(http.StatusOK)
		h.as("hand", "POST /api/runs/"+id+"/readings", m{"kind": "minutes", "at_h": 0.5, "value": 6}, "Idempotency-Key", "read").want(http.StatusCreated)
		h.as("hand", "POST /api/runs/"+id+"/end", over).want(http.StatusOK)
	}
	h.as("hand", "POST /api/runs/"+id+"/end", m{"ended": "2026-03-31T10:00:00Z"}).problem(http.StatusConflict, "")
	h.as("hand", "POST /api/runs/"+id+"/end", m{"ended": "2026-03-31T09:30:00Z", "hours": 1}).problem(http.StatusConflict, "")

	rec := h.as("hand", "GET /api/runs/"+id, nil).want(http.StatusOK)
	tag := rec.header.Get("ETag")
	h.as("hand", "POST /api/runs/"+id+"/resume", nil).problem(http.StatusPreconditionRequired, "header.If-Match")
	h.as("hand", "POST /api/runs/"+id+"/resume", nil, "If-Match", tag).want(http.StatusOK)
	h.as("hand", "POST /api/runs/"+id+"/resume", nil, "If-Match", tag).want(http.StatusPreconditionFailed)
	// Without a plan there are no steps to show.
	h.as("hand", "GET /api/jobs/"+job.ID+"/steps", nil).problem(http.StatusNotFound, "")
}
