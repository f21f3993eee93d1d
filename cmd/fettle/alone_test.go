package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/shape/form"
)

// TestTwoAtOnce holds one workspace with fettle serve and comes with all other
// commands: those that change something are refused, those that read are not, and
// after a crash the next one gets in at once.
func TestTwoAtOnce(t *testing.T) {
	dir := t.TempDir()
	h := house{dir: filepath.Join(dir, "shop")}
	model := filepath.Join(dir, "block.stl")
	if err := os.WriteFile(model, stl(t, form.Box(30, 20, 10)), 0o600); err != nil {
		t.Fatal(err)
	}
	server := h.serve(t).up(t)
	a, err := server.ask("POST", "/api/jobs", map[string]string{"Content-Type": "application/json"}, []byte(`{"body": {"title": "Block", "brief": {"material": "naval brass", "finish": "deburred", "lot": 3}}}`))
	if err != nil || a.status != 201 {
		t.Fatalf("%d %s, %v", a.status, a.body, err)
	}

	backup := filepath.Join(dir, "shop.zip")
	for _, c := range []struct {
		says string
		args []string
	}{
		{"Block", []string{"job", "list"}},
		{"", []string{"job", "show", "Block"}},
		{backup, []string{"backup", backup}},
		{"as it was stored", []string{"check"}},
		{"ceramic-fine-5", []string{"shelf"}},
	} {
		if status, out, errs := h.fettle(t, c.args...); status != 0 || !strings.Contains(out, c.says) {
			t.Errorf("fettle %s beside it: status %d, out %q, err %q", strings.Join(c.args, " "), status, out, errs)
		}
	}
	if !testing.Short() {
		// A plan reads the shelf of the shop: an alloy that is on no other is found.
		a, err := server.ask("GET", "/api/shelf", nil, nil)
		if err != nil || a.status != 200 {
			t.Fatalf("%d, %v", a.status, err)
		}
		shelf := bytes.ReplaceAll(a.body, []byte(`"naval brass"`), []byte(`"bell brass"`))
		if a, err = server.ask("PUT", "/api/shelf", map[string]string{"Content-Type": "application/json", "If-Match": a.header.Get("ETag")}, shelf); err != nil || a.status != 200 {
			t.Fatalf("%d %s, %v", a.status, a.body, err)
		}
		if status, out, errs := h.fettle(t, "-q", "plan", model, "--material", "bell brass", "--finish", "deburred"); status != 0 && status != 1 || !strings.Contains(out, "bell brass") && !strings.Contains(out, "Naval brass") {
			t.Errorf("a plan beside it: status %d, out %q, err %q", status, out, errs)
		}
	}
	for _, args := range [][]string{
		{"serve", "--listen", "127.0.0.1:0"},
		{"job", "new", model, "--material", "naval brass", "--finish", "satin"},
		{"job", "state", "Block", "agreed"},
		{"restore", backup},
		{"passcode", "hand", "--file", model},
		{"backup", backup}, // overwrites nothing
	} {
		says := h.refused(t, args...)
		if args[0] != "backup" && !strings.Contains(says, "is in use by fettle (process ") {
			t.Errorf("fettle %s: %q does not say who is there", args[0], says)
		}
	}
	if a, err := server.ask("GET", "/api/health", nil, nil); err != nil || a.status != 200 {
		t.Errorf("it is not well after all that: %d, %v", a.status, err)
	}

	server.kill()
	if status, _, errs := h.fettle(t, "job", "state", "Block", "agreed"); status != 0 {
		t.Errorf("after a crash: status %d, %s", status, errs)
	}
	h.serve(t).up(t)
}
