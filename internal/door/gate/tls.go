package gate

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fettle"
)

// A certificate that we make lasts as long as browsers accept of any, 398 days less
// one; it is made anew in its last month.
const (
	certLasts   = 397 * 24 * time.Hour
	certRenewed = 30 * 24 * time.Hour
	clocksApart = time.Hour // a phone's clock may be behind ours
)

// Certificate is what the server shows for TLS, and its SHA-256 fingerprint as
// browsers show it. With certFile and keyFile it is the user's pair, checked: a
// fettle.Error says what is wrong with it. With neither it is one of our own (own is
// true) that signs itself, for localhost and the hosts given, kept in dir/tls and
// made anew when the hosts change or its end is near. No browser trusts that one;
// the fingerprint on the desk's screen is what a careful user compares.
func Certificate(dir, certFile, keyFile string, hosts []string, now time.Time) (cert tls.Certificate, fingerprint string, own bool, err error) {
	own = certFile == "" && keyFile == ""
	if own {
		cert, err = selfMade(dir, hosts, now)
	} else {
		cert, err = usersCertificate(certFile, keyFile, now)
	}
	if err != nil {
		return tls.Certificate{}, "", own, err
	}
	return cert, Fingerprint(cert.Leaf), own, nil
}

// Fingerprint is a certificate's SHA-256 in upper-case hex with colons.
func Fingerprint(c *x509.Certificate) string {
	return strings.ReplaceAll(fmt.Sprintf("% X", sha256.Sum256(c.Raw)), " ", ":")
}

func usersCertificate(certFile, keyFile string, now time.Time) (tls.Certificate, error) {
	var none tls.Certificate
	if certFile == "" || keyFile == "" {
		return none, fettle.Errorf(fettle.Invalid, "a certificate needs its key and a key its certificate; give both files, or neither")
	}
	certPEM, err := readPEM(certFile)
	if err != nil {
		return none, err
	}
	keyPEM, err := readPEM(keyFile)
	if err != nil {
		return none, err
	}
	if !hasBlock(certPEM, "CERTIFICATE") {
		return none, fettle.Errorf(fettle.BadFile, "%s holds no certificate in PEM; give the file that begins with BEGIN CERTIFICATE", certFile)
	}
	if b, _ := pem.Decode(keyPEM); b != nil && (b.Type == "ENCRYPTED PRIVATE KEY" || b.Headers["DEK-Info"] != "") {
		return none, fettle.Errorf(fettle.BadFile, "the key in %s is encrypted; give one without a passphrase", keyFile)
	}
	if !hasBlock(keyPEM, "PRIVATE KEY") {
		return none, fettle.Errorf(fettle.BadFile, "%s holds no private key in PEM; give the file that begins with BEGIN PRIVATE KEY", keyFile)
	}
	cert, err := tls.X509KeyPair(certPEM, keyPEM)
	if err != nil {
		return none, &fettle.Error{Code: fettle.BadFile, Err: err,
			Message: fmt.Sprintf("%s and %s are not a certificate and its key; the server's own certificate comes first in its file", certFile, keyFile)}
	}
	const day = "2 January 2006"
	switch {
	case now.After(cert.Leaf.NotAfter):
		return none, fettle.Errorf(fettle.BadFile, "the certificate in %s ended on %s; renew it", certFile, cert.Leaf.NotAfter.Format(day))
	case now.Before(cert.Leaf.NotBefore):
		return none, fettle.Errorf(fettle.BadFile, "the certificate in %s begins on %s; is this machine's clock right?", certFile, cert.Leaf.NotBefore.Format(day))
	}
	return cert, nil
}

func readPEM(file string) ([]byte, error) {
	b, err := os.ReadFile(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fettle.Errorf(fettle.NotFound, "there is no file %s; is the path right?", file)
	case err != nil:
		return nil, &fettle.Error{Code: fettle.BadFile, Message: file + " cannot be read; may this user read it?", Err: err}
	}
	return b, nil
}

// hasBlock reports whether PEM text holds a block whose type ends so.
func hasBlock(text []byte, kind string) bool {
	for b, rest := pem.Decode(text); b != nil; b, rest = pem.Decode(rest) {
		if strings.HasSuffix(b.Type, kind) {
			return true
		}
	}
	return false
}

// selfMade is the kept certificate, or a new one.
func selfMade(dir string, hosts []string, now time.Time) (tls.Certificate, error) {
	names, addrs, err := subjects(hosts)
	if err != nil {
		return tls.Certificate{}, err
	}
	dir = filepath.Join(dir, "tls")
	file := filepath.Join(dir, "self.pem") // certificate and key in one: they cannot come apart
	if text, err := os.ReadFile(file); err == nil {
		// A damaged one is made anew like one that has ended: nothing is lost with it.
		if c, err := tls.X509KeyPair(text, text); err == nil && stillGood(c.Leaf, names, addrs, now) {
			return c, nil
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return tls.Certificate{}, err
	}
	text, err := makeCertificate(names, addrs, now)
	if err != nil {
		return tls.Certificate{}, err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return tls.Certificate{}, err
	}
	if err := replace(file, text); err != nil {
		return tls.Certificate{}, err
	}
	return tls.X509KeyPair(text, text)
}

// subjects are the names and addresses that a certificate is for, in order and
// without repetition.
func subjects(hosts []string) (names []string, addrs []netip.Addr, err error) {
	set, err := hostSet(append([]string{"localhost", "127.0.0.1", "::1"}, hosts...))
	if err != nil {
		return nil, nil, err
	}
	for h := range set {
		if a, err := netip.ParseAddr(h); err == nil {
			addrs = append(addrs, a)
		} else {
			names = append(names, h)
		}
	}
	slices.Sort(names)
	slices.SortFunc(addrs, netip.Addr.Compare)
	return names, addrs, nil
}

func stillGood(c *x509.Certificate, names []string, addrs []netip.Addr, now time.Time) bool {
	if now.Before(c.NotBefore) || now.Add(certRenewed).After(c.NotAfter) || !slices.Equal(c.DNSNames, names) || len(c.IPAddresses) != len(addrs) {
		return false
	}
	for i, a := range addrs {
		if !c.IPAddresses[i].Equal(a.AsSlice()) {
			return false
		}
	}
	return true
}

// makeCertificate is a new certificate and its key in PEM. It can sign no other:
// who trusts it on a phone trusts this server and nothing else.
func makeCertificate(names []string, addrs []netip.Addr, now time.Time) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial := make([]byte, 16)
	rand.Read(serial)
	serial[0] &= 0x7f // positive, and not 0
	serial[15] |= 1
	from := now.Add(-clocksApart).UTC().Truncate(time.Second)
	c := &x509.Certificate{
		SerialNumber: new(big.Int).SetBytes(serial),
		Subject:      pkix.Name{CommonName: "Fettle"},
		NotBefore:    from, NotAfter: from.Add(certLasts),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true,
		DNSNames:              names,
	}
	for _, a := range addrs {
		c.IPAddresses = append(c.IPAddresses, a.AsSlice())
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, key.Public(), key)
	if err != nil {
		return nil, err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	text := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	return append(text, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})...), nil
}

// replace writes a file beside its place and renames it; only its owner may read it.
func replace(file string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(file), ".new-*") // 0600
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), file)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}

// Server is a server for a handler, over TLS where there is a certificate (then it
// is started with ServeTLS and no files). A request's header must come within ten
// seconds and in 32 KiB. There is no limit on writing, because events are sent for
// as long as a page is open: handlers set their own with http.ResponseController.
func Server(h http.Handler, cert *tls.Certificate) *http.Server {
	s := &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10}
	if cert != nil {
		s.TLSConfig = &tls.Config{Certificates: []tls.Certificate{*cert}, MinVersion: tls.VersionTLS12}
	}
	return s
}
