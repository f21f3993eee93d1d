package storetest

import (
	"bufio"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestKilled: a test process that is killed takes its server with it, and the next
// one clears away what it left.
func TestKilled(t *testing.T) {
	const child = "FETTLE_TEST_CHILD"
	if os.Getenv(child) != "" {
		os.Stdout.WriteString("at " + Postgres(t) + "\n")
		time.Sleep(time.Minute)
		return
	}
	if testing.Short() {
		t.Skip("makes another cluster")
	}
	Postgres(t) // or it is skipped
	c := exec.Command(os.Args[0], "-test.run=^TestKilled$")
	c.Env = append(os.Environ(), child+"=1")
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	line, _ := bufio.NewReader(out).ReadString('\n')
	_ = c.Process.Kill()
	_ = c.Wait()
	u, err := url.Parse(strings.TrimSpace(strings.TrimPrefix(line, "at ")))
	if err != nil || u.Host == "" {
		t.Fatalf("no server: %q", line)
	}
	for until := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		conn, err := net.Dial("tcp", u.Host)
		if err != nil {
			break
		}
		conn.Close()
		if time.Now().After(until) {
			t.Fatal("the server still answers")
		}
	}
	clearAway()
	left, _ := filepath.Glob(filepath.Join(os.TempDir(), folderPrefix+"*-*"))
	for _, dir := range left {
		if strings.HasPrefix(filepath.Base(dir), fmt.Sprintf("%s%d-", folderPrefix, c.Process.Pid)) {
			t.Errorf("%s is left", dir)
		}
	}
}
