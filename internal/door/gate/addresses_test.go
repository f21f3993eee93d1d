package gate

import (
	"net"
	"net/netip"
	"net/url"
	"slices"
	"strings"
	"testing"
)

func TestAddresses(t *testing.T) {
	ip := netip.MustParseAddr
	found := []place{
		{addr: ip("fe80::1")}, {addr: ip("2001:db8::20"), wayOut: true}, {addr: ip("fd00::20")}, {addr: ip("172.17.0.1"), virtual: true},
		{addr: ip("169.254.7.7")}, {addr: ip("10.8.0.2")}, {addr: ip("192.168.1.20"), wayOut: true}, {addr: ip("198.51.100.4")}, {addr: ip("127.0.0.2")}, {addr: ip("10.8.0.2")},
	}
	for _, c := range []struct {
		listen string
		secure bool
		want   []string
	}{
		{"[::]:8443", true, []string{"https://192.168.1.20:8443/", "https://10.8.0.2:8443/", "https://198.51.100.4:8443/", "https://[2001:db8::20]:8443/", "https://[fd00::20]:8443/", "https://172.17.0.1:8443/"}},
		{"0.0.0.0:80", false, []string{"http://192.168.1.20/", "http://10.8.0.2/", "http://198.51.100.4/", "http://172.17.0.1/"}},
		{"[::]:443", true, []string{"https://192.168.1.20/", "https://10.8.0.2/", "https://198.51.100.4/", "https://[2001:db8::20]/", "https://[fd00::20]/", "https://172.17.0.1/"}},
	} {
		if got := urls(outside(found), netip.MustParseAddrPort(c.listen), c.secure); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q", c.listen, got)
		}
		for _, u := range c.want {
			if _, err := url.Parse(u); err != nil {
				t.Error(err)
			}
		}
	}
	for listen, want := range map[string][]string{
		"127.0.0.1:8080": {"http://127.0.0.1:8080/"}, "[::1]:8080": {"http://[::1]:8080/"}, "192.168.1.20:8080": {"http://192.168.1.20:8080/"}, "[2001:db8::20]:80": {"http://[2001:db8::20]/"},
	} {
		a := net.TCPAddrFromAddrPort(netip.MustParseAddrPort(listen))
		if got := Addresses(a, false); !slices.Equal(got, want) {
			t.Errorf("%s: %q", listen, got)
		}
	}
	if got := Addresses(&net.UnixAddr{Name: "/run/x"}, false); got != nil {
		t.Errorf("a socket: %q", got)
	}
}

// Whatever this machine has: each of its addresses answers by that URL.
func TestAddressesOfThisMachine(t *testing.T) {
	l, err := net.Listen("tcp", ":0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	all := Addresses(l.Addr(), false)
	t.Logf("%q", all)
	for _, s := range all {
		u, err := url.Parse(s)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(s, "127.0.0.1") {
			t.Errorf("%s is nobody else's way in", s)
		}
		c, err := net.Dial("tcp", u.Host)
		if err != nil {
			t.Errorf("%s: %v", s, err)
			continue
		}
		c.Close()
	}
}
