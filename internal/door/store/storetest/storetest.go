// Package storetest starts a PostgreSQL server of its own for tests: [Postgres]
// gives its URL, [Main] stops it when all are done, and each test takes a [Schema]
// to itself.
//
//	func TestMain(m *testing.M) { storetest.Main(m) }
//
//	func TestShop(t *testing.T) {
//		url, schema := storetest.Postgres(t), storetest.Schema(t)
//		…
//	}
//
// The server is the one that the system's packages bring. Where there is none, the
// test is skipped and says what was not compared; with FETTLE_NEED_POSTGRES=1 in
// the environment it fails.
package storetest

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

// Need is the variable that, set to 1, makes a missing server a failure.
const Need = "FETTLE_NEED_POSTGRES"

var server struct {
	once sync.Once
	mu   sync.Mutex
	run  *cluster
	err  error
}

// Postgres is the URL of a database on a server that runs as long as this test
// process does. It is started when it is first asked for.
func Postgres(t testing.TB) (url string) {
	t.Helper()
	server.once.Do(func() {
		run, err := start()
		server.mu.Lock()
		server.run, server.err = run, err
		server.mu.Unlock()
	})
	if server.err == nil {
		return server.run.url
	}
	if missing(server.err) && os.Getenv(Need) != "1" {
		t.Skipf("NOT COMPARED: %v; install the Debian package postgresql, or set %s=1 to make this a failure", server.err, Need)
	}
	t.Fatalf("no PostgreSQL to test with: %v", server.err)
	return ""
}

// Main runs a package's tests and then stops the server, if one was started. It
// returns the status to exit with; TestMain may ignore it.
func Main(m *testing.M) int {
	status := m.Run()
	server.mu.Lock()
	defer server.mu.Unlock()
	if server.run != nil {
		server.run.stop()
		server.run = nil
	}
	return status
}

var schemas atomic.Int64

// Schema is the name of a schema that no other test uses.
func Schema(t testing.TB) string {
	t.Helper()
	name := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '_'
	}, t.Name())
	return fmt.Sprintf("t%d_%.40s", schemas.Add(1), name)
}
