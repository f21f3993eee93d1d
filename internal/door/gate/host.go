package gate

import (
	"net"
	"net/http"
	"net/netip"
	"strings"

	"fettle"
)

// hostSet makes names and addresses comparable.
func hostSet(hosts []string) (map[string]bool, error) {
	set := map[string]bool{}
	for _, h := range hosts {
		name, ok := hostName(h)
		if !ok {
			return nil, fettle.Errorf(fettle.Invalid, "%q is no host name or address; give it without scheme, port and path, as in shop-pc.local", h)
		}
		set[name] = true
	}
	return set, nil
}

// hostName is a host without its port as it is compared: lower case, without the
// root's dot, addresses in their shortest form.
func hostName(s string) (string, bool) {
	if in, ok := strings.CutPrefix(s, "["); ok {
		in, ok = strings.CutSuffix(in, "]")
		a, err := netip.ParseAddr(in)
		if !ok || err != nil || !a.Is6() {
			return "", false
		}
		return plainAddr(a).String(), true
	}
	if a, err := netip.ParseAddr(s); err == nil {
		return plainAddr(a).String(), true
	}
	s = strings.ToLower(strings.TrimSuffix(s, "."))
	return s, isName(s)
}

func plainAddr(a netip.Addr) netip.Addr { return a.Unmap().WithZone("") }

// isName reports whether a string can be a host's name: letters, digits, hyphens and
// dots (RFC 1123, section 2.1), and the underscore that some give their PCs. It must
// not look like an address that is written in an odd way.
func isName(s string) bool {
	if s == "" || len(s) > 253 {
		return false
	}
	label := ""
	for label = range strings.SplitSeq(s, ".") {
		if label == "" || len(label) > 63 || label[0] == '-' || label[len(label)-1] == '-' {
			return false
		}
		for _, c := range []byte(label) {
			if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' && c != '_' {
				return false
			}
		}
	}
	return strings.Trim(label, "0123456789") != ""
}

// called reports whether a request calls the shop by a name of its own. A page
// elsewhere can have its own name point at this machine, and would then be of one
// origin with the shop (DNS rebinding); but it cannot make a browser send another
// name than its own, nor own the address of this machine.
func (g *Gate) called(r *http.Request) bool {
	host, port := r.Host, ""
	if at := strings.LastIndexByte(host, ':'); at > strings.LastIndexByte(host, ']') {
		host, port = host[:at], host[at+1:]
	}
	if strings.Trim(port, "0123456789") != "" || !strings.HasPrefix(host, "[") && strings.Contains(host, ":") {
		return false
	}
	name, ok := hostName(host)
	if !ok {
		return false
	}
	if g.hosts[name] || name == "localhost" || strings.HasSuffix(name, ".localhost") {
		return true // RFC 6761, section 6.3: such names never leave the machine
	}
	a, err := netip.ParseAddr(name)
	return err == nil && (a.IsLoopback() || a == localAddr(r))
}

// localAddr is the address that a request came in at; invalid where the server does
// not tell.
func localAddr(r *http.Request) netip.Addr {
	if l, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr); ok {
		if ap, err := netip.ParseAddrPort(l.String()); err == nil {
			return plainAddr(ap.Addr())
		}
	}
	return netip.Addr{}
}

// besides reports whether a request was made on this very machine by nobody's page
// but ours: it comes from a loopback address to one, no proxy passed it on, and its
// browser does not say that another site's page made it. The last is what
// SameSite=Strict does where there is a cookie.
func (g *Gate) besides(r *http.Request) bool {
	from, _ := address(r.RemoteAddr)
	if !from.IsLoopback() || !localAddr(r).IsLoopback() {
		return false
	}
	for _, h := range []string{"Forwarded", "X-Forwarded-For", "X-Real-Ip", "Via"} {
		if r.Header.Get(h) != "" {
			return false
		}
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "same-origin", "none":
		return true
	case "":
		o := r.Header.Get("Origin")
		return o == "" || o == "http://"+r.Host || o == "https://"+r.Host
	}
	return false
}
