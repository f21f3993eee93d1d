package main

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/output/solid"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
)

// stl is a mesh as a binary STL file.
func stl(t *testing.T, m *mesh.Mesh) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := solid.WriteSTL(&b, m, "test"); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Files that are cut short, lie, are empty, hold no numbers or no solid get one
// sentence and the right status, and leave nothing behind.
func TestBadFilesGetOneSentence(t *testing.T) {
	good := stl(t, form.Box(10, 20, 30))
	lying := bytes.Clone(good)
	binary.LittleEndian.PutUint32(lying[80:], 4_000_000_000)
	nan := bytes.Clone(good)
	for at := 84 + 12; at+36 <= len(nan); at += 50 {
		for k := 0; k < 36; k += 4 {
			binary.LittleEndian.PutUint32(nan[at+k:], math.Float32bits(float32(math.NaN())))
		}
	}
	// Two boxes that share one edge and nothing else.
	a, b := form.Box(10, 10, 10), form.Box(10, 10, 10)
	pair := &mesh.Mesh{Pos: a.Pos, Tri: a.Tri}
	for _, p := range b.Pos {
		p.X += 10
		p.Y += 10
		pair.Pos = append(pair.Pos, p)
	}
	for _, c := range b.Tri {
		n := uint32(len(a.Pos))
		pair.Tri = append(pair.Tri, [3]uint32{c[0] + n, c[1] + n, c[2] + n})
	}

	for name, c := range map[string]struct {
		data         []byte
		survey, plan int
	}{
		"cut-short.stl": {good[:len(good)-70], 3, 3},
		"head-only.stl": {good[:84], 3, 3},
		"lying.stl":     {lying, -1, -1}, // read with a note, or refused; never believed
		"empty.stl":     {nil, 3, 3},
		"nan.stl":       {nan, 3, 3},
		"zeros.stl":     {make([]byte, 5000), 3, 3},
		"tangled.stl":   {stl(t, pair), 0, 3},
		"open.stl":      {stl(t, &mesh.Mesh{Pos: a.Pos, Tri: a.Tri[:6]}), 0, 3},
	} {
		if testing.Short() && (c.plan != c.survey || c.plan < 0) {
			continue // it is surveyed in earnest, which the race detector takes minutes over
		}
		dir := t.TempDir()
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, c.data, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, cmd := range []struct {
			args []string
			want int
		}{
			{[]string{"survey", file, "--quiet"}, c.survey},
			{[]string{"plan", file, "--quiet", "--material", "304", "--finish", "matte", "--out", filepath.Join(dir, "out")}, c.plan},
		} {
			var out, errw bytes.Buffer
			got := run(t.Context(), cmd.args, &out, &errw)
			if got != cmd.want && !(cmd.want < 0 && (got == 0 || got == 3)) {
				t.Errorf("%s %s: status %d, want %d: %s", cmd.args[0], name, got, cmd.want, errw.String())
			}
			says := errw.String()
			if got != 0 && (strings.Count(says, "\n") != 1 || !strings.HasPrefix(says, "fettle: "+name) || strings.Contains(says, "goroutine") || len(says) > 300) {
				t.Errorf("%s %s: not one sentence about the file: %q", cmd.args[0], name, says)
			}
		}
		if c.plan == 3 {
			if _, err := os.Stat(filepath.Join(dir, "out")); err == nil {
				t.Errorf("%s: a plan that failed left a folder", name)
			}
		}
	}
}
