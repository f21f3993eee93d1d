// Package brep turns the solid models of a STEP file into triangles. It does
// so with a general-purpose boundary-representation kernel, OCCT, in the
// WebAssembly build of the npm package occt-import-js, which the build rewrites
// (build/kernel says how) and which runs here without cgo, in a sandbox that
// sees no disk, no network, no clock and a bounded memory.
//
// [New] names a kernel, [Kernel.Read] reads a file with it. What comes back is
// what the kernel says, number for number; package step makes a part of it.
package brep

import (
	"fmt"
	"time"
)

// Settings steer the tessellation.
type Settings struct {
	// Unit is the unit of what comes back: millimeter, centimeter, meter, inch or
	// foot; empty: millimeter.
	Unit string
	// Linear is how far a facet may stand off the surface, in Unit, or as a share
	// of the mean side of the model's box where Relative is set. Angular is how far
	// the surface may turn between neighbouring points, in radians. Zeros leave both
	// to the kernel, which takes 0.001 of the box and 0.5.
	Linear   float64
	Relative bool
	Angular  float64
}

// Scene is what a kernel found in a file.
type Scene struct {
	Root   Node
	Meshes []Mesh
}

// Node is a product of an assembly, or a part.
type Node struct {
	Name     string
	Meshes   []int // indices into Scene.Meshes
	Children []Node
}

// Mesh is one solid, one open shell, or the loose faces of a node. Every face
// has vertices of its own, so that neighbours share none.
type Mesh struct {
	Name   string
	Colour *[3]float64 // red, green, blue, as the kernel has them
	Pos    []float64   // x, y, z, placed as the assembly has them
	Normal []float64   // likewise, may be shorter where a face has none
	Tri    []uint32    // three vertices a triangle
	Faces  []Face
}

// Face is one face of the model as a run of triangles. A face without
// triangles has Last < First.
type Face struct {
	First, Last int
	Colour      *[3]float64
}

// TrapKind says what ended a reading.
type TrapKind string

// The kinds of traps.
const (
	Threw    TrapKind = "threw"    // the kernel met what it has no answer for
	NoMemory TrapKind = "memory"   // it asked for more than it may have
	NoTime   TrapKind = "time"     // it took longer than it may
	TooDeep  TrapKind = "depth"    // its stack ran out
	Refused  TrapKind = "refused"  // it says of itself that it cannot
	Broken   TrapKind = "broken"   // it is not a kernel that runs here
	Missing  TrapKind = "missing"  // this build has none
	Unstable TrapKind = "unstable" // it went astray in its memory
)

// Trap is a reading that the kernel did not finish. The process and other
// readings go on as if nothing had been.
type Trap struct {
	Kind TrapKind
	// Limit is the limit that was met, of memory in bytes or of time.
	Bytes int64
	Time  time.Duration
	Log   string // what the kernel wrote on its way, its end, for our eyes
	Err   error  // what the host says, for our eyes; may be nil
}

// Error is a clause for a log.
func (t *Trap) Error() string {
	switch t.Kind {
	case NoMemory:
		return fmt.Sprintf("the kernel asked for more than %d MB", t.Bytes>>20)
	case NoTime:
		return fmt.Sprintf("the kernel was stopped after %s", t.Time)
	}
	if t.Err != nil {
		return fmt.Sprintf("the kernel ended (%s): %v", t.Kind, t.Err)
	}
	return fmt.Sprintf("the kernel ended (%s)", t.Kind)
}

// Unwrap is the cause.
func (t *Trap) Unwrap() error { return t.Err }
