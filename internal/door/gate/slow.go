package gate

import (
	"errors"
	"io"
	"net/http"
	"os"
	"time"

	"fettle"
)

// Steady is a reader over a request's body that gives up on one which comes too
// slowly: w is the answer to the same request. The sender has grace to spare, uses
// it up while the reader waits, and earns it back with what arrives, one second for
// bytesPerS bytes and never more than grace in all. So nothing stands still for
// longer than grace, and n bytes take at most grace + n/bytesPerS. Time that the
// caller spends between reads is not the sender's.
//
// The error is fettle.Invalid. A body behind [Gate.Wrap] is under a Steady already,
// which is replaced by one of a body that is handed over as it is.
func Steady(w http.ResponseWriter, r io.Reader, grace time.Duration, bytesPerS int64) io.Reader {
	if grace <= 0 || bytesPerS <= 0 {
		panic("gate: Steady without a grace or a rate")
	}
	if b, ok := r.(body); ok {
		r = b.Reader
	}
	if s, ok := r.(*steady); ok {
		r = s.r
	}
	return &steady{control: http.NewResponseController(w), r: r, grace: grace, left: grace, rate: bytesPerS}
}

type steady struct {
	control *http.ResponseController
	r       io.Reader
	grace   time.Duration
	left    time.Duration
	rate    int64
	err     error // the last word
}

func (s *steady) Read(p []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	began := time.Now()
	// A writer without deadlines, as in tests, is judged by the clock alone.
	if err := s.control.SetReadDeadline(began.Add(s.left)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return 0, err
	}
	n, err := s.r.Read(p)
	s.left -= time.Since(began)
	earned := s.grace
	if int64(n) < int64(s.grace.Seconds()*float64(s.rate)) {
		earned = time.Duration(float64(n) / float64(s.rate) * float64(time.Second))
	}
	slow := errors.Is(err, os.ErrDeadlineExceeded) || (err == nil && s.left+earned < 0)
	s.left = min(s.grace, s.left+earned)
	switch {
	case slow:
		s.err = &fettle.Error{
			Code:    fettle.Invalid,
			Message: "the upload came too slowly and was given up; try again where the connection is better",
			Err:     os.ErrDeadlineExceeded,
		}
		return n, s.err
	case err != nil:
		s.err = err
		// The server watches the connection while the handler goes on working: a
		// deadline that was left standing would end the request's context.
		s.control.SetReadDeadline(time.Time{})
	}
	return n, err
}
