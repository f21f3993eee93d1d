package relief

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// anyTool draws one of the three ends.
func anyTool(t *rapid.T) Tool {
	r := rapid.Float64Range(0.5, 4).Draw(t, "radius")
	switch rapid.IntRange(0, 2).Draw(t, "end") {
	case 0:
		return Ball(r)
	case 1:
		return Bull(r, r*rapid.Float64Range(0.05, 0.95).Draw(t, "corner"))
	}
	return Flat(r)
}

func anyPlace(t *rapid.T, name string) [3]float64 {
	in := rapid.Float64Range(-5, 5)
	return [3]float64{in.Draw(t, name+"x"), in.Draw(t, name+"y"), in.Draw(t, name+"z") / 3}
}

// TestSweptIsTheLowestOfItsPlaces compares the closed forms of a move with the
// tool set down at many places along it.
func TestSweptIsTheLowestOfItsPlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tool := anyTool(t)
		from, to := anyPlace(t, "from"), anyPlace(t, "to")
		s := newSwept(from, to)
		x, y := rapid.Float64Range(-7, 7).Draw(t, "x"), rapid.Float64Range(-7, 7).Draw(t, "y")
		want := math.Inf(1)
		const n = 1500
		for i := range n + 1 {
			u := float64(i) / n
			r := math.Hypot(x-from[0]-u*(to[0]-from[0]), y-from[1]-u*(to[1]-from[1]))
			if r <= tool.Radius {
				want = math.Min(want, from[2]+u*(to[2]-from[2])+tool.rise(r))
			}
		}
		got := s.at(tool, x, y)
		if math.IsInf(want, 1) {
			return // the tool may graze the place between two of the places tried
		}
		// The places tried are l/n apart, which matters most at a square edge.
		step := math.Hypot(to[0]-from[0], to[1]-from[1]) / n
		slack := 1e-9 + step*step/tool.Radius*20
		if tool.Corner == 0 || math.Abs(want-got) > slack {
			slack = 2 * step * (math.Abs(s.m) + 40)
		}
		if got > want+1e-9 || got < want-slack {
			t.Fatalf("%+v from %v to %v at (%v, %v): %v, by trying %v", tool, from, to, x, y, got, want)
		}
	})
}

// TestPlanesLieUnder checks the bound that all pruning rests on.
func TestPlanesLieUnder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tool := anyTool(t)
		s := newSwept(anyPlace(t, "from"), anyPlace(t, "to"))
		cx, cy := rapid.Float64Range(-9, 9).Draw(t, "cx"), rapid.Float64Range(-9, 9).Draw(t, "cy")
		z, gx, gy := s.plane(tool, cx, cy)
		for range 50 {
			x, y := rapid.Float64Range(-9, 9).Draw(t, "x"), rapid.Float64Range(-9, 9).Draw(t, "y")
			h := s.at(tool, x, y)
			if under := z + gx*(x-cx) + gy*(y-cy); under > h+1e-9*(1+math.Abs(under)) {
				t.Fatalf("%+v: the plane touched at (%v, %v) stands %v over the move at (%v, %v)", tool, cx, cy, under-h, x, y)
			}
		}
	})
}

// someMoves is a crowd of moves with several tools, long and short, some level
// and some plunges.
func someMoves(rnd *rand.Rand, n int) ([]Tool, []Move) {
	tools := []Tool{Ball(1.5), Bull(2, 0.5), Flat(1), Ball(0.4)}
	var list []Move
	p := [3]float64{}
	for range n {
		long := 0.1
		if rnd.IntN(5) == 0 {
			long = 6
		}
		q := [3]float64{p[0] + long*rnd.NormFloat64(), p[1] + long*rnd.NormFloat64(), p[2] + 0.1*rnd.NormFloat64()}
		switch rnd.IntN(10) {
		case 0:
			q[2] = p[2]
		case 1:
			q[0], q[1] = p[0], p[1]
		}
		for k := range 2 {
			q[k] = math.Mod(q[k], 6)
		}
		list = append(list, Move{From: p, To: q, Tool: int32(rnd.IntN(len(tools)))})
		p = q
	}
	return tools, list
}

// TestSweepIsTheLowestOfAll compares with every move tried at every cell.
func TestSweepIsTheLowestOfAll(t *testing.T) {
	for seed := range uint64(12) {
		rnd := rand.New(rand.NewPCG(seed, 3))
		tools, list := someMoves(rnd, 60+40*int(seed))
		g := Grid{W: 97 + int(seed), H: 61, DX: 0.15, DY: 0.17, X0: -7.2, Y0: -5}
		opt := Options{Stock: 0.4, Owner: true, NoStock: seed%2 == 1}
		got, owner, err := Sweep(t.Context(), g, tools, list, opt)
		if err != nil {
			t.Fatal(err)
		}
		touched := 0
		for j := range g.H {
			for i := range g.W {
				want, who := opt.Stock, int32(Untouched)
				if opt.NoStock {
					want = math.Inf(1)
				}
				for n, m := range list {
					s := newSwept(m.From, m.To)
					if h := s.at(tools[m.Tool], g.X(i), g.Y(j)); h < want {
						want, who = h, int32(n)
					}
				}
				c := j*g.W + i
				if who != Untouched {
					touched++
				}
				if o := owner[c]; o != who { // moves that meet there come equally low, but for rounding
					h := math.Inf(1)
					if o >= 0 {
						s := newSwept(list[o].From, list[o].To)
						h = s.at(tools[list[o].Tool], g.X(i), g.Y(j))
					}
					if !(math.Abs(h-want) < 1e-12) {
						t.Fatalf("seed %d: cell (%d, %d) is made by move %d, should be %d", seed, i, j, o, who)
					}
				}
				if have := got.At(i, j); who == Untouched && opt.NoStock != math.IsNaN(have) || who != Untouched && math.Abs(have-want) > 1e-6 {
					t.Fatalf("seed %d: cell (%d, %d) is at %v, should be at %v", seed, i, j, have, want)
				}
			}
		}
		if touched < g.Cells()/8 {
			t.Fatalf("seed %d: only %d cells are touched: the test shows little", seed, touched)
		}
	}
}

func TestSweepIsTheSameOnAnyNumberOfCores(t *testing.T) {
	tools, list := someMoves(rand.New(rand.NewPCG(1, 2)), 300)
	g := Grid{W: 300, H: 200, DX: 0.05, DY: 0.05, X0: -7, Y0: -5}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first *Map
	var who []int32
	for _, n := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(n)
		m, o, err := Sweep(t.Context(), g, tools, list, Options{Owner: true})
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first, who = m, o
			continue
		}
		if !slices.Equal(first.Z, m.Z) || !slices.Equal(who, o) {
			t.Fatalf("%d cores give another surface", n)
		}
	}
}

func TestSweepRefuses(t *testing.T) {
	g := Cover(0, 0, 1, 1, 0.1)
	ok := Move{To: [3]float64{1, 1, 0}}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for name, f := range map[string]func() error{
		"no size":      func() error { _, _, err := Sweep(t.Context(), g, []Tool{{}}, []Move{ok}, Options{}); return err },
		"no such tool": func() error { _, _, err := Sweep(t.Context(), g, nil, []Move{ok}, Options{}); return err },
		"no place": func() error {
			_, _, err := Sweep(t.Context(), g, []Tool{Ball(1)}, []Move{{From: [3]float64{math.NaN()}}}, Options{})
			return err
		},
		"stopped": func() error { _, _, err := Sweep(gone, g, []Tool{Ball(1)}, []Move{ok}, Options{}); return err },
	} {
		if f() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// TestShortBlocks takes paths of many short moves, bending, climbing and turning
// back, whose moves leave cells to their neighbours, and compares with every move
// tried at every cell.
func TestShortBlocks(t *testing.T) {
	for seed := range uint64(5) {
		rnd := rand.New(rand.NewPCG(seed, 11))
		tools := []Tool{Ball(1.2), Ball(0.6), Bull(1, 0.3)}
		var list []Move
		for pass := range 14 {
			p := [3]float64{-3, -2 + 0.3*float64(pass), 0}
			dir, climb := 0.2*rnd.NormFloat64(), 0.0
			tool := int32(0)
			switch rnd.IntN(6) {
			case 0:
				tool = 1
			case 1:
				tool = 2
			}
			for range 120 {
				dir += 0.15 * rnd.NormFloat64()
				climb = 0.8*climb + 0.3*rnd.NormFloat64()
				if rnd.IntN(40) == 0 {
					dir += math.Pi * rnd.Float64()
				}
				l := 0.03 + 0.05*rnd.Float64()
				q := [3]float64{p[0] + l*math.Cos(dir), p[1] + l*math.Sin(dir), p[2] + l*climb}
				if pass%4 == 3 { // teeth
					list = append(list, Move{From: q, To: q, Tool: tool})
				} else {
					list = append(list, Move{From: p, To: q, Tool: tool})
				}
				p = q
			}
		}
		g := Grid{W: 64, H: 50, DX: 0.12, DY: 0.12, X0: -3.8, Y0: -3}
		got, _, err := Sweep(t.Context(), g, tools, list, Options{NoStock: true})
		if err != nil {
			t.Fatal(err)
		}
		for j := range g.H {
			for i := range g.W {
				want := math.Inf(1)
				for _, m := range list {
					s := newSwept(m.From, m.To)
					want = math.Min(want, s.at(tools[m.Tool], g.X(i), g.Y(j)))
				}
				have := got.At(i, j)
				if math.IsInf(want, 1) != math.IsNaN(have) || !math.IsNaN(have) && math.Abs(have-want) > 2e-6 {
					t.Fatalf("seed %d: cell (%d, %d) is at %v, should be at %v", seed, i, j, have, want)
				}
			}
		}
	}
}
