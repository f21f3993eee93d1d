package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"fettle"
	"fettle/internal/door/api"
	"fettle/internal/door/gate"
	"fettle/internal/door/queue"
	"fettle/internal/door/store"
	"fettle/internal/shop"
	"fettle/web"

	"golang.org/x/term"
)

type serveCmd struct {
	Listen  string   `help:"Address to listen on. Beyond this machine a passcode is asked for." default:"127.0.0.1:7340" placeholder:"ADDR"`
	Host    []string `help:"Name that the shop's network calls this machine by, besides its addresses." placeholder:"NAME"`
	TLS     bool     `name:"tls" help:"Encrypt with a certificate of fettle's own; its fingerprint is shown to be compared once."`
	Cert    string   `help:"Your own certificate, PEM, for --key." type:"path" placeholder:"FILE"`
	Key     string   `help:"Its private key, PEM." type:"path" placeholder:"FILE"`
	HSTS    bool     `name:"hsts" help:"Have browsers come to this name by TLS only for half a year; for certificates that browsers trust."`
	Workers int      `help:"Heavy tasks at the same time; 0 leaves them to fettle work (default: half of the cores)." default:"-1" placeholder:"N"`
}

func (serveCmd) Help() string {
	return "Serves this machine alone unless --listen says otherwise. On the shop's network it asks for a passcode at the first start, and shows a code to scan that opens it on a phone or tablet; use --tls there, because without it whoever listens on the network reads along. FETTLE_PASSCODE sets the owner's passcode where there is no terminal.\n\nExamples:\n\n  fettle serve\n\n  fettle serve --listen 192.0.2.10:7340 --tls\n\n" + exits
}

func (c serveCmd) Run(ctx context.Context, s *streams) error {
	if (c.Cert == "") != (c.Key == "") {
		return fettle.Errorf(fettle.Invalid, "a certificate needs its key; give both --cert and --key")
	}
	st, w, err := s.openStore(ctx)
	if err != nil {
		return err
	}
	defer st.Close()
	workers := c.Workers
	if workers < 0 {
		workers = max(1, runtime.NumCPU()/2)
	}
	if workers == 0 && st.Dialect() == store.SQLite {
		return fettle.Errorf(fettle.Invalid, "without workers here nothing would be worked out: records in a folder are worked on by fettle serve alone; leave --workers out")
	}
	q, sh, err := s.startQueue(ctx, st, w, workers)
	if err != nil {
		return err
	}
	defer closeQueue(q)

	ln, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fettle.Errorf(fettle.Invalid, "%s cannot be listened on; another program may be there, or the address is not this machine's: try another port", c.Listen)
	}
	defer ln.Close()
	alone := isLoopback(ln.Addr())
	hosts := append(slices.Clone(c.Host), ownHosts(ln.Addr())...)
	secure := c.TLS || c.Cert != ""
	g, err := gate.New(gate.Options{Keep: st, Open: alone, Hosts: hosts, Secure: secure, HSTS: c.HSTS && c.Cert != "", Log: s.log})
	if err != nil {
		return err
	}
	if err := c.passcode(ctx, s, g, alone); err != nil {
		return err
	}
	var cert *tls.Certificate
	finger := ""
	if secure {
		pair, f, own, err := gate.Certificate(st.Dir(), c.Cert, c.Key, hosts, time.Now())
		if err != nil {
			return err
		}
		cert = &pair
		if own {
			finger = f
		}
	}
	addresses := gate.Addresses(ln.Addr(), secure)
	mux := http.NewServeMux()
	mux.Handle("/api/", api.New(api.Options{
		Shop: sh, Tasks: q, Safe: st, Gate: g, Scratch: st.Scratch(), Base: addresses[0], Program: version(), Log: s.log,
		Healthy: st.Healthy,
	}))
	mux.Handle("/", web.Handler())
	srv := gate.Server(g.Wrap(mux), cert)
	srv.ErrorLog = slog.NewLogLogger(s.log.Handler(), slog.LevelDebug)
	s.hello(addresses, finger, alone)

	failed := make(chan error, 1)
	go func() {
		if secure {
			failed <- srv.ServeTLS(ln, "", "")
		} else {
			failed <- srv.Serve(ln)
		}
	}()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	// Streams of events would keep a shutdown waiting: those who ask get a moment.
	end, stop := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
	defer stop()
	if err := srv.Shutdown(end); err != nil {
		srv.Close()
	}
	if err := <-failed; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// hello says where the shop is to be found.
func (s *streams) hello(addresses []string, finger string, alone bool) {
	if s.quiet {
		return
	}
	for _, a := range addresses {
		fmt.Fprintln(s.err, "fettle is at", a)
	}
	if finger != "" {
		fmt.Fprintln(s.err, "The certificate is fettle's own; the browser will ask. Its SHA-256 fingerprint is")
		fmt.Fprintln(s.err, " ", finger)
	}
	if alone {
		return
	}
	if code, err := gate.NewCode(addresses[0]); err == nil {
		fmt.Fprint(s.err, code.Text(isTerminal(s.err)))
	}
}

// passcode sees to it that nobody beyond this machine comes in without one.
func (c serveCmd) passcode(ctx context.Context, s *streams, g *gate.Gate, alone bool) error {
	has, err := g.HasPasscode(ctx, gate.Owner)
	if err != nil || has || alone {
		return err
	}
	code := os.Getenv("FETTLE_PASSCODE")
	if code == "" {
		if code, err = askPasscode(s, "No passcode is set yet. Passcode for the owner: "); err != nil {
			return err
		}
	}
	return g.SetPasscode(ctx, gate.Owner, code)
}

// askPasscode reads a passcode twice from the terminal, unseen.
func askPasscode(s *streams, prompt string) (string, error) {
	in := int(os.Stdin.Fd())
	if !term.IsTerminal(in) {
		return "", fettle.Errorf(fettle.Invalid, "a passcode is needed and there is no terminal to ask at; set one with fettle passcode owner, or in FETTLE_PASSCODE")
	}
	var typed [2]string
	for i, p := range []string{prompt, "Again: "} {
		fmt.Fprint(s.err, p)
		b, err := term.ReadPassword(in)
		fmt.Fprintln(s.err)
		if err != nil {
			return "", fettle.Errorf(fettle.Invalid, "no passcode was typed; start again")
		}
		typed[i] = string(b)
	}
	if typed[0] != typed[1] {
		return "", fettle.Errorf(fettle.Invalid, "the two were not the same; start again")
	}
	return typed[0], nil
}

// openStore opens the workspace and the shop on it, for work by a queue.
func (s *streams) openStore(ctx context.Context) (*store.Store, *workspace, error) {
	w, err := s.open(ctx)
	if err != nil {
		return nil, nil, err
	}
	return w.store, w, nil
}

// startQueue starts the queue and has the shop ask it.
func (s *streams) startQueue(ctx context.Context, st *store.Store, w *workspace, workers int) (*queue.Queue, *shop.Shop, error) {
	q, err := queue.Open(ctx, st.DB(), queue.Options{
		Dialect: string(st.Dialect()), Schema: schemaOf(st), Read: st.Read(), Workers: workers, Handlers: w.Handlers(), Alone: st.Dialect() == store.SQLite,
		Limit: time.Hour, Log: s.log,
	})
	if err != nil {
		return nil, nil, err
	}
	return q, w.Queued(q), nil
}

func closeQueue(q *queue.Queue) {
	end, stop := context.WithTimeout(context.Background(), 10*time.Second)
	defer stop()
	q.Close(end)
}

// isLoopback reports whether an address is reached from this machine only.
func isLoopback(a net.Addr) bool {
	t, ok := a.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}

// ownHosts are the names that this machine is called by on the network.
func ownHosts(a net.Addr) []string {
	var out []string
	if name, err := os.Hostname(); err == nil && plainName(name) {
		name = strings.ToLower(name)
		out = append(out, name)
		if !strings.Contains(name, ".") {
			out = append(out, name+".local") // as phones find it (RFC 6762)
		}
	}
	if t, ok := a.(*net.TCPAddr); ok && !t.IP.IsUnspecified() {
		return append(out, t.IP.String())
	}
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return out
	}
	for _, x := range addrs {
		if n, ok := x.(*net.IPNet); ok && n.IP.IsGlobalUnicast() && n.IP.To4() != nil { // IPv6 addresses come and go: gate takes the one a connection came in at
			out = append(out, n.IP.String())
		}
	}
	return out
}

// plainName reports whether a host name is one that a browser can be given.
func plainName(name string) bool {
	return name != "" && strings.Trim(strings.ToLower(name), "abcdefghijklmnopqrstuvwxyz0123456789-.") == "" && !strings.HasPrefix(name, "-")
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

type workCmd struct {
	Workers int `help:"Heavy tasks at the same time (default: all cores)." default:"0" placeholder:"N"`
}

func (workCmd) Help() string {
	return "Works on the tasks that fettle serve is asked for, beside it and any number of others, on one PostgreSQL database. All of them need the workspace's folder, on a disk that they share.\n\n" + exits
}

func (c workCmd) Run(ctx context.Context, s *streams) error {
	if s.place.Database == "" {
		return fettle.Errorf(fettle.Invalid, "workers need a database that several programs share; give --database URL, or use fettle serve, which works by itself")
	}
	st, w, err := s.openStore(ctx)
	if err != nil {
		return err
	}
	defer st.Close()
	workers := c.Workers
	if workers <= 0 {
		workers = runtime.NumCPU()
	}
	q, _, err := s.startQueue(ctx, st, w, workers)
	if err != nil {
		return err
	}
	defer closeQueue(q)
	if !s.quiet {
		fmt.Fprintf(s.err, "fettle works, %d at a time\n", workers)
	}
	<-ctx.Done()
	return nil
}

type passcodeCmd struct {
	Role   string `arg:"" enum:"owner,hand" help:"owner or hand." placeholder:"ROLE"`
	Remove bool   `help:"Take the hand's passcode away."`
	File   string `help:"Read it from the first line of a file instead of the terminal." placeholder:"FILE"`
}

func (passcodeCmd) Help() string {
	return "The owner may do everything; a hand sees everything and logs runs, readings and photos. Whoever is logged in with the old passcode must log in again.\n\n" + exits
}

func (c passcodeCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	g, err := gate.New(gate.Options{Keep: w.store, Log: s.log})
	if err != nil {
		return err
	}
	role := gate.Role(c.Role)
	if c.Remove {
		return g.RemovePasscode(ctx, role)
	}
	var code string
	if c.File != "" {
		data, err := os.ReadFile(c.File)
		if err != nil {
			return fettle.Errorf(fettle.NotFound, "%s cannot be read; check the path", filepath.Base(c.File))
		}
		code, _, _ = strings.Cut(string(data), "\n")
		code = strings.TrimSuffix(code, "\r")
	} else if code, err = askPasscode(s, fmt.Sprintf("Passcode for the %s: ", role)); err != nil {
		return err
	}
	return g.SetPasscode(ctx, role, code)
}

// schemaOf is where the queue's tables lie within the database.
func schemaOf(st *store.Store) string {
	if st.Dialect() == store.Postgres {
		return store.DefaultSchema
	}
	return ""
}
