package store

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"fettle"
)

// large is a shop of 10 000 records and 200 MB of files, half of them photos and half
// models, as saved for a benchmark.
func large(b *testing.B) (*Store, string) {
	b.Helper()
	s := place{Options{Dir: b.TempDir()}}.open(b)
	r := rand.New(rand.NewPCG(1, 2))
	var files []fettle.Blob
	for i := range 200 {
		content := make([]byte, 1<<20)
		for j := range content {
			content[j] = byte(r.Uint32())
		}
		if i%2 == 1 {
			var text bytes.Buffer
			for n := 0; text.Len() < len(content); n++ {
				fmt.Fprintf(&text, "#%d=CARTESIAN_POINT('',(%.9f,%.9f,%.9f));\n", n, r.Float64()*60, r.Float64()*40, r.Float64()*7)
			}
			content = text.Bytes()[:len(content)]
		}
		files = append(files, must[fettle.Blob](b)(s.PutBlob(ctx, bytes.NewReader(content), 1<<30)))
	}
	for i := range 10 {
		var e fettle.Edit
		for j := range 1000 {
			rec := fettle.Record{Kind: fettle.KeptReading, Name: fmt.Sprint("reading ", i, j), Body: []byte(`{"what":"ra_um","value":0.42,"says":"` + strings.Repeat("as measured ", 20) + `"}`)}
			if j%10 == 0 {
				rec.Kind, rec.Files = fettle.KeptPhoto, map[string]string{"photo": files[(100*i+j/10)%len(files)].SHA256}
			}
			e.Changes = append(e.Changes, fettle.Change{Act: fettle.Make, Record: rec})
		}
		if _, err := s.Apply(ctx, e); err != nil {
			b.Fatal(err)
		}
	}
	return s, saved(b, s)
}

func folderBytes(b *testing.B, dir string) (n int64) {
	b.Helper()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			if st, err := d.Info(); err == nil {
				n += st.Size()
			}
		}
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
	return n
}

// BenchmarkBackup compares a backup, its restore and a check with copying the same
// folder by cp and putting it on the disk by sync.
func BenchmarkBackup(b *testing.B) {
	s, path := large(b)
	n := folderBytes(b, s.dir)
	st, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	b.Logf("the workspace has %d MB, the backup %d MB", n>>20, st.Size()>>20)
	b.Run("backup", func(b *testing.B) {
		b.SetBytes(n)
		defer cpu(b)()
		for b.Loop() {
			saved(b, s)
		}
	})
	b.Run("stream", func(b *testing.B) {
		b.SetBytes(n)
		defer cpu(b)()
		for b.Loop() {
			must[fettle.BackupReport](b)(s.WriteBackup(ctx, io.Discard, nil))
		}
	})
	b.Run("restore", func(b *testing.B) {
		b.SetBytes(n)
		defer cpu(b)()
		for b.Loop() {
			must[fettle.RestoreReport](b)(Restore(ctx, Options{Dir: b.TempDir()}, path, nil))
		}
	})
	b.Run("check", func(b *testing.B) {
		b.SetBytes(n)
		defer cpu(b)()
		for b.Loop() {
			sound(b, s)
		}
	})
	b.Run("cp", func(b *testing.B) {
		cp, err := exec.LookPath("cp")
		if err != nil {
			b.Skip("NOT COMPARED: there is no cp here")
		}
		b.SetBytes(n)
		defer cpu(b)()
		for b.Loop() {
			to := b.TempDir()
			if out, err := exec.Command(cp, "-r", s.dir, to).CombinedOutput(); err != nil {
				b.Fatalf("%s: %v", out, err)
			}
			if out, err := exec.Command("sync", "-f", to).CombinedOutput(); err != nil {
				b.Fatalf("%s: %v", out, err)
			}
		}
	})
}

// cpu reports what an operation took of the cores, which a busy machine does not
// change as much as its wall time.
func cpu(b *testing.B) func() {
	used := func() (s float64) {
		for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
			var u syscall.Rusage
			if err := syscall.Getrusage(who, &u); err != nil {
				b.Fatal(err)
			}
			s += float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
		}
		return s
	}
	before := used()
	return func() { b.ReportMetric((used()-before)/float64(b.N), "cpu-s/op") }
}
