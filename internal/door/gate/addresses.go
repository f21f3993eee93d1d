package gate

import (
	"cmp"
	"net"
	"net/netip"
	"slices"
	"strconv"
	"strings"
)

// Addresses are the URLs by which a server that listens there is reached by other
// machines, the likeliest first: IPv4 before IPv6, the way out of the house before
// others, those of virtual machines and containers last. Where no other machine
// reaches it, the one is its own. Names are not guessed: whether one is known to a
// phone, only the phone knows. None for what is no TCP address.
func Addresses(listen net.Addr, secure bool) []string {
	ap, err := netip.ParseAddrPort(listen.String())
	if err != nil {
		return nil
	}
	self := []place{{addr: plainAddr(ap.Addr())}}
	if ap.Addr().IsUnspecified() {
		if all := urls(outside(places()), ap, secure); len(all) > 0 {
			return all
		}
		self[0].addr = netip.AddrFrom4([4]byte{127, 0, 0, 1})
	}
	return urls(self, ap, secure)
}

// outside leaves the addresses that another machine's browser can name: it cannot
// name the link that a link-local address is on.
func outside(all []place) []place {
	return slices.DeleteFunc(slices.Clone(all), func(p place) bool {
		return p.addr.IsLoopback() || p.addr.IsLinkLocalUnicast() || p.addr.IsMulticast() || p.addr.IsUnspecified()
	})
}

// place is an address of this machine.
type place struct {
	addr    netip.Addr
	wayOut  bool // what goes to the Internet leaves by it
	virtual bool // of a bridge to virtual machines or containers
}

func urls(found []place, listen netip.AddrPort, secure bool) []string {
	rank := func(p place) int {
		n := 0
		if p.virtual {
			n += 8
		}
		if !p.addr.Is4() {
			n += 4
		}
		if !p.wayOut {
			n += 2
		}
		if !p.addr.IsPrivate() {
			n++
		}
		return n
	}
	found = slices.Clone(found)
	slices.SortStableFunc(found, func(a, b place) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), a.addr.Compare(b.addr))
	})
	scheme, usual := "http", uint16(80)
	if secure {
		scheme, usual = "https", 443
	}
	var all []string
	for _, p := range found {
		if !p.addr.Is4() && listen.Addr().Is4() {
			continue
		}
		host := p.addr.String()
		if listen.Port() != usual {
			host = net.JoinHostPort(host, strconv.Itoa(int(listen.Port())))
		} else if p.addr.Is6() {
			host = "[" + host + "]"
		}
		if u := scheme + "://" + host + "/"; !slices.Contains(all, u) {
			all = append(all, u)
		}
	}
	return all
}

// virtualNames begin the names of interfaces that no phone is on.
var virtualNames = []string{"docker", "br-", "veth", "virbr", "vmnet", "vboxnet", "vethernet", "podman", "cni", "lxc", "lxd"}

func places() []place {
	ifs, err := net.Interfaces()
	if err != nil {
		return nil
	}
	out := wayOut()
	var found []place
	for _, i := range ifs {
		if i.Flags&net.FlagUp == 0 || i.Flags&net.FlagLoopback != 0 {
			continue
		}
		addrs, err := i.Addrs()
		if err != nil {
			continue
		}
		name := strings.ToLower(i.Name)
		virtual := slices.ContainsFunc(virtualNames, func(v string) bool { return strings.HasPrefix(name, v) })
		for _, a := range addrs {
			if p, err := netip.ParsePrefix(a.String()); err == nil {
				a := plainAddr(p.Addr())
				found = append(found, place{addr: a, wayOut: slices.Contains(out, a), virtual: virtual})
			}
		}
	}
	return found
}

// wayOut are the addresses that this machine would use to reach the Internet.
// Connecting a UDP socket asks the routing table and sends nothing; the addresses
// are those kept for documentation (RFC 5737, RFC 3849).
func wayOut() []netip.Addr {
	var out []netip.Addr
	for _, to := range []string{"192.0.2.1:9", "[2001:db8::1]:9"} {
		c, err := net.Dial("udp", to)
		if err != nil {
			continue
		}
		if ap, err := netip.ParseAddrPort(c.LocalAddr().String()); err == nil {
			out = append(out, plainAddr(ap.Addr()))
		}
		c.Close()
	}
	return out
}
