//go:build !linux

package storetest

import (
	"os"
	"os/exec"
	"time"
)

// user is who the server runs as: on other systems always whoever runs the tests.
type user struct{}

func unprivileged() (user, error) { return user{}, nil }

// alive cannot be asked everywhere.
func alive(int) bool { return true }

func (user) give(...string) error { return nil }

func (user) become(*exec.Cmd) {}

// launch starts the server.
func (c *cluster) launch() error {
	if err := c.cmd.Start(); err != nil {
		return err
	}
	go func() {
		_ = c.cmd.Wait()
		close(c.gone)
	}()
	return nil
}

// halt ends the server.
func (c *cluster) halt() {
	_ = c.cmd.Process.Signal(os.Interrupt)
	select {
	case <-c.gone:
	case <-time.After(5 * time.Second):
		_ = c.cmd.Process.Kill()
		<-c.gone
	}
}
