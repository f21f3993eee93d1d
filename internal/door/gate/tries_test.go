package gate

import (
	"fmt"
	"net/netip"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// In whatever way three callers try and succeed, in no window has one of them more
// tries than its five and one for each five seconds, nor all together more than
// theirs; after ten failures in a row the next try waits, longer each time; and
// who waits as long as was said is let through.
func TestTriesInAnyWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := newTries()
		now := newClock().t
		const callers = 3
		var all []time.Time
		var at [callers][]time.Time
		var failed [callers]int // since the owner came in
		var last [callers]time.Time
		for range rapid.IntRange(1, 150).Draw(t, "steps") {
			now = now.Add(time.Duration(rapid.Int64Range(0, int64(rapid.SampledFrom([]time.Duration{time.Millisecond, time.Second, 6 * time.Second, 20 * time.Minute}).Draw(t, "up to"))).Draw(t, "pass")))
			c := rapid.IntRange(0, callers-1).Draw(t, "who")
			remote := fmt.Sprintf("192.168.1.%d:99", c)
			try, wait := tr.begin(remote, now)
			if try == nil {
				if wait <= 0 || wait > longestWait {
					t.Fatalf("to wait %v", wait)
				}
				if rapid.Bool().Draw(t, "wait") {
					now = now.Add(wait)
					// The limit of all may have more to say than that of one.
					for range 2 {
						if try, wait = tr.begin(remote, now); try == nil {
							now = now.Add(wait)
						} else {
							break
						}
					}
					if try == nil {
						if try, wait = tr.begin(remote, now); try == nil {
							t.Fatalf("waited as told, and again %v", wait)
						}
					}
				} else {
					continue
				}
			}
			if n := len(at[c]); n > 0 {
				if now.Sub(at[c][n-1]) > forgottenIn {
					failed[c] = 0
				}
				gap := now.Sub(last[c])
				if over := failed[c] - 10; over >= 0 {
					least := 15 * time.Second
					for range over {
						least = min(15*time.Minute, 2*least)
					}
					if gap < least {
						t.Fatalf("after %d failures the next try came after %v, want %v", failed[c], gap, least)
					}
				}
			}
			at[c], all = append(at[c], now), append(all, now)
			switch rapid.SampledFrom([]string{"no", "no", "no", "no", "no", "owner", "hand", "fault"}).Draw(t, "ends") {
			case "no":
				failed[c]++
				last[c] = now
			case "owner":
				try.passed(Owner)
				failed[c] = 0
			case "hand":
				try.passed(Hand)
			case "fault":
				try.forget()
			}
		}
		for _, w := range append([]struct {
			at    []time.Time
			burst int
			every time.Duration
		}{{all, 30, time.Second}}, []struct {
			at    []time.Time
			burst int
			every time.Duration
		}{{at[0], 5, 5 * time.Second}, {at[1], 5, 5 * time.Second}, {at[2], 5, 5 * time.Second}}...) {
			for i := range w.at {
				for j := i; j < len(w.at); j++ {
					span := w.at[j].Sub(w.at[i])
					if most := float64(w.burst) + span.Seconds()/w.every.Seconds(); float64(j-i+1) > most+1e-6 {
						t.Fatalf("%d tries in %v, at most %.2f", j-i+1, span, most)
					}
				}
			}
		}
	})
}

// Twelve hours of guessing as fast as the gate lets.
func TestGuessingAllNight(t *testing.T) {
	for _, between := range []bool{false, true} {
		tr := newTries()
		now := newClock().t
		end, n, turn := now.Add(12*time.Hour), 0, 0
		for now.Before(end) {
			try, wait := tr.begin("192.168.1.9:1", now)
			if try == nil {
				now = now.Add(wait)
				continue
			}
			if turn++; between && turn%2 == 0 { // logs in as the hand between guesses
				try.passed(Hand)
				continue
			}
			n++
		}
		t.Logf("%d guesses, with the hand's passcode between them: %v", n, between)
		if n < 10 || n > 70 {
			t.Errorf("%d guesses in one night", n)
		}
	}
}

func TestManyAddresses(t *testing.T) {
	tr := newTries()
	now := newClock().t
	a := netip.MustParseAddr("10.0.0.0")
	for range 3 * mostCallers {
		a = a.Next()
		tr.begin(a.String(), now)
	}
	if len(tr.known) > mostCallers {
		t.Errorf("%d addresses are remembered", len(tr.known))
	}
	// An hour later those are forgotten, and another is known by itself again.
	now = now.Add(2 * time.Hour)
	if try, _ := tr.begin("172.16.0.1:5", now); try == nil || try.caller == tr.rest || len(tr.known) != 1 {
		t.Errorf("%d addresses after two hours", len(tr.known))
	}
}

func TestFloodLeavesTheDeskAlone(t *testing.T) {
	tr := newTries()
	now := newClock().t
	a, in := netip.MustParseAddr("10.0.0.0"), 0
	for range 500 {
		a = a.Next()
		if try, _ := tr.begin(a.String(), now); try != nil {
			in++
		}
	}
	if in != 30 {
		t.Errorf("%d of 500 addresses were let try at once", in)
	}
	for _, desk := range []string{"127.0.0.1:9", "[::1]:9"} {
		if try, wait := tr.begin(desk, now); try == nil {
			t.Errorf("%s has to wait %v", desk, wait)
		}
	}
}

func TestAddressesThatCountAsOne(t *testing.T) {
	for _, same := range [][]string{
		{"192.168.1.7:1", "192.168.1.7:2", "192.168.1.7", "[::ffff:192.168.1.7]:80"},
		{"[2001:db8:1:2::1]:1", "2001:db8:1:2:ffff::9", "[2001:db8:1:2::7%eth0]:3"},
		{"", "@", "/run/shop.sock", "not an address"},
	} {
		_, want := address(same[0])
		for _, s := range same[1:] {
			if _, got := address(s); got != want {
				t.Errorf("%s counts as %v, %s as %v", s, got, same[0], want)
			}
		}
	}
	_, a := address("[2001:db8:1:2::1]:1")
	if _, b := address("[2001:db8:1:3::1]:1"); a == b {
		t.Error("two networks count as one")
	}
}
