package gate

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"fettle"
)

// DNS rebinding: a page under evil.example that points its name at this machine
// is of one origin with what it finds there, but the name stays in Host.
func TestNamesTheShopGoesBy(t *testing.T) {
	s := newShop(t, func(o *Options) {
		o.Hosts = []string{"Shop-PC.local", "shop.example.", "192.168.1.20", "2001:db8::20", "[2001:db8::21]", "old_pc"}
	})
	local := &net.TCPAddr{IP: net.IPv4(10, 1, 2, 3), Port: 8080}
	local6 := &net.TCPAddr{IP: net.ParseIP("fe80::1"), Zone: "eth0", Port: 8080}
	for _, c := range []struct {
		host string
		at   net.Addr
		want bool
	}{
		{"shop-pc.local", nil, true}, {"shop-pc.local:8080", nil, true}, {"SHOP-PC.LOCAL.:8080", nil, true}, {"shop.example", nil, true},
		{"old_pc:80", nil, true}, {"192.168.1.20:8080", nil, true}, {"[2001:db8::20]", nil, true}, {"[2001:DB8:0::20]:443", nil, true}, {"[2001:db8::21]:1", nil, true},
		{"localhost", nil, true}, {"localhost:3000", nil, true}, {"127.0.0.1:8080", nil, true}, {"127.9.9.9", nil, true}, {"[::1]:8080", nil, true}, {"shop.localhost", nil, true},
		{"10.1.2.3:8080", local, true}, {"[::ffff:10.1.2.3]:8080", local, true}, {"[fe80::1]:8080", local6, true},

		{"evil.example", nil, false}, {"evil.example:8080", nil, false}, {"evil.example:8080", local, false}, {"", nil, false}, {":8080", nil, false},
		{"shop-pc.local.evil.example", nil, false}, {"evil-shop-pc.local", nil, false}, {"xlocalhost", nil, false}, {"localhost.evil.example", nil, false},
		{"10.1.2.3:8080", nil, false}, {"10.1.2.4:8080", local, false}, {"192.168.1.21", local, false}, {"[2001:db8::22]", local, false},
		{"127.0.0.1.evil.example", nil, false}, {"127.1", nil, false}, {"2130706433", nil, false}, {"0x7f.0.0.1", nil, false}, {"0177.0.0.1", nil, false},
		{"shop-pc.local:80:80", nil, false}, {"[::1", nil, false}, {"::1", nil, false}, {"[127.0.0.1]", nil, false}, {"[shop-pc.local]:80", nil, false},
		{"shop-pc.local/evil", nil, false}, {"shop-pc.local@evil.example", nil, false}, {"evil.example#shop-pc.local", nil, false}, {"shop-pc..local", nil, false},
		{"shop-pc.local\x00", nil, false}, {"shop-pc.local evil", nil, false}, {strings.Repeat("a", 64) + ".local", nil, false}, {"0.0.0.0:8080", nil, false},
	} {
		_, res := s.ask(func(r *http.Request) {
			r.Host = c.host
			if c.at != nil {
				*r = *r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, c.at))
			}
		})
		want := http.StatusMisdirectedRequest
		if c.want {
			want = http.StatusOK
		}
		if res.StatusCode != want {
			t.Errorf("called %q at %v: %d, want %d", c.host, c.at, res.StatusCode, want)
		}
	}
}

func TestNamesThatAreNone(t *testing.T) {
	for _, h := range []string{"", "http://shop-pc.local", "shop-pc.local:8080", "shop pc", "*.local", "shop-pc.local/", "-pc", "192.168.1", "[192.168.1.20]"} {
		_, err := New(Options{Keep: newMemory(), Hosts: []string{h}})
		if err == nil {
			t.Errorf("%q is a name", h)
			continue
		}
		wantCode(t, err, fettle.Invalid)
	}
}

// Over a real connection the address that it came in at is known by itself.
func TestAddressOfTheConnection(t *testing.T) {
	s := newShop(t, nil)
	srv := httptest.NewServer(s.Wrap(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {})))
	defer srv.Close()
	for host, want := range map[string]int{"": 200, "evil.example": 421, "192.168.77.1": 421, "localhost:1": 200} {
		r, err := http.NewRequest("GET", srv.URL, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Host = host
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != want {
			t.Errorf("called %q: %d, want %d", host, res.StatusCode, want)
		}
	}
}

// What browsers send of where a request comes from (Fetch Metadata, and Origin of
// RFC 6454 where it is missing), for what changes something and what does not.
func TestRequestsOfOtherSites(t *testing.T) {
	s := newShop(t, nil)
	for _, c := range []struct {
		site, origin string
		want         bool
	}{
		{"same-origin", "", true}, {"same-origin", "http://shop-pc.local:8080", true}, {"none", "", true},
		{"", "", true}, // no browser
		{"", "http://shop-pc.local:8080", true},
		{"cross-site", "", false}, {"cross-site", "http://evil.example", false}, {"cross-site", "http://shop-pc.local:8080", false},
		{"same-site", "http://shop-pc.local:9000", false}, {"bogus", "", false},
		{"", "http://evil.example", false}, {"", "http://shop-pc.local:9000", false}, {"", "null", false}, {"", "http://shop-pc.local", false}, {"", "::", false},
	} {
		for method, changes := range map[string]bool{"POST": true, "PUT": true, "PATCH": true, "DELETE": true, "GET": false, "HEAD": false, "OPTIONS": false} {
			_, res := s.ask(func(r *http.Request) {
				r.Method = method
				if c.site != "" {
					r.Header.Set("Sec-Fetch-Site", c.site)
				}
				if c.origin != "" {
					r.Header.Set("Origin", c.origin)
				}
			})
			want := http.StatusOK
			if changes && !c.want {
				want = http.StatusForbidden
			}
			if res.StatusCode != want {
				t.Errorf("%s with site %q, origin %q: %d, want %d", method, c.site, c.origin, res.StatusCode, want)
			}
			if res.Header.Get("Access-Control-Allow-Origin") != "" {
				t.Error("another origin may read")
			}
		}
	}
}

func FuzzHost(f *testing.F) {
	s := newShop(f, nil)
	for _, h := range []string{"shop-pc.local:8080", "[::1]:80", "localhost", "evil.example", "127.0.0.1", "[::ffff:127.0.0.1]:1", "a.localhost."} {
		f.Add(h)
	}
	f.Fuzz(func(t *testing.T, host string) {
		r := httptest.NewRequest("GET", "http://x/", nil)
		r.Host = host
		if !s.called(r) {
			return
		}
		low := strings.ToLower(host)
		for _, own := range []string{"shop-pc.local", "localhost", "127.", "::1", ":1]", ":0001]", "[::ffff:7f"} {
			if strings.Contains(low, own) {
				return
			}
		}
		if !strings.HasPrefix(low, "[") {
			t.Fatalf("%q is a name of the shop", host)
		}
	})
}
