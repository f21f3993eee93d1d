package storetest

import (
	"fmt"
	"os"
	"os/exec"
	osuser "os/user"
	"runtime"
	"strconv"
	"syscall"
	"time"
)

// user is who the server runs as: PostgreSQL refuses to run as root.
type user struct {
	other    bool
	uid, gid uint32
}

// unprivileged is whoever runs the tests, and where that is root, somebody else.
func unprivileged() (user, error) {
	if os.Geteuid() != 0 {
		return user{}, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := osuser.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
		gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
		if err1 == nil && err2 == nil && uid != 0 {
			return user{true, uint32(uid), uint32(gid)}, nil
		}
	}
	return user{}, fmt.Errorf("there is no user postgres or nobody to run it as")
}

// alive reports whether there is a process of this number; kill(2).
func alive(pid int) bool { return syscall.Kill(pid, 0) != syscall.ESRCH }

// give makes the user own folders.
func (u user) give(paths ...string) error {
	if !u.other {
		return nil
	}
	for _, p := range paths {
		if err := os.Chown(p, int(u.uid), int(u.gid)); err != nil {
			return err
		}
	}
	return nil
}

// become makes a command run as the user, and end by SIGQUIT, which is the server's
// word for ending at once, when the thread that starts it does.
func (u user) become(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGQUIT}
	if u.other {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: u.uid, Gid: u.gid}
	}
}

// launch starts the server on a thread that lives as long as the server or this
// process, for the signal comes when the thread ends.
func (c *cluster) launch() error {
	started := make(chan error)
	go func() {
		runtime.LockOSThread()
		err := c.cmd.Start()
		started <- err
		if err == nil {
			_ = c.cmd.Wait()
		}
		close(c.gone)
	}()
	return <-started
}

// halt ends the server: with a fast shutdown, and harder where that is not enough.
func (c *cluster) halt() {
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGQUIT, syscall.SIGKILL} {
		_ = c.cmd.Process.Signal(sig)
		select {
		case <-c.gone:
			return
		case <-time.After(5 * time.Second):
		}
	}
}
