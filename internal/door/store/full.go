package store

import (
	"errors"
	"runtime"
	"syscall"
)

// noRoom reports whether a disk is full, or one's share of it.
func noRoom(err error) bool {
	var n syscall.Errno
	if !errors.As(err, &n) {
		return false
	}
	if runtime.GOOS == "windows" {
		return n == 39 || n == 112 // ERROR_HANDLE_DISK_FULL, ERROR_DISK_FULL
	}
	return n == syscall.ENOSPC || n == syscall.EDQUOT
}
