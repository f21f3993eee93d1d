package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/pb33f/libopenapi"

	"fettle"
)

// memory is where the tests' gate keeps sessions and passcodes.
type memory struct {
	mu       sync.Mutex
	sessions map[string]fettle.Session
	secrets  map[string]string
}

func newMemory() *memory {
	return &memory{sessions: map[string]fettle.Session{}, secrets: map[string]string{}}
}

func (m *memory) SaveSession(_ context.Context, s fettle.Session) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.sessions[s.Token] = s
	return nil
}

func (m *memory) SessionOf(_ context.Context, sha string) (fettle.Session, bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	s, ok := m.sessions[sha]
	return s, ok, nil
}

func (m *memory) SeenSession(context.Context, string, time.Time) error { return nil }

func (m *memory) DropSession(_ context.Context, sha string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.sessions, sha)
	return nil
}

func (m *memory) DropSessions(_ context.Context, role string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for k, s := range m.sessions {
		if s.Role == role {
			delete(m.sessions, k)
		}
	}
	return nil
}

func (m *memory) Secret(_ context.Context, name string) (string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.secrets[name], nil
}

func (m *memory) SetSecret(_ context.Context, name, value string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.secrets[name] = value
	return nil
}

// bareAPI is an API whose shop is never asked.
func bareAPI(t testing.TB) *API {
	t.Helper()
	return New(Options{Shop: struct{ Shop }{}, Tasks: struct{ Tasks }{}, Safe: struct{ Safe }{}, Gate: anyGate(), Program: "test"})
}

// TestDescription has an independent reader of OpenAPI 3.1 take the description,
// and looks that nothing in it is left unsaid.
func TestDescription(t *testing.T) {
	a := bareAPI(t)
	text, err := a.Description()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := libopenapi.NewDocument(text)
	if err != nil {
		t.Fatal(err)
	}
	model, err := doc.BuildV3Model()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(model.Model.Version, "3.1") {
		t.Errorf("version %q", model.Model.Version)
	}
	seen := map[string]string{}
	n := 0
	for path, item := range model.Model.Paths.PathItems.FromOldest() {
		for method, op := range item.GetOperations().FromOldest() {
			n++
			at := strings.ToUpper(method) + " " + path
			if op.OperationId == "" || op.Summary == "" || len(op.Tags) == 0 {
				t.Errorf("%s has id %q, summary %q, tags %q", at, op.OperationId, op.Summary, op.Tags)
			}
			if was := seen[op.OperationId]; was != "" {
				t.Errorf("%s and %s are both %s", was, at, op.OperationId)
			}
			seen[op.OperationId] = at
			least, ok := op.Extensions.Get("x-least-role")
			if !ok || (least.Value != "nobody" && least.Value != "hand" && least.Value != "owner") {
				t.Errorf("%s says no least role", at)
			}
			good, bad := 0, 0
			for code, r := range op.Responses.Codes.FromOldest() {
				if code < "400" {
					good++
					continue
				}
				bad++
				if _, is := r.Content.Get("application/problem+json"); !is && code != "416" { // net/http writes that one
					t.Errorf("%s: %s is no problem document", at, code)
				}
			}
			if good == 0 || bad == 0 {
				t.Errorf("%s describes %d answers and %d errors", at, good, bad)
			}
			if _, is := op.Responses.Codes.Get("401"); is != (least.Value != "nobody") && op.OperationId != "log-in" && op.OperationId != "accept-invite" {
				t.Errorf("%s: 401 and role %s do not go together", at, least.Value)
			}
			for _, name := range regexp.MustCompile(`{(\w+)}`).FindAllStringSubmatch(path, -1) {
				found := false
				for _, p := range op.Parameters {
					found = found || p.In == "path" && p.Name == name[1]
				}
				if !found {
					t.Errorf("%s does not describe %s", at, name[1])
				}
			}
		}
	}
	if n != len(a.routes) || n < 150 {
		t.Errorf("%d operations described, %d made", n, len(a.routes))
	}
	if again, _ := bareAPI(t).Description(); string(again) != string(text) {
		t.Error("the description differs from one start to the next")
	}
}

// TestGivenAndKept looks that a document need not be complete when it is sent, and
// is when it is answered.
func TestGivenAndKept(t *testing.T) {
	text, err := bareAPI(t).Description()
	if err != nil {
		t.Fatal(err)
	}
	var d struct {
		Components struct {
			Schemas map[string]struct {
				Required   []string
				Additional any `json:"additionalProperties"`
				Properties map[string]any
			}
		}
	}
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	s := d.Components.Schemas
	if len(s["Run"].Required) < 3 || len(s["GivenRun"].Required) != 0 || len(s["GivenRun"].Properties) != len(s["Run"].Properties) {
		t.Errorf("a run: %d keys required of %d when answered, %d of %d when sent", len(s["Run"].Required), len(s["Run"].Properties), len(s["GivenRun"].Required), len(s["GivenRun"].Properties))
	}
	if s["GivenBrief"].Additional != false {
		t.Error("unknown keys of a brief are not refused")
	}
	for name := range s {
		if strings.HasPrefix(name, "GivenGiven") {
			t.Error("there is a schema", name)
		}
	}
}

// TestNoRole looks that an operation without a role cannot be served.
func TestNoRole(t *testing.T) {
	a := bareAPI(t)
	for _, r := range []route{
		{id: "x", tag: "x", call: "GET /api/x", summary: "x"},
		{id: "x", tag: "x", call: "GET /api/x", summary: "x", least: "somebody"},
		{id: "x", tag: "x", call: "GET /elsewhere", summary: "x", least: owner},
		{id: "x", tag: "x", call: "GET /api/x", least: owner},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%+v was taken", r)
				}
			}()
			add(a, r, func(context.Context, *struct{}) (*struct{}, error) { return nil, nil })
		}()
	}
}

func ExampleAPI() {
	fmt.Println(http.MethodGet, pathOf(fettle.KeptJob))
	// Output: GET /api/jobs
}
