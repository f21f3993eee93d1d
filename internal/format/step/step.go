// Package step reads STEP files (ISO 10303-21; AP203, AP214, AP242), the
// files that customers really send. [Read] is the way in: bytes in, a part out,
// in millimetres, with the bodies, the names, the colours and the face of the
// model that each triangle came from.
//
// Two readers look at the file. Package part21 reads its text: which unit,
// which products, what lies beside the solids, whether the shape is in another
// file. Package brep has a kernel turn the solids into triangles. Where the two
// disagree, the user is told.
package step

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"fettle/internal/format/brep"
	"fettle/internal/format/intake"
	"fettle/internal/format/part21"
)

// What facets may leave where the caller does not say. The kernel places every
// vertex on the model's own surface; what it leaves is the sag of flat facets
// between them.
const (
	// FineMM is for surfaces that cusps are looked for on: a cusp of a good show
	// face is 2 to 10 µm.
	FineMM = 0.002
	// FineShare of the longest side takes its place on what is larger than 200 mm,
	// which nobody looks at so closely.
	FineShare = 1e-5
	// CoarseShare of the mean side of the box is for all else, 5 µm on 50 mm.
	CoarseShare = 1e-4
	// AngularRad is how far the surface may turn from vertex to vertex: small
	// fillets keep their shape where the sag alone would let them have three facets.
	AngularRad = 0.2
	// rescueShare is for a file that cannot be had finer in the time there is.
	rescueShare = 1e-3
)

// Options steer the reading. The zero value reads for measuring.
type Options struct {
	// LinearMM is how far facets may stand off the surface; 0: what Fine says.
	// AngularRad likewise; 0: [AngularRad].
	LinearMM, AngularRad float64
	// Fine is for surfaces that cusps are looked for on; else facets may stand off
	// by [CoarseShare] of the part's size.
	Fine   bool
	Kernel *brep.Kernel // nil: the one in the binary
}

// Read makes a part of a STEP file. The error is the context's, or an
// [intake.Fault] of one sentence; the kernel's troubles never go further.
func Read(ctx context.Context, data []byte, opt Options) (*intake.Part, error) {
	sum, err := part21.Read(data)
	if err != nil {
		return nil, err
	}
	if sum.Solids+sum.Sheets == 0 && len(sum.External) > 0 {
		return nil, &intake.Fault{Format: "STEP", What: "the shape is not in this file but in " + some(sum.External),
			Try: "open that file, or ask for one file with everything in it"}
	}
	kernel := opt.Kernel
	if kernel == nil {
		kernel = brep.Default()
	}
	set := brep.Settings{Linear: opt.LinearMM, Angular: opt.AngularRad}
	guessed := set.Linear <= 0 && opt.Fine
	switch {
	case guessed:
		set.Linear = fine(sum.Extent * unitOf(sum).MM)
	case set.Linear <= 0:
		set.Linear, set.Relative = CoarseShare, true
	}
	if set.Angular <= 0 {
		set.Angular = AngularRad
	}
	scene, notes, err := readScene(ctx, kernel, data, set)
	if err == nil && guessed && len(notes) == 0 && fine(longest(scene)) < set.Linear/2 {
		// Points far from the part had it look large, and it was read at once.
		set.Linear = fine(longest(scene))
		scene, notes, err = readScene(ctx, kernel, data, set)
	}
	if err != nil {
		var trap *brep.Trap
		if errors.As(err, &trap) {
			return nil, faultOf(trap, sum, kernel.Options().File != "")
		}
		return nil, err
	}
	part, err := partOf(scene, sum)
	if err != nil {
		return nil, err
	}
	if len(sum.External) > 0 {
		notes = append(notes, "some of the shape is in other files and was left out: "+some(sum.External))
	}
	part.Notes = append(notes, part.Notes...)
	return part, nil
}

// unitOf is the unit that most of a file is in. The kernel takes a file that
// names none as one in millimetres.
func unitOf(sum *part21.Summary) part21.Unit {
	if len(sum.Units) > 0 {
		return sum.Units[0]
	}
	return part21.Unit{MM: 1}
}

// fine is the tolerance for cusps on a part of this size.
func fine(mm float64) float64 { return max(FineMM, FineShare*mm) }

// longest is the longest side of the box round a scene.
func longest(s *brep.Scene) float64 {
	side := 0.0
	for k := range 3 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for i := range s.Meshes {
			for p := s.Meshes[i].Pos; len(p) >= 3; p = p[3:] {
				lo, hi = min(lo, p[k]), max(hi, p[k])
			}
		}
		side = max(side, hi-lo)
	}
	return side
}

// readScene asks the kernel, and where it fails asks again in a way that takes
// longer or leaves more, and says so.
func readScene(ctx context.Context, kernel *brep.Kernel, data []byte, set brep.Settings) (*brep.Scene, []string, error) {
	scene, err := kernel.Read(ctx, data, set)
	var trap *brep.Trap
	if !errors.As(err, &trap) {
		return scene, nil, err
	}
	switch trap.Kind {
	case brep.NoTime, brep.NoMemory:
		coarse := brep.Settings{Linear: rescueShare, Relative: true, Angular: 2 * AngularRad}
		scene, again := kernel.Read(ctx, data, coarse)
		if again == nil {
			return scene, []string{fmt.Sprintf("%s, so its round faces were taken coarser: flat facets stand off them by up to %g of the part's size", limitSays(trap), rescueShare)}, nil
		}
		if e := ctx.Err(); e != nil {
			return nil, nil, e
		}
	}
	return nil, nil, err
}

// limitSays is a clause about a limit that was met.
func limitSays(t *brep.Trap) string {
	if t.Kind == brep.NoTime {
		return fmt.Sprintf("the model took longer than %s to read", t.Time)
	}
	return fmt.Sprintf("the model asked for more than %d MB of memory to read", t.Bytes>>20)
}

// faultOf says in a sentence what ended the reading, by a kernel that the user
// named or by the one in the binary.
func faultOf(t *brep.Trap, sum *part21.Summary, named bool) *intake.Fault {
	f := &intake.Fault{Format: "STEP"}
	const other = "export it again, as AP214 or AP242, or as STL or 3MF"
	switch t.Kind {
	case brep.NoTime, brep.NoMemory:
		f.What, f.Try = limitSays(t), "leave small features and other bodies out, or export it as STL or 3MF"
	case brep.Missing:
		f.What, f.Try = "this build of fettle has no kernel for STEP in it", "build it with make build, or name one with --brep-kernel FILE"
		if named {
			f.What, f.Try = "the kernel that was named cannot be opened", "check the path after --brep-kernel"
		}
	case brep.Broken:
		f.What, f.Try = "the kernel for STEP does not run on this machine", "export the part as STL or 3MF, and report it"
		if named {
			f.What, f.Try = "the kernel that was named is not one that runs here", "make one with go run ./build/kernel, or leave --brep-kernel out"
		}
	case brep.Refused:
		f.What, f.Try = "the kernel finds no model in it that can be read", other
		if sum.Solids == 0 && len(sum.Beside) > 0 {
			f.What, f.Try = "there is no solid in it, only "+some(sum.Beside), "export the part as a solid body"
		}
	default:
		f.What, f.Try = "the file has a place that the kernel cannot make sense of", "mend the model where it was drawn and "+other
	}
	return f
}

// some lists a few things in words.
func some(things []string) string {
	const most = 3
	switch n := len(things); {
	case n == 1:
		return things[0]
	case n <= most:
		return strings.Join(things[:n-1], ", ") + " and " + things[n-1]
	default:
		return strings.Join(things[:most], ", ") + fmt.Sprintf(" and %d more", n-most)
	}
}
