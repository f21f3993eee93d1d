package brep

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle/internal/format/step/steptest"

	"github.com/google/go-cmp/cmp"
)

// cube is a STEP file of a cube of 10 mm.
func cube() []byte {
	var f steptest.File
	f.Part("cube", f.Box("block", [3]float64{}, [3]float64{10, 10, 10}))
	return f.Bytes()
}

// What comes back is the cube: eight corners, three for each face's own, with
// outward normals.
func TestRead(t *testing.T) {
	s, err := Default().Read(t.Context(), cube(), Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Meshes) != 1 || len(s.Root.Children) != 1 || s.Root.Children[0].Name != "cube" {
		t.Fatalf("%d meshes, root %+v", len(s.Meshes), s.Root)
	}
	m := s.Meshes[0]
	if m.Name != "cube" && m.Name != "block" || len(m.Faces) != 6 || len(m.Tri) != 36 || len(m.Pos) != 72 || len(m.Normal) != 72 {
		t.Fatalf("%q: %d faces, %d corners of triangles, %d coordinates, %d of normals", m.Name, len(m.Faces), len(m.Tri), len(m.Pos), len(m.Normal))
	}
	for i := 0; i < len(m.Pos); i += 3 {
		away := 0.0
		for k := range 3 {
			away += (m.Pos[i+k] - 5) * m.Normal[i+k]
		}
		if away != 5 {
			t.Errorf("corner %v with normal %v", m.Pos[i:i+3], m.Normal[i:i+3])
		}
	}
}

// A kernel serves several at once, each as if alone.
func TestConcurrent(t *testing.T) {
	want, err := Default().Read(t.Context(), cube(), Settings{})
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			got, err := Default().Read(t.Context(), cube(), Settings{})
			if err != nil || !cmp.Equal(want, got) {
				t.Errorf("another answer, err %v", err)
			}
		})
	}
	wg.Wait()
}

// Whatever the bytes, a reading ends in a scene or a trap, and the next one is
// well.
func TestBadFiles(t *testing.T) {
	good := cube()
	for name, data := range map[string][]byte{
		"nothing":   {},
		"a letter":  []byte("dear sir"),
		"zeros":     make([]byte, 10_000),
		"half":      good[:len(good)/2],
		"brackets":  []byte("ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=" + strings.Repeat("(", 20_000) + ";\nENDSEC;\nEND-ISO-10303-21;\n"),
		"no shells": []byte(strings.ReplaceAll(string(good), "CLOSED_SHELL", "CLOSED_SHEEP")),
	} {
		s, err := Default().Read(t.Context(), data, Settings{})
		var trap *Trap
		if err != nil && !errors.As(err, &trap) {
			t.Errorf("%s: %v is no trap", name, err)
		}
		if s != nil && len(s.Meshes) > 0 {
			t.Errorf("%s: %d meshes", name, len(s.Meshes))
		}
		if s, err := Default().Read(t.Context(), good, Settings{}); err != nil || len(s.Meshes) != 1 {
			t.Fatalf("after %s the cube is gone: %v", name, err)
		}
	}
}

// A reading that is out of time, or called off, ends at the next turn of a
// loop; one out of memory when it asks for more.
func TestLimits(t *testing.T) {
	var trap *Trap
	late := New(Options{Time: time.Nanosecond})
	defer late.Close(context.Background())
	if _, err := late.Read(t.Context(), cube(), Settings{}); !errors.As(err, &trap) || trap.Kind != NoTime || trap.Time != time.Nanosecond {
		t.Errorf("out of time: %v", err)
	}
	large := []byte(strings.Replace(string(cube()), "HEADER;", "HEADER;/*"+strings.Repeat("x", 60<<20)+"*/", 1))
	small := New(Options{Bytes: 32 << 20})
	defer small.Close(context.Background())
	if _, err := small.Read(t.Context(), large, Settings{}); !errors.As(err, &trap) || trap.Kind != NoMemory || trap.Bytes != 32<<20 {
		t.Errorf("out of memory: %v", err)
	}
	if _, err := small.Read(t.Context(), cube(), Settings{}); err != nil {
		t.Errorf("32 MB are enough for a cube: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	time.AfterFunc(time.Millisecond, cancel)
	if _, err := Default().Read(ctx, cube(), Settings{Linear: 1e-6, Angular: 1e-6}); err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("called off: %v", err)
	}
}

// A module that is none, or not one of a kernel's, is told apart from a file
// that is none.
func TestOtherModules(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct {
		code string
		want TrapKind
	}{
		"none.wasm":   {"", Missing},
		"text.wasm":   {"not a module", Broken},
		"packed.wasm": {"\x1f\x8bnot packed", Broken},
		"empty.wasm":  {"\x00asm\x01\x00\x00\x00", Broken},
	} {
		path := filepath.Join(dir, name)
		if c.code != "" {
			if err := os.WriteFile(path, []byte(c.code), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		k := New(Options{File: path, Cache: "off"})
		var trap *Trap
		if _, err := k.Read(t.Context(), cube(), Settings{}); !errors.As(err, &trap) || trap.Kind != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
		k.Close(context.Background())
	}
}

// What was compiled is kept, and compiled again where it was damaged. The
// interpreter of the engine, which shares nothing with its compiler but the
// module, gives the same.
func TestCacheAndInterpreter(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles the module twice and interprets it")
	}
	want, err := Default().Read(t.Context(), cube(), Settings{})
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "deep", "kernel")
	read := func(opt Options) {
		t.Helper()
		k := New(opt)
		defer k.Close(context.Background())
		got, err := k.Read(t.Context(), cube(), Settings{})
		if err != nil || !cmp.Equal(want, got) {
			t.Errorf("%+v: another answer, err %v", opt, err)
		}
	}
	read(Options{Cache: dir})
	var kept []string
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			kept = append(kept, path)
		}
		return err
	})
	if err != nil || len(kept) == 0 {
		t.Fatalf("nothing was kept (%v)", err)
	}
	for _, path := range kept {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for i := len(b) / 2; i < len(b)/2+1000 && i < len(b); i++ {
			b[i] ^= 0x55
		}
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	damaged, err := os.ReadFile(kept[0])
	if err != nil {
		t.Fatal(err)
	}
	read(Options{Cache: dir})
	if mended, err := os.ReadFile(kept[0]); err != nil || bytes.Equal(mended, damaged) {
		t.Errorf("what was damaged is still there (%v)", err)
	}
	read(Options{Cache: "off", Interpret: true})
}

func TestNotices(t *testing.T) {
	n := Notices()
	for _, part := range []string{"occt-import-js, version 0.0.23", "What was changed", "GNU LESSER GENERAL PUBLIC LICENSE", "Version 2.1, February 1999"} {
		if !strings.Contains(n, part) {
			t.Errorf("the notices lack %q", part)
		}
	}
}
