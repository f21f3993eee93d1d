package gate

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/http"
	"testing"
	"time"

	"fettle"
)

// Over HTTP/2, where a connection carries many requests, a slow body is given up
// alone: the other requests go on.
func TestSlowBodyOverHTTP2(t *testing.T) {
	t.Parallel()
	cert, _, _, err := Certificate(t.TempDir(), "", "", nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	got, size := make(chan error, 1), make(chan int, 1)
	mux := http.NewServeMux()
	mux.Handle("POST /", upload(200*time.Millisecond, 2000, got, size))
	mux.HandleFunc("GET /", func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, r.Proto) })
	s := newShop(t, func(o *Options) { o.Secure = true })
	srv := Server(s.Wrap(mux), &cert)
	go srv.ServeTLS(l, "", "")
	t.Cleanup(func() { srv.Close() })

	pool := x509.NewCertPool()
	pool.AddCert(cert.Leaf)
	tr := &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{RootCAs: pool}}
	defer tr.CloseIdleConnections()
	client := &http.Client{Transport: tr, Timeout: 5 * time.Second}
	url := "https://" + l.Addr().String() + "/"
	r, w := io.Pipe()
	defer w.Close()
	began := time.Now()
	answered := make(chan int, 1)
	go func() {
		res, err := client.Post(url, "text/plain", r)
		if err != nil {
			answered <- 0
			return
		}
		res.Body.Close()
		answered <- res.StatusCode
	}()
	io.WriteString(w, "0123456789")
	wantCode(t, <-got, fettle.Invalid)
	if took := time.Since(began); <-size != 10 || took > 15*time.Second {
		t.Errorf("given up after %v", took)
	}
	if status := <-answered; status != http.StatusRequestTimeout {
		t.Errorf("the sender hears %d", status)
	}
	res, err := client.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if b, err := io.ReadAll(res.Body); string(b) != "HTTP/2.0" || err != nil {
		t.Errorf("%s, %v", b, err)
	}
}
