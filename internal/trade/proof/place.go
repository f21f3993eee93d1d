package proof

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/spatial/r3"
)

// place is where everything lies in program coordinates.
type place struct {
	frame   relief.Frame // from the model
	part    box          // the part's
	nominal box          // the blank as ordered
	stock   box          // the blank as sawn
	blocks  []block      // that nothing may touch
	tol     float64      // depth of a gouge
}

// block is a box that nothing may touch.
type block struct {
	name string
	box
	jaw bool
}

// frameOf is the frame of the program's coordinates on the model.
func frameOf(s fettle.Setup) relief.Frame {
	z := geom.Vec(s.Up)
	if n := r3.Norm(z); n > 0 {
		z = r3.Scale(1/n, z)
	} else {
		z = r3.Vec{Z: 1}
	}
	f := relief.Facing(z)
	f.Origin = geom.Vec(s.Zero)
	// The part turns anticlockwise, so the program's axes turn clockwise on it.
	return f.Turned(-s.TurnDeg * math.Pi / 180)
}

// readSetup places part, stock and jaws, and finds the cutters.
func (j *job) readSetup() error {
	s := j.Setup
	j.place = place{frame: frameOf(s), tol: s.ToleranceMM}
	if j.place.tol == 0 {
		j.place.tol = 0.02
	}
	if j.Part != nil {
		for _, t := range j.Part.Mesh.Tri {
			for _, v := range t {
				j.place.part.add(geom.Array(j.place.frame.Into(j.Part.Mesh.Pos[v])))
			}
		}
	}
	if s.Stock != nil {
		if err := j.placeStock(*s.Stock); err != nil {
			return err
		}
	}
	if s.Jaws != nil {
		if err := j.placeJaws(*s.Jaws); err != nil {
			return err
		}
	}
	for _, b := range s.Blocks {
		j.place.blocks = append(j.place.blocks, block{name: b.Name, box: box{b.Lo, b.Hi, true}})
	}
	return j.readTools()
}

func (j *job) placeStock(s fettle.SetupStock) error {
	p := &j.place
	if s.Lo != nil {
		p.nominal = box{*s.Lo, *s.Hi, true}
	} else {
		if !p.part.any {
			return fettle.Errorf(fettle.Invalid, "the set-up gives the stock as over_mm, an allowance over the part, and there is no part; give --part or lo_mm and hi_mm")
		}
		p.nominal = p.part
		for k := range 3 {
			p.nominal.lo[k] -= s.Over[2*k]
			p.nominal.hi[k] += s.Over[2*k+1]
		}
	}
	p.stock = p.nominal
	sawn := s.Sawn
	if len(sawn) == 0 {
		if p.nominal.size(0) >= p.nominal.size(1) {
			sawn = []string{"x-", "x+"}
		} else {
			sawn = []string{"y-", "y+"}
		}
	}
	for i, side := range []string{"x-", "x+", "y-", "y+"} {
		if !slices.Contains(sawn, side) {
			continue
		}
		if i%2 == 0 {
			p.stock.lo[i/2] -= s.SawCutMM
		} else {
			p.stock.hi[i/2] += s.SawCutMM
		}
	}
	return nil
}

func (j *job) placeJaws(s fettle.SetupJaws) error {
	pick := func(v *float64, from float64) {
		if *v == 0 {
			*v = from
		}
	}
	if s.Name != "" {
		i := slices.IndexFunc(j.Shelf.Jaws, func(c fettle.Jaws) bool { return c.Name == s.Name || c.Title == s.Name })
		if i >= 0 {
			c := j.Shelf.Jaws[i]
			pick(&s.WidthMM, c.WidthMM)
			pick(&s.HeightMM, c.HeightMM)
			pick(&s.ThickMM, c.ThickMM)
			if s.OpeningMM > c.OpenMM && c.OpenMM > 0 {
				j.check(0, "jaws", "measure the part again or choose other jaws", "the set-up opens %s to %s, and they open to %s at most",
					s.Name, j.sys.Length(s.OpeningMM), j.sys.Length(c.OpenMM))
			}
		}
	}
	if !(s.WidthMM > 0) || !(s.HeightMM > 0) || !(s.ThickMM > 0) {
		return fettle.Errorf(fettle.NotFound, "jaws %q are not on the shelf; give width_mm, height_mm and thick_mm of the set-up's jaws, or a name that is", s.Name)
	}
	axis := 1
	if s.Axis == "x" {
		axis = 0
	}
	across := 1 - axis
	name := s.Name
	if name == "" {
		name = "jaw"
	}
	for _, side := range []float64{-1, 1} {
		b := block{name: name, jaw: true}
		b.any = true
		inner := s.Centre[axis] + side*s.OpeningMM/2
		outer := inner + side*s.ThickMM
		b.lo[axis], b.hi[axis] = math.Min(inner, outer), math.Max(inner, outer)
		b.lo[across], b.hi[across] = s.Centre[across]-s.WidthMM/2, s.Centre[across]+s.WidthMM/2
		b.lo[2], b.hi[2] = s.TopMM-s.HeightMM, s.TopMM
		j.place.blocks = append(j.place.blocks, b)
	}
	return nil
}
