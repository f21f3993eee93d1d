// Package intaketest is what the tests of all readers ask of a part: a refusal
// is one line, and what was read can be worked with.
package intaketest

import (
	"errors"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"
)

// Sound fails the test when an answer of a reader is neither a fault of one
// line nor a part whose triangles are no more than most, whose indices are in
// range and whose coordinates are numbers. It reports whether there is a part.
func Sound(t testing.TB, p *intake.Part, err error, most int) bool {
	t.Helper()
	if err != nil {
		var fault *intake.Fault
		if !errors.As(err, &fault) || strings.ContainsAny(err.Error(), "\n\r") {
			t.Fatalf("not a one-line fault: %q", err)
		}
		return false
	}
	if len(p.Mesh.Tri) > most || len(p.Mesh.Pos) > 3*most {
		t.Fatalf("%d triangles and %d vertices, where the bytes can hold %d", len(p.Mesh.Tri), len(p.Mesh.Pos), most)
	}
	for _, v := range p.Mesh.Tri {
		if int(max(v[0], v[1], v[2])) >= len(p.Mesh.Pos) {
			t.Fatal("index out of range")
		}
	}
	for _, q := range p.Mesh.Pos {
		if !intake.Finite(q.X) || !intake.Finite(q.Y) || !intake.Finite(q.Z) {
			t.Fatalf("vertex %v", q)
		}
	}
	return true
}

// Volume is the signed volume of a mesh.
func Volume(m *mesh.Mesh) float64 { return mesh.Measure(m, nil).Volume }
