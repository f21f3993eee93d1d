package bench

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// serveClients is how many use the shop at the same time.
const serveClients = 50

// serveSeconds is how long they do.
const serveSeconds = "FETTLE_BENCH_SECONDS"

// crowdWorks has so many people work in the shop, and returns them afterwards. An
// answer that nobody expected ends it.
func crowdWorks(t testing.TB, s *served, n int, lasts, pause time.Duration) []*somebody {
	t.Helper()
	crowd := make([]*somebody, n)
	for i := range crowd {
		crowd[i] = s.newcomer(t, i)
	}
	failed := make([]error, n)
	var all sync.WaitGroup
	until := time.Now().Add(lasts)
	for i, p := range crowd {
		all.Go(func() { failed[i] = p.work(until, pause) })
	}
	all.Wait()
	wrong := 0
	for i, err := range failed {
		if err != nil {
			if wrong++; wrong <= 5 {
				t.Errorf("somebody %d: %v", i, err)
			}
		}
	}
	if wrong > 0 {
		t.Fatalf("%d of %d were answered wrongly", wrong, n)
	}
	return crowd
}

// TestServeCrowd has twenty people work in a shop for a moment, and compares what
// they were answered with what is kept.
func TestServeCrowd(t *testing.T) {
	lasts := 3 * time.Second
	if testing.Short() {
		lasts = time.Second
	}
	for _, database := range []string{"sqlite", "postgres"} {
		t.Run(database, func(t *testing.T) {
			s := serveShop(t, database, false)
			crowd := crowdWorks(t, s, 20, lasts, 20*time.Millisecond)
			s.compare(t, crowd)
			readings, changes := 0, 0
			for _, p := range crowd {
				readings += len(p.readings)
				for _, l := range p.notes {
					changes += len(l)
				}
			}
			if readings == 0 || changes == 0 {
				t.Errorf("%d readings and %d changes: nothing was compared", readings, changes)
			}
		})
	}
}

// BenchmarkServe has 50 people work in a shop over HTTP for a minute (other lengths by
// FETTLE_BENCH_SECONDS): boards, jobs with their surveys, runs, changes that clash,
// readings, models now and then, and watches. In "paced" a page is opened, and a
// second later on average the next; in "flat out", a quarter as long, at once. Beside
// it, in the same run, stand a bare handler and plain inserts. Those who ask run in
// the same process and take their share of the cores.
//
// The PostgreSQL is the one that tests use, which never waits for the disk.
func BenchmarkServe(b *testing.B) {
	seconds := 60.0
	if v := os.Getenv(serveSeconds); v != "" {
		var err error
		if seconds, err = strconv.ParseFloat(v, 64); err != nil || !(seconds > 0) {
			b.Fatalf("%s=%q is no number of seconds", serveSeconds, v)
		}
	}
	lasts := time.Duration(seconds * float64(time.Second))
	for _, database := range []string{"sqlite", "postgres"} {
		b.Run(database+"/paced", func(b *testing.B) { benchServe(b, database, lasts, time.Second) })
		b.Run(database+"/flat-out", func(b *testing.B) { benchServe(b, database, lasts/4, 0) })
	}
}

func benchServe(b *testing.B, database string, lasts, pause time.Duration) {
	s := serveShop(b, database, true)
	var crowd []*somebody
	var took time.Duration
	var used float64
	// Once, however many rounds are asked for: it is as long as it is.
	for first := true; b.Loop(); first = false {
		if first {
			began, before := time.Now(), cpuSeconds()
			crowd = crowdWorks(b, s, serveClients, lasts, pause)
			took, used = time.Since(began), cpuSeconds()-before
		}
	}
	s.compare(b, crowd)
	var reads, writes []time.Duration
	clashes, watched, readings := 0, 0, 0
	for _, p := range crowd {
		reads, writes = append(reads, p.reads...), append(writes, p.writes...)
		clashes, watched, readings = clashes+p.clashes, watched+p.watched, readings+len(p.readings)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(len(reads)+len(writes))/took.Seconds(), "requests/s")
	b.ReportMetric(1000*used/float64(len(reads)+len(writes)), "cpu-ms/request")
	b.ReportMetric(quantile(reads, 0.5), "read-p50-ms")
	b.ReportMetric(quantile(reads, 0.99), "read-p99-ms")
	b.ReportMetric(quantile(writes, 0.5), "write-p50-ms")
	b.ReportMetric(quantile(writes, 0.99), "write-p99-ms")
	b.ReportMetric(0, "errors") // one would have ended it
	load, _ := os.ReadFile("/proc/loadavg")
	b.Logf("%d reads, %d writes (%d readings), %d clashes, %d watches in %.1f s; load %s", len(reads), len(writes), readings, clashes, watched, took.Seconds(), strings.TrimSpace(string(load)))

	plain := min(lasts/10+time.Second, 3*time.Second)
	rate, times := bareHandler(b, plain)
	b.ReportMetric(rate, "bare-requests/s")
	b.ReportMetric(quantile(times, 0.5), "bare-p50-ms")
	b.ReportMetric(quantile(times, 0.99), "bare-p99-ms")
	if database == "sqlite" {
		b.ReportMetric(plainInserts(b, plain), "plain-inserts/s")
	}
}

// cpuSeconds is what this process has had of the cores, those who ask included and a
// PostgreSQL not; 0 where the system does not tell. Unlike times it is the same on a busy
// machine.
func cpuSeconds() float64 {
	stat, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	// In hundredths, utime and stime are the 14th and 15th field (proc(5)); the second
	// may hold spaces and ends with the last bracket.
	f := strings.Fields(string(stat[bytes.LastIndexByte(stat, ')')+1:]))
	user, _ := strconv.ParseFloat(f[11], 64)
	system, _ := strconv.ParseFloat(f[12], 64)
	return (user + system) / 100
}

// quantile of some times, in milliseconds.
func quantile(times []time.Duration, q float64) float64 {
	if len(times) == 0 {
		return 0
	}
	slices.Sort(times)
	return float64(times[min(len(times)-1, int(q*float64(len(times))))].Microseconds()) / 1000
}

// bareHandler has as many ask a bare handler for 1 kB of JSON.
func bareHandler(b *testing.B, lasts time.Duration) (rate float64, times []time.Duration) {
	answer := []byte(fmt.Sprintf(`{"notes":%q}`, strings.Repeat("n", 1012)))
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		w.Write(answer)
	}))
	defer srv.Close()
	c := manyConnections(b)
	each := make([][]time.Duration, serveClients)
	began := time.Now()
	var all sync.WaitGroup
	for i := range each {
		all.Go(func() {
			for time.Since(began) < lasts {
				start := time.Now()
				resp, err := c.Get(srv.URL)
				if err != nil {
					b.Error(err)
					return
				}
				if n, err := io.Copy(io.Discard, resp.Body); err != nil || n != int64(len(answer)) {
					b.Errorf("%d bytes of %d, %v", n, len(answer), err)
				}
				resp.Body.Close()
				each[i] = append(each[i], time.Since(start))
			}
		})
	}
	all.Wait()
	took := time.Since(began)
	times = slices.Concat(each...)
	return float64(len(times)) / took.Seconds(), times
}

// plainInserts is how many single rows a second reach this disk through SQLite, with
// the settings of the shop's own file: each is synced.
func plainInserts(b *testing.B, lasts time.Duration) float64 {
	ctx := context.Background()
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(filepath.Join(b.TempDir(), "plain.db"))+"?_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)")
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.ExecContext(ctx, `CREATE TABLE t (id INTEGER PRIMARY KEY, body TEXT NOT NULL)`); err != nil {
		b.Fatal(err)
	}
	body := strings.Repeat("n", 1000)
	n := 0
	began := time.Now()
	for ; time.Since(began) < lasts; n++ {
		if _, err := db.ExecContext(ctx, `INSERT INTO t (body) VALUES ($1)`, body); err != nil {
			b.Fatal(err)
		}
	}
	return float64(n) / time.Since(began).Seconds()
}
