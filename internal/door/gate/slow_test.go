package gate

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"fettle"
)

// serve runs the server as it is, but for the time it has for headers, and returns
// where it listens.
func serve(t *testing.T, h http.Handler, headers time.Duration) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := Server(h, nil)
	srv.ReadHeaderTimeout = headers
	go srv.Serve(l)
	t.Cleanup(func() { srv.Close() })
	return l.Addr().String()
}

func dial(t *testing.T, addr string) net.Conn {
	t.Helper()
	c, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	c.SetDeadline(time.Now().Add(5 * time.Second))
	return c
}

func TestServerLimits(t *testing.T) {
	s := Server(http.NotFoundHandler(), nil)
	if s.ReadHeaderTimeout != 10*time.Second || s.IdleTimeout != 2*time.Minute || s.MaxHeaderBytes != 32<<10 || s.WriteTimeout != 0 || s.TLSConfig != nil {
		t.Errorf("%+v", s)
	}
}

// A header that comes one byte at a time is not waited for.
func TestSlowHeader(t *testing.T) {
	t.Parallel()
	addr := serve(t, http.HandlerFunc(func(http.ResponseWriter, *http.Request) { t.Error("it was served") }), 250*time.Millisecond)
	c := dial(t, addr)
	began := time.Now()
	io.WriteString(c, "GET / HTTP/1.1\r\nHost: localhost\r\nX-A: ")
	for range 100 {
		if _, err := io.WriteString(c, "b"); err != nil {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	_, err := io.Copy(io.Discard, c)
	if took := time.Since(began); took > 15*time.Second || isTimeout(err) {
		t.Errorf("broken off after %v: %v", took, err)
	}
}

func isTimeout(err error) bool {
	var e net.Error
	return errors.As(err, &e) && e.Timeout()
}

// A header past the limit is refused (net/http allows 4 KiB on top).
func TestLongHeader(t *testing.T) {
	t.Parallel()
	addr := serve(t, http.NotFoundHandler(), time.Second)
	c := dial(t, addr)
	go fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: localhost\r\nX-A: %s\r\n\r\n", strings.Repeat("a", 40<<10))
	res, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil || res.StatusCode != http.StatusRequestHeaderFieldsTooLarge {
		t.Fatalf("%v, %v", res, err)
	}
}

// upload is a handler that reads a body steadily and says how that ended.
func upload(grace time.Duration, rate int64, got chan<- error, size chan<- int) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, err := io.ReadAll(Steady(w, r.Body, grace, rate))
		got <- err
		size <- len(b)
		if err != nil {
			http.Error(w, err.Error(), http.StatusRequestTimeout)
		}
	})
}

// A body that trickles, or stops, is given up within grace + n/rate; the answer
// still reaches the sender.
func TestSlowBody(t *testing.T) {
	t.Parallel()
	for name, every := range map[string]time.Duration{"stops": 0, "trickles": 15 * time.Millisecond} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, size := make(chan error, 1), make(chan int, 1)
			const grace, rate = 200 * time.Millisecond, 2000
			c := dial(t, serve(t, upload(grace, rate, got, size), time.Second))
			io.WriteString(c, "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000000\r\n\r\n0123456789")
			began := time.Now()
			done := make(chan struct{})
			go func() {
				defer close(done)
				for every > 0 && time.Since(began) < 3*time.Second {
					if _, err := io.WriteString(c, "x"); err != nil { // 67 bytes/s
						return
					}
					time.Sleep(every)
				}
			}()
			err := <-got
			took, n := time.Since(began), <-size
			wantCode(t, err, fettle.Invalid)
			most := grace + time.Duration(n)*time.Second/rate
			if took < grace/2 || took > most+400*time.Millisecond {
				t.Errorf("given up after %v and %d bytes, at most %v", took, n, most)
			}
			if res, err := http.ReadResponse(bufio.NewReader(c), nil); err != nil || res.StatusCode != http.StatusRequestTimeout {
				t.Errorf("the sender hears %v, %v", res, err)
			}
			c.Close()
			<-done
		})
	}
}

// A body that comes steadily is read for far longer than the grace, and so is one
// whose reader takes its time.
func TestSteadyBody(t *testing.T) {
	t.Parallel()
	got, size := make(chan error, 1), make(chan int, 1)
	const grace, rate = 250 * time.Millisecond, 1000
	c := dial(t, serve(t, upload(grace, rate, got, size), time.Second))
	const pieces, each = 40, 100 // 5 kB/s for 0.8 s
	fmt.Fprintf(c, "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: %d\r\n\r\n", pieces*each)
	for range pieces {
		io.WriteString(c, strings.Repeat("x", each))
		time.Sleep(20 * time.Millisecond)
	}
	if err := <-got; err != nil || <-size != pieces*each {
		t.Errorf("%v", err)
	}

	lazy := make(chan error, 1)
	addr := serve(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s := Steady(w, r.Body, 150*time.Millisecond, 1<<30)
		b := make([]byte, 10)
		var err error
		for range 5 {
			if _, err = io.ReadFull(s, b); err != nil {
				break
			}
			time.Sleep(100 * time.Millisecond)
		}
		lazy <- err
	}), time.Second)
	c = dial(t, addr)
	fmt.Fprintf(c, "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 50\r\n\r\n%s", strings.Repeat("x", 50))
	if err := <-lazy; err != nil {
		t.Errorf("the reader's own time is held against the sender: %v", err)
	}
}

// When all has come, no deadline is left that would end the work on it.
func TestWorkAfterTheBody(t *testing.T) {
	t.Parallel()
	s := newShop(t, nil)
	ended := make(chan error, 1)
	h := s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		io.Copy(io.Discard, Steady(w, r.Body, 150*time.Millisecond, 1))
		select {
		case <-r.Context().Done():
			ended <- r.Context().Err()
		case <-time.After(300 * time.Millisecond):
			ended <- nil
		}
	}))
	res, err := http.Post("http://"+serve(t, h, time.Second), "text/plain", strings.NewReader("x"))
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if err := <-ended; err != nil {
		t.Errorf("the work ended with the body: %v", err)
	}
}

// Every body behind the gate is watched, and a handler's own measure replaces that.
func TestGateWatchesBodies(t *testing.T) {
	s := newShop(t, nil)
	var in io.Reader
	w := httptest.NewRecorder()
	h := s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { in = r.Body }))
	h.ServeHTTP(w, httptest.NewRequest("POST", "http://localhost/", strings.NewReader("x")))
	b, ok := in.(body)
	if !ok {
		t.Fatalf("a body is a %T", in)
	}
	st, ok := b.Reader.(*steady)
	if !ok || st.grace != bodyGrace || st.rate != bodyRate {
		t.Fatalf("a body is read by %+v", b.Reader)
	}
	if again := Steady(w, in, time.Second, 5).(*steady); again.r != st.r || again.rate != 5 {
		t.Errorf("two measures on one body: %+v", again)
	}
}

// halting gives some bytes and then waits before each.
type halting struct{ wait time.Duration }

func (h halting) Read(p []byte) (int, error) {
	time.Sleep(h.wait)
	p[0] = 'x'
	return 1, nil
}

// Where there are no deadlines, the clock alone decides.
func TestSteadyWithoutDeadlines(t *testing.T) {
	t.Parallel()
	s := Steady(httptest.NewRecorder(), halting{5 * time.Millisecond}, 50*time.Millisecond, 1000)
	n, err := io.Copy(io.Discard, io.LimitReader(s, 1000))
	wantCode(t, err, fettle.Invalid)
	if n > 20 {
		t.Errorf("%d bytes before it was given up", n)
	}
	if _, again := s.Read(make([]byte, 1)); again != err {
		t.Errorf("read again: %v", again)
	}
	fast := Steady(httptest.NewRecorder(), bytes.NewReader(make([]byte, 1<<20)), time.Second, 1<<40)
	if n, err := io.Copy(io.Discard, fast); n != 1<<20 || err != nil {
		t.Errorf("%d bytes, %v", n, err)
	}
}
