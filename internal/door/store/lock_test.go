package store

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"testing"
	"time"

	"fettle"
)

// contextAfter is a context that ends when its function was called n times more.
func contextAfter(n int) (context.Context, func()) {
	c, cancel := context.WithCancel(context.Background())
	return c, func() {
		if n--; n < 0 {
			cancel()
		}
	}
}

func wantsStopped(t testing.TB, err error) {
	t.Helper()
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("stopped with %v", err)
	}
}

// child runs a test of this binary as a process of its own.
func child(t testing.TB, test string, env ...string) *exec.Cmd {
	t.Helper()
	c := exec.Command(os.Args[0], "-test.run=^"+test+"$", "-test.count=1")
	c.Env = append(os.Environ(), append(env, "FETTLE_TEST_CHILD=1")...)
	c.Stderr = os.Stderr
	return c
}

func onlyChild(t *testing.T) {
	if os.Getenv("FETTLE_TEST_CHILD") == "" {
		t.Skip("runs as a process of another test")
	}
}

// TestLockChild opens a workspace and stays.
func TestLockChild(t *testing.T) {
	onlyChild(t)
	s, err := Open(ctx, Options{Dir: os.Getenv("FETTLE_TEST_DIR")})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	made(t, s, fettle.KeptMop, "kept by the first")
	fmt.Println("open")
	time.Sleep(time.Minute)
}

// A second process is refused in a sentence that says who is in; when the first is
// killed the second gets in, and finds what the first was told is kept.
func TestLockBetweenProcesses(t *testing.T) {
	p := place{Options{Dir: t.TempDir()}}
	first := child(t, "TestLockChild", "FETTLE_TEST_DIR="+p.Dir)
	out, err := first.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = first.Process.Kill() }()
	if line, _ := bufio.NewReader(out).ReadString('\n'); line != "open\n" {
		t.Fatalf("the first said %q", line)
	}
	_, err = Open(ctx, p.Options)
	wants(t, err, fettle.Conflict)
	says := fmt.Sprintf(`^the workspace %s is in use by fettle \(process %d, since \d\d:\d\d( on \d{4}-\d\d-\d\d)?\); stop it, or ask it through its page$`, regexp.QuoteMeta(p.Dir), first.Process.Pid)
	if !regexp.MustCompile(says).MatchString(err.Error()) {
		t.Fatalf("refused with %q", err)
	}
	reads := p
	reads.ReadOnly = true
	sound(t, reads.open(t))

	if err := first.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = first.Wait()
	s := p.open(t)
	must[fettle.Record](t)(s.Named(ctx, fettle.KeptMop, "Kept by the first"))
	sound(t, s)
}

// Many share a workspace whose records are in PostgreSQL; who wants it alone waits
// for all of them.
func TestLockShared(t *testing.T) {
	dir := t.TempDir()
	lock := must[func() error](t)
	defer func(d time.Duration) { shareWait = d }(shareWait)
	shareWait = 50 * time.Millisecond
	a, b := lock(lockDir(dir, true)), lock(lockDir(dir, true))
	_, err := lockDir(dir, false)
	wants(t, err, fettle.Conflict)
	a()
	_, err = lockAlone(dir)
	wants(t, err, fettle.Conflict)
	b()
	r := lock(lockReader(dir))
	c := lock(lockDir(dir, false))
	_, err = lockDir(dir, true)
	wants(t, err, fettle.Conflict)
	c()
	_, err = lockAlone(dir)
	wants(t, err, fettle.Conflict)
	r()
	d := lock(lockAlone(dir))
	_, err = lockReader(dir)
	wants(t, err, fettle.Conflict)
	d()
	d() // a second time does nothing
	lock(lockDir(dir, false))()

	_, err = lockDir(dir+"/none", false)
	wants(t, err, fettle.NotFound)
}

// A note that a dead process left names nobody.
func TestLockNoteOfTheDead(t *testing.T) {
	dir := t.TempDir()
	release := must[func() error](t)(lockDir(dir, false))
	defer release()
	gone := exec.Command(os.Args[0], "-test.run=^$")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	for _, note := range []string{fmt.Sprintf(`{"process":%d,"since":"2026-03-03T14:02:00Z"}`, gone.Process.Pid), `{"process":-1}`, `garbage`, ``} {
		if err := os.WriteFile(dir+"/"+noteName, []byte(note), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := lockDir(dir, false)
		wants(t, err, fettle.Conflict)
		if want := "the workspace " + dir + " is in use by another fettle; stop it, or ask it through its page"; err.Error() != want {
			t.Fatalf("%q", err)
		}
	}
}

func TestLockClock(t *testing.T) {
	now := time.Date(2026, 3, 3, 15, 0, 0, 0, time.Local)
	if got := clock(now.Add(-58*time.Minute), now); got != "14:02" {
		t.Fatal(got)
	}
	if got := clock(now.Add(-24*time.Hour), now); got != "15:00 on 2026-03-02" {
		t.Fatal(got)
	}
}
