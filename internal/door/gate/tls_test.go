package gate

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"fettle"
)

var certHosts = []string{"shop-pc.local", "192.168.1.20", "[2001:db8::20]"}

func TestSelfMadeCertificate(t *testing.T) {
	dir := t.TempDir()
	now := newClock().t
	cert, print, own, err := Certificate(dir, "", "", certHosts, now)
	if err != nil || !own {
		t.Fatal(own, err)
	}
	leaf := cert.Leaf
	pool := x509.NewCertPool()
	pool.AddCert(leaf)
	for name, want := range map[string]bool{
		"shop-pc.local": true, "SHOP-PC.local": true, "localhost": true, "192.168.1.20": true, "127.0.0.1": true, "[::1]": true, "2001:db8::20": true,
		"evil.example": false, "192.168.1.21": false, "x.shop-pc.local": false,
	} {
		for _, at := range []time.Time{now, now.Add(396 * 24 * time.Hour), now.Add(-30 * time.Minute)} {
			_, err := leaf.Verify(x509.VerifyOptions{DNSName: name, Roots: pool, CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}})
			if (err == nil) != want {
				t.Errorf("%s at %v: %v", name, at, err)
			}
		}
	}
	for _, at := range []time.Time{now.Add(398 * 24 * time.Hour), now.Add(-2 * time.Hour)} {
		if _, err := leaf.Verify(x509.VerifyOptions{Roots: pool, CurrentTime: at}); err == nil {
			t.Errorf("it is good at %v", at)
		}
	}
	// Browsers take no certificate of more than 398 days (CA/Browser Forum, Baseline
	// Requirements, section 6.3.2).
	if d := leaf.NotAfter.Sub(leaf.NotBefore); d > 398*24*time.Hour {
		t.Errorf("it lasts %v", d)
	}
	key, ok := leaf.PublicKey.(*ecdsa.PublicKey)
	if !ok || key.Curve != elliptic.P256() || leaf.IsCA || leaf.SerialNumber.Sign() <= 0 || leaf.KeyUsage&x509.KeyUsageCertSign != 0 {
		t.Errorf("key %T, is CA %v, serial %v", leaf.PublicKey, leaf.IsCA, leaf.SerialNumber)
	}
	file := filepath.Join(dir, "tls", "self.pem")
	st, err := os.Stat(file)
	if err != nil || runtime.GOOS != "windows" && st.Mode().Perm() != 0o600 {
		t.Errorf("kept with %v, %v", st, err)
	}
	if all, _ := os.ReadDir(filepath.Dir(file)); len(all) != 1 {
		t.Errorf("%d files are left", len(all))
	}

	for name, c := range map[string]struct {
		hosts  []string
		after  time.Duration
		damage func()
		same   bool
	}{
		"again":                {certHosts, 0, nil, true},
		"in another order":     {[]string{"2001:db8::20", "Shop-PC.local.", "192.168.1.20", "localhost"}, 0, nil, true},
		"31 days before end":   {certHosts, (397 - 31) * 24 * time.Hour, nil, true},
		"29 days before end":   {certHosts, (397 - 29) * 24 * time.Hour, nil, false},
		"with another host":    {append([]string{"192.168.1.21"}, certHosts...), 0, nil, false},
		"with a host less":     {certHosts[1:], 0, nil, false},
		"with another address": {[]string{"shop-pc.local", "192.168.1.21", "2001:db8::20"}, 0, nil, false},
		"clock set back":       {certHosts, -48 * time.Hour, nil, false},
		"damaged":              {certHosts, 0, func() { os.WriteFile(file, []byte("x"), 0o600) }, false},
		"torn":                 {certHosts, 0, func() { os.Truncate(file, 300) }, false},
	} {
		if _, _, _, err := Certificate(dir, "", "", certHosts, now); err != nil { // as at first, by hosts and time
			t.Fatal(err)
		}
		_, before, _, _ := Certificate(dir, "", "", certHosts, now)
		if c.damage != nil {
			c.damage()
		}
		_, after, _, err := Certificate(dir, "", "", c.hosts, now.Add(c.after))
		if err != nil || (after == before) != c.same {
			t.Errorf("%s: the same is %v, %v", name, after == before, err)
		}
		if c.after != 0 {
			os.RemoveAll(filepath.Dir(file))
		}
	}
	if len(print) != 32*3-1 || strings.ToUpper(print) != print || strings.Count(print, ":") != 31 {
		t.Errorf("fingerprint %s", print)
	}
	_, _, _, err = Certificate(dir, "", "", []string{"https://x/"}, now)
	wantCode(t, err, fettle.Invalid)
}

// What OpenSSL says of it, where it is installed.
func TestCertificateByOpenSSL(t *testing.T) {
	openssl, err := exec.LookPath("openssl")
	if err != nil {
		t.Skip("no openssl here")
	}
	dir := t.TempDir()
	_, print, _, err := Certificate(dir, "", "", certHosts, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "tls", "self.pem")
	for _, c := range []struct{ args, want string }{
		{"x509 -noout -fingerprint -sha256 -in", print},
		{"x509 -noout -checkhost shop-pc.local -in", "does match"},
		{"x509 -noout -checkip 192.168.1.20 -in", "does match"},
		{"x509 -noout -checkip 2001:db8::20 -in", "does match"},
		{"x509 -noout -checkhost evil.example -in", "does NOT match"},
		{"x509 -noout -purpose -in", "SSL server : Yes"},
		{"ec -noout -text -in", "NIST CURVE: P-256"},
		{"verify -partial_chain -purpose sslserver -CAfile " + file, "OK"},
	} {
		out, err := exec.Command(openssl, append(strings.Fields(c.args), file)...).CombinedOutput()
		if err != nil || !strings.Contains(string(out), c.want) {
			t.Errorf("openssl %s: %s, %v; want %s", c.args, out, err, c.want)
		}
	}
}

func TestServerOverTLS(t *testing.T) {
	cert, _, _, err := Certificate(t.TempDir(), "", "", certHosts, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	s := newShop(t, func(o *Options) { o.Secure = true })
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := Server(s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, r.Proto) })), &cert)
	go srv.ServeTLS(l, "", "")
	defer srv.Close()
	pool := x509.NewCertPool()
	pool.AddCert(cert.Leaf)
	for _, v := range []uint16{tls.VersionTLS11, tls.VersionTLS12, tls.VersionTLS13} {
		tr := &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS10, MaxVersion: v}}
		res, err := (&http.Client{Transport: tr}).Get("https://" + l.Addr().String())
		if v < tls.VersionTLS12 {
			if err == nil {
				t.Error("TLS 1.1 is spoken")
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		b, _ := io.ReadAll(res.Body)
		res.Body.Close()
		tr.CloseIdleConnections()
		if res.StatusCode != 200 || string(b) != "HTTP/2.0" || res.TLS.Version != v {
			t.Errorf("%d, %s, %x", res.StatusCode, b, res.TLS.Version)
		}
	}
}

// pair writes a certificate of a user and its key.
func pair(t *testing.T, dir, name string, from, to time.Time) (certFile, keyFile string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: big.NewInt(7), Subject: pkix.Name{CommonName: name}, NotBefore: from, NotAfter: to, DNSNames: []string{name}}
	der, err := x509.CreateCertificate(rand.Reader, c, c, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	certFile, keyFile = filepath.Join(dir, name+".crt"), filepath.Join(dir, name+".key")
	for f, b := range map[string]*pem.Block{certFile: {Type: "CERTIFICATE", Bytes: der}, keyFile: {Type: "PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(f, pem.EncodeToMemory(b), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return certFile, keyFile
}

func TestUsersCertificate(t *testing.T) {
	dir := t.TempDir()
	now := newClock().t
	const day = 24 * time.Hour
	crt, key := pair(t, dir, "good.example", now.Add(-day), now.Add(day))
	cert, print, own, err := Certificate(dir, crt, key, []string{"good.example"}, now)
	if err != nil || own || cert.Leaf.DNSNames[0] != "good.example" || len(print) != 95 {
		t.Fatalf("%v %s %v", own, print, err)
	}
	if _, err := os.Stat(filepath.Join(dir, "tls")); err == nil {
		t.Error("one was made beside the user's own")
	}
	otherCrt, otherKey := pair(t, dir, "other.example", now.Add(-day), now.Add(day))
	oldCrt, oldKey := pair(t, dir, "old.example", now.Add(-2*day), now.Add(-day))
	newCrt, newKey := pair(t, dir, "new.example", now.Add(day), now.Add(2*day))
	write := func(name, text string) string {
		f := filepath.Join(dir, name)
		if err := os.WriteFile(f, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return f
	}
	junk := write("junk", "\x00\x01 junk")
	locked := write("locked.key", string(pem.EncodeToMemory(&pem.Block{Type: "ENCRYPTED PRIVATE KEY", Bytes: []byte("x")})))
	legacy := write("legacy.key", string(pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Headers: map[string]string{"Proc-Type": "4,ENCRYPTED", "DEK-Info": "AES-256-CBC,00"}, Bytes: []byte("x")})))
	hollow := write("hollow.crt", string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: []byte("x")})))
	for name, c := range map[string]struct {
		crt, key string
		code     fettle.Code
		says     string
	}{
		"only a certificate": {crt, "", fettle.Invalid, "neither"},
		"only a key":         {"", key, fettle.Invalid, "neither"},
		"no such file":       {crt + "x", key, fettle.NotFound, crt + "x"},
		"no such key":        {crt, key + "x", fettle.NotFound, key + "x"},
		"a folder":           {dir, key, fettle.BadFile, "cannot be read"},
		"another's key":      {crt, otherKey, fettle.BadFile, "not a certificate and its key"},
		"another's cert":     {otherCrt, key, fettle.BadFile, "not a certificate and its key"},
		"swapped":            {key, crt, fettle.BadFile, "holds no certificate"},
		"twice the cert":     {crt, crt, fettle.BadFile, "holds no private key"},
		"junk":               {junk, key, fettle.BadFile, "holds no certificate"},
		"hollow":             {hollow, key, fettle.BadFile, "not a certificate and its key"},
		"encrypted":          {crt, locked, fettle.BadFile, "encrypted"},
		"encrypted of old":   {crt, legacy, fettle.BadFile, "encrypted"},
		"ended":              {oldCrt, oldKey, fettle.BadFile, "ended on 1 March 2026"},
		"not begun":          {newCrt, newKey, fettle.BadFile, "begins on 3 March 2026"},
	} {
		_, _, own, err := Certificate(dir, c.crt, c.key, nil, now)
		if err == nil {
			t.Errorf("%s is taken", name)
			continue
		}
		wantCode(t, err, c.code)
		if !strings.Contains(err.Error(), c.says) || own {
			t.Errorf("%s: %q does not say %q", name, err, c.says)
		}
	}
}
