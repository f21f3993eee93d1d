package main

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
)

// TestDiskFull serves a shop on a disk with little room, and fills it in every way
// that a shop can. Each is refused in one sentence, nothing that was answered is lost,
// and with room again all goes on.
func TestDiskFull(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=12m"); err != nil {
		t.Skipf("NOT COMPARED: a small disk can only be mounted by root (%v)", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	h := house{dir: filepath.Join(disk, "shop")}
	server := h.serve(t).up(t)
	asJSON := map[string]string{"Content-Type": "application/json"}

	full := func(what string, a answer, err error) {
		t.Helper()
		var p struct {
			Status int
			Code   fettle.Code
			Detail string
		}
		if err != nil || a.status != http.StatusInsufficientStorage || a.header.Get("Content-Type") != "application/problem+json" ||
			json.Unmarshal(a.body, &p) != nil || p.Status != a.status || p.Code != fettle.Full || !strings.Contains(p.Detail, "room") {
			t.Errorf("%s on a full disk: %d %s %v; want a problem of status 507", what, a.status, a.body, err)
		}
	}
	well := func(what string) {
		t.Helper()
		if a, err := server.ask("GET", "/api/jobs?limit=5", nil, nil); err != nil || a.status != 200 {
			t.Errorf("after %s: reads answer %d %s, %v", what, a.status, a.body, err)
		}
	}
	must := func(a answer, err error) told {
		t.Helper()
		var r told
		if err != nil || !a.ok() || json.Unmarshal(a.body, &r) != nil {
			t.Fatalf("%d %s, %v", a.status, a.body, err)
		}
		return r
	}

	part := must(server.ask("POST", "/api/parts", asJSON, []byte(`{"body": {"name": "plate"}}`)))
	files := "/api/parts/" + part.ID + "/files?name="
	bytesOf := map[string]string{"Content-Type": "application/octet-stream"}
	block := must(server.ask("POST", files+"block.stl", bytesOf, stl(t, form.Box(20, 10, 5))))

	// A model for which there is no room.
	large := make([]byte, 16<<20)
	if _, err := rand.Read(large); err != nil {
		t.Fatal(err)
	}
	a, err := server.ask("POST", files+"large.stl", bytesOf, large)
	full("an upload", a, err)
	well("an upload")
	a, err = server.ask("POST", "/api/packs", bytesOf, large)
	full("a pack", a, err)
	well("a pack")
	if left := names(filepath.Join(h.dir, "scratch")); len(left) > 0 {
		t.Errorf("what did not fit is still there: %v", left)
	}

	// Records, until there is no room for the next.
	var kept []told
	notes := strings.Repeat("the customer's own words, ", 5000)
	for i := range 400 {
		a, err := server.ask("POST", "/api/customers", asJSON, fmt.Appendf(nil, `{"body": {"name": "customer %d", "notes": %q}}`, i, notes))
		if a.status != http.StatusCreated {
			full("a customer", a, err)
			break
		}
		kept = append(kept, must(a, err))
	}
	if len(kept) < 20 || len(kept) == 400 {
		t.Fatalf("the disk was full after %d records", len(kept))
	}
	well("records")
	// The last kilobytes too.
	fill(t, filepath.Join(disk, "filler"))
	a, err = server.ask("PUT", "/api/customers/"+kept[0].ID, map[string]string{"Content-Type": "application/json", "If-Match": `"1"`},
		fmt.Appendf(nil, `{"body": {"name": "customer 0", "notes": %q}}`, notes+"!"))
	full("a change", a, err)
	a, err = server.ask("POST", files+"small.stl", bytesOf, large[:100_000])
	full("a small upload", a, err)

	// Work: the survey cannot be kept, and says so; or it cannot even be asked for.
	a, err = server.ask("GET", "/api/files/"+block.ID+"/survey", nil, nil)
	switch {
	case err == nil && a.status == http.StatusAccepted:
		var task fettle.Task
		if json.Unmarshal(a.body, &task) != nil {
			t.Fatalf("%s", a.body)
		}
		if task = over(t, server, task.ID); task.State == fettle.Done || !strings.Contains(task.Why, "room") {
			t.Errorf("a survey on a full disk is %s: %q", task.State, task.Why)
		}
	default:
		full("a survey", a, err)
	}
	well("a survey")

	// Backups: onto the full disk, and through the door, whose scratch is on it.
	if says := h.refused(t, "backup", filepath.Join(disk, "shop.zip")); !strings.Contains(says, "room") {
		t.Errorf("%q does not say why", says)
	}
	if entries := names(disk); len(entries) != 2 {
		t.Errorf("a backup that did not fit left %v", entries)
	}
	a, err = server.ask("GET", "/api/backup", nil, nil)
	if err == nil && a.status == 200 {
		t.Logf("a backup through the door needs no room: %d bytes", len(a.body))
	} else {
		full("a backup through the door", a, err)
	}
	well("a backup")
	if server.ended() {
		t.Fatalf("the server is gone and said %q", server.words())
	}

	// Room again: everything goes on, and everything is there.
	if err := os.Remove(filepath.Join(disk, "filler")); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", disk, "tmpfs", syscall.MS_REMOUNT, "size=64m"); err != nil {
		t.Fatal(err)
	}
	for _, k := range kept {
		r := must(server.ask("GET", "/api/customers/"+k.ID, nil, nil))
		if r.Rev != 1 || !bytes.Contains(r.Body, []byte(notes)) {
			t.Errorf("customer %s is in revision %d, with %d bytes", k.ID, r.Rev, len(r.Body))
		}
	}
	must(server.ask("POST", files+"large.stl", bytesOf, large))
	a, err = server.ask("GET", "/api/files/"+block.ID+"/survey", nil, nil)
	if err != nil || a.status != http.StatusAccepted && a.status != http.StatusOK {
		t.Errorf("a survey with room again: %d %s, %v", a.status, a.body, err)
	}
	if a.status == http.StatusAccepted {
		var task fettle.Task
		if json.Unmarshal(a.body, &task) != nil || over(t, server, task.ID).State != fettle.Done {
			t.Errorf("a survey with room again: %s", a.body)
		}
	}
	if status, out, errs := h.fettle(t, "check"); status != 0 {
		t.Errorf("check: status %d, %s%s", status, out, errs)
	}
}

// fill writes a file until the disk has no byte left.
func fill(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for size := 1 << 20; size > 0; {
		if _, err := f.Write(make([]byte, size)); err != nil {
			size /= 2
		}
	}
}
