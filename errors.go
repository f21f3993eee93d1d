package fettle

import (
	"errors"
	"fmt"
)

// Code says whose move it is when something goes wrong. It decides the exit
// status of a command and the status of a web answer.
type Code string

// The codes. Everything that is not an *Error counts as Internal, and its text
// is for the log, never for the user.
const (
	No       Code = "no"        // the work was done and the answer is "no"
	Invalid  Code = "invalid"   // what was asked for makes no sense
	NotFound Code = "not_found" // a name that the shelf or disk does not know
	BadFile  Code = "bad_file"  // a file that cannot be used as it is
	Conflict Code = "conflict"  // someone else changed it first, or holds it
	Denied   Code = "denied"    // not for whoever asks
	Full     Code = "full"      // no room left on a disk
	Internal Code = "internal"  // our fault
)

// Error is a failure that the user can act on: one sentence that says what is
// wrong, where, and what to try.
type Error struct {
	Code    Code
	Message string
	Err     error // the cause, for the log; may be nil
}

// Error returns the sentence.
func (e *Error) Error() string { return e.Message }

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// Errorf makes an *Error. A %w verb keeps the wrapped error as the cause.
func Errorf(code Code, format string, args ...any) *Error {
	err := fmt.Errorf(format, args...)
	return &Error{Code: code, Message: err.Error(), Err: errors.Unwrap(err)}
}

// CodeOf returns the code of the first *Error in err's chain, Internal for any
// other error, and "" for nil.
func CodeOf(err error) Code {
	if err == nil {
		return ""
	}
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

// ExitStatus maps an error to the exit status that every command documents:
// 0 done, 1 the answer is no, 2 bad use, 3 bad file, 4 our fault.
func ExitStatus(err error) int {
	switch CodeOf(err) {
	case "":
		return 0
	case No:
		return 1
	case Invalid, NotFound, Conflict, Denied, Full:
		return 2
	case BadFile:
		return 3
	default:
		return 4
	}
}
