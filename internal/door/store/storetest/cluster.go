package storetest

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// errMissing is the error of a system that has no server.
type errMissing struct{ what string }

func (e errMissing) Error() string { return e.what }

func missing(err error) bool { return errors.As(err, new(errMissing)) }

// cluster is a server at work.
type cluster struct {
	url  string
	dir  string
	cmd  *exec.Cmd
	gone chan struct{} // closed when the process has ended
}

// binaries is the folder of initdb and postgres: the newest that Debian's packages
// brought, or one on the PATH.
func binaries() (string, error) {
	folders, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	slices.SortFunc(folders, func(a, b string) int {
		if len(a) != len(b) {
			return len(b) - len(a) // 9 before 10
		}
		return strings.Compare(b, a)
	})
	if p, err := exec.LookPath("postgres"); err == nil {
		folders = append(folders, filepath.Dir(p))
	}
	for _, f := range folders {
		if _, err := os.Stat(filepath.Join(f, "postgres")); err != nil {
			continue
		}
		if _, err := os.Stat(filepath.Join(f, "initdb")); err == nil {
			return f, nil
		}
	}
	return "", errMissing{"PostgreSQL is not installed here (no postgres and initdb in /usr/lib/postgresql/*/bin or on the PATH)"}
}

// folderPrefix begins the name of a cluster's folder; the number of the process that
// made it follows.
const folderPrefix = "fettle-postgres-"

// clearAway removes the folders of test processes that were killed.
func clearAway() {
	old, _ := filepath.Glob(filepath.Join(os.TempDir(), folderPrefix+"*-*"))
	for _, dir := range old {
		number, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(dir), folderPrefix), "-")
		if pid, err := strconv.Atoi(number); err == nil && pid > 0 && !alive(pid) {
			os.RemoveAll(dir)
		}
	}
}

// start makes a cluster in a temporary folder and starts it. Nothing in it outlives
// the tests, so it never waits for the disk.
func start() (c *cluster, err error) {
	bin, err := binaries()
	if err != nil {
		return nil, err
	}
	who, err := unprivileged()
	if err != nil {
		return nil, err
	}
	clearAway()
	dir, err := os.MkdirTemp("", fmt.Sprintf("%s%d-", folderPrefix, os.Getpid()))
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			os.RemoveAll(dir)
		}
	}()
	data, sock := filepath.Join(dir, "data"), filepath.Join(dir, "sock")
	if err := os.Mkdir(sock, 0o700); err != nil {
		return nil, err
	}
	if err := who.give(dir, sock); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	initdb := exec.CommandContext(ctx, filepath.Join(bin, "initdb"), "--pgdata", data, "--username", "fettle",
		"--auth", "trust", "--encoding", "UTF8", "--no-locale", "--no-sync", "--no-instructions")
	initdb.Dir = dir
	who.become(initdb)
	if out, err := initdb.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("initdb: %w: %s", err, tail(string(out)))
	}
	// A port that is free now may be taken in a moment by another test.
	for range 5 {
		if c, err = serve(bin, dir, data, sock, who); err == nil {
			return c, nil
		}
	}
	return nil, err
}

func serve(bin, dir, data, sock string, who user) (*cluster, error) {
	port, err := freePort()
	if err != nil {
		return nil, err
	}
	logPath := filepath.Join(dir, "log")
	log, err := os.Create(logPath)
	if err != nil {
		return nil, err
	}
	defer log.Close()
	args := []string{"-D", data, "-p", fmt.Sprint(port), "-k", sock}
	for _, setting := range []string{
		"listen_addresses=127.0.0.1", "max_connections=200",
		"fsync=off", "synchronous_commit=off", "full_page_writes=off",
		"shared_buffers=32MB", "autovacuum=off", "deadlock_timeout=100ms",
	} {
		args = append(args, "-c", setting)
	}
	cmd := exec.Command(filepath.Join(bin, "postgres"), args...)
	cmd.Dir, cmd.Stdout, cmd.Stderr = dir, log, log
	who.become(cmd)
	c := &cluster{
		url: fmt.Sprintf("postgres://fettle@127.0.0.1:%d/postgres?sslmode=disable", port),
		dir: dir, cmd: cmd, gone: make(chan struct{}),
	}
	if err := c.launch(); err != nil {
		return nil, err
	}
	// The server writes "ready" as the last word of its lock file when it takes
	// connections (PostgreSQL manual, pg_ctl; miscadmin.h, LOCK_FILE_LINE_PM_STATUS).
	for until := time.Now().Add(30 * time.Second); time.Now().Before(until); time.Sleep(10 * time.Millisecond) {
		if pid, err := os.ReadFile(filepath.Join(data, "postmaster.pid")); err == nil && strings.HasSuffix(strings.TrimSpace(string(pid)), "ready") {
			return c, nil
		}
		select {
		case <-c.gone:
			said, _ := os.ReadFile(logPath)
			return nil, fmt.Errorf("postgres ended: %s", tail(string(said)))
		default:
		}
	}
	c.halt()
	return nil, errors.New("postgres was not ready within half a minute")
}

// stop ends the server and clears away all it kept.
func (c *cluster) stop() {
	c.halt()
	os.RemoveAll(c.dir)
}

func freePort() (int, error) {
	l, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}

// tail is the end of a program's output, where it says what went wrong.
func tail(s string) string {
	s = strings.TrimSpace(s)
	if len(s) > 600 {
		s = "…" + s[len(s)-600:]
	}
	return s
}
