package jam

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/trade/stock"

	"gonum.org/v1/gonum/spatial/r2"
)

// Spheres in bores on either side of each line of the table of ring bridges, that
// of n equal spheres being 1 + 1/sin(π/n): what is said of them changes there.
func TestSpheresOnEitherSideOfEachLine(t *testing.T) {
	const bore = 8
	f, o := boredPlate(bore, 6)
	for _, row := range []struct {
		line        float64
		under, over string
	}{
		{1.0000, "hardly enter", "just goes into"},
		{1 + math.Cos(2*math.Atan(0.4)), "wedges beside", "lock side by side"},
		{2.0000, "lock side by side", "3 can bridge"},
		{2.1547, "3 can bridge", "4 can bridge"},
		{2.4142, "4 can bridge", "5 can bridge"},
		{2.7013, "5 can bridge", "6 can bridge"},
		{3.0000, "6 can bridge", "too wide for a flat bridge"},
	} {
		for side, want := range map[float64]string{-1: row.under, 1: row.over} {
			ratio := row.line * (1 + 1e-3*side)
			j := judged(t, f, o, piece(fettle.Sphere, bore/ratio, 0))
			if !strings.Contains(j.Why, want) {
				t.Errorf("at %.5f, of %.4f: %q, want %q", ratio, row.line, j.Why, want)
			}
			entry := fettle.PassesFree
			if ratio < 1 {
				entry = fettle.CannotEnter
			} else if ratio < justFits {
				entry = fettle.CanBeHeld
			}
			if j.Enters != entry {
				t.Errorf("at %.5f: %s, want %s", ratio, j.Enters, entry)
			}
			near(t, "ratio", j.Ratio, ratio, 1e-9)
		}
	}
}

// A pin of 1 × 8 mm goes lengthwise through a bore of 4 mm. By its length alone,
// as a sphere, it would be said to stay outside.
func TestALongPieceGoesThroughLengthwise(t *testing.T) {
	f, o := boredPlate(4, 5)
	j := judged(t, f, o, piece(fettle.Cylinder, 1, 8))
	if j.Enters != fettle.PassesFree || j.Chance.P >= 0.1 {
		t.Errorf("%+v", j)
	}
	if ball := judged(t, f, o, piece(fettle.Sphere, 8, 8)); ball.Enters != fettle.CannotEnter {
		t.Errorf("a ball of its length: %+v", ball)
	}
	if thick := judged(t, f, o, piece(fettle.Cylinder, 4.3, 8)); thick.Enters != fettle.CannotEnter {
		t.Errorf("4.3 mm in a bore of 4 mm: %+v", thick)
	}
	if tight := judged(t, f, o, piece(fettle.Cylinder, 3.9, 8)); tight.Enters != fettle.CanBeHeld || tight.Chance.P < 0.5 || !strings.Contains(tight.Why, "just goes into") {
		t.Errorf("3.9 mm in a bore of 4 mm: %+v", tight)
	}
}

// A cylinder locks across a bore where it is wider from corner to corner than
// the bore, but by so little that the line between the corners stays within the cones of
// friction: bore < √(d² + l²) < bore·√(1 + μ²). Shorter it falls through, longer
// it stands so steep that it slides.
func TestStruts(t *testing.T) {
	const bore = 7.2
	f, o := boredPlate(bore, 8)
	frame := map[float64]bool{5.5: false, 7.0: true, 9.5: false}
	for length, want := range frame {
		d := math.Hypot(3, length)
		if in := bore < d && d < bore*math.Sqrt(1+friction*friction); in != want {
			t.Fatalf("the case of %g mm is wrong", length)
		}
		k, err := kindOf(piece(fettle.Cylinder, 3, length))
		if err != nil {
			t.Fatal(err)
		}
		seen, ok := k.search(o, f, 1)
		if !ok || !seen.enters || (seen.lock >= noise) != want {
			t.Errorf("3 × %g mm in %g mm: %+v, locks should be %v", length, bore, seen, want)
		}
	}
	j := judged(t, f, o, piece(fettle.Cylinder, 3, 7))
	if j.Enters != fettle.CanBeHeld || j.Chance.P < 0.1 {
		t.Errorf("%+v", j)
	}
}

func TestAnUndercutPocketTraps(t *testing.T) {
	f, o := undercut(6, 2, 12, 9)
	straight, p := undercut(6, 2, 6, 9)
	for _, m := range []fettle.Media{piece(fettle.Sphere, 4, 4), piece(fettle.Cylinder, 3, 4), piece(fettle.Tetra, 4, 4), piece(fettle.Cylinder, 3, 8)} {
		in := judged(t, f, o, m)
		if in.Enters != fettle.CanBeHeld || in.Chance.P < 0.3 || m.Shape != fettle.Sphere && !strings.Contains(in.Why, "wider behind its mouth") {
			t.Errorf("%s: %+v", m.Name, in)
		}
		if out := judged(t, straight, p, m); strings.Contains(out.Why, "wider behind") || out.Chance.P >= in.Chance.P {
			t.Errorf("%s in a straight pocket: %+v", m.Name, out)
		}
	}
	// What the mouth keeps out is not trapped.
	if j := judged(t, f, o, piece(fettle.Cylinder, 7, 9)); j.Enters != fettle.CannotEnter {
		t.Errorf("%+v", j)
	}
}

// A piece that goes in at a keyhole's round end, 9 mm, may slide into the slot of 5 mm.
func TestAKeyhole(t *testing.T) {
	f := cutPlate(t, 4, form.Keyhole(r2.Vec{Y: 5}, 9, 5, 16, 48))
	o := fettle.Opening{ID: "slot-1", Kind: fettle.Slot, Form: "keyhole", Through: true, WidthMM: 5, WidestMM: 9, LengthMM: 20.5, DepthMM: 4, Axis: [3]float64{0, 0, 1}, At: [3]float64{0, -0.5, 4}}
	for _, row := range []struct {
		m     fettle.Media
		entry fettle.Entry
	}{
		{piece(fettle.Cylinder, 8.6, 12), fettle.CanBeHeld},  // fits the round end
		{piece(fettle.Cylinder, 4.8, 4.5), fettle.CanBeHeld}, // fits the slot
		{piece(fettle.Cylinder, 9.8, 12), fettle.CannotEnter},
		{piece(fettle.Cone, 15, 15), fettle.CannotEnter},
		{piece(fettle.Cylinder, 2, 2.2), fettle.PassesFree},
	} {
		if j := judged(t, f, o, row.m); j.Enters != row.entry {
			t.Errorf("%v: %+v, want %s", row.m.SizeMM, j, row.entry)
		}
	}
}

// As a bore grows past a piece, the chance goes to nothing, and never rises by
// more than the coarseness of the search.
func TestTheChanceFallsAsTheBoreGrows(t *testing.T) {
	media := []fettle.Media{piece(fettle.Cylinder, 3, 5), piece(fettle.Triangle, 5, 3), piece(fettle.AngleCut, 3, 4), piece(fettle.Cone, 4, 4), piece(fettle.Grain, 2, 3), piece(fettle.Sphere, 5, 5)}
	last := []float64{1, 1, 1, 1, 1, 1}
	for _, bore := range []float64{7, 9, 12, 17, 24} {
		f, o := boredPlate(bore, 6)
		j, err := Judge(context.Background(), []fettle.Opening{o}, f, media)
		if err != nil {
			t.Fatal(err)
		}
		for i, m := range media {
			j := j[3*i]
			if j.Enters == fettle.CannotEnter || j.Chance.P > last[i]+0.02 {
				t.Errorf("%s in %g mm: %+v, before %.3f", m.Name, bore, j, last[i])
			}
			last[i] = j.Chance.P
		}
	}
	for i, p := range last {
		if p > 0.005 {
			t.Errorf("%s in the widest bore: %.3f", media[i].Name, p)
		}
	}
}

// Pieces of 4.4 mm wear at 1/600 of their size an hour, (1 − share)·300/0.5 by
// the law that the loss goes with the surface: into a bore of 4 mm, 91 % of them,
// in 55 h.
func TestHoursUntilTheyFit(t *testing.T) {
	f, o := boredPlate(4, 5)
	for _, m := range []fettle.Media{piece(fettle.Sphere, 4.4, 4.4), piece(fettle.Cylinder, 4.4, 6)} {
		m.HoursRun = 20
		j, err := Judge(context.Background(), []fettle.Opening{o}, f, []fettle.Media{m})
		if err != nil {
			t.Fatal(err)
		}
		fresh, now, worn := j[0], j[1], j[2]
		if fresh.Enters != fettle.CannotEnter || worn.Enters == fettle.CannotEnter || fresh.HoursToFit == nil || now.HoursToFit == nil {
			t.Fatalf("%s: %+v", m.Name, j)
		}
		near(t, m.Name+": hours from new", fresh.HoursToFit.Value, 600*(1-4/4.4), 12)
		near(t, m.Name+": hours from now", fresh.HoursToFit.Value-now.HoursToFit.Value, 20, 1e-6)
		if !fresh.HoursToFit.Valid() {
			t.Errorf("%+v", fresh.HoursToFit)
		}
		// Never: discarded before.
		big, err := Judge(context.Background(), []fettle.Opening{o}, f, []fettle.Media{piece(m.Shape, 5.3, 6)})
		if err != nil || big[0].HoursToFit != nil || big[2].Enters != fettle.CannotEnter {
			t.Errorf("%+v, %v", big, err)
		}
	}
}

func TestTheSameOnAnyNumberOfCores(t *testing.T) {
	f, o := boredPlate(6.3, 5)
	g := o
	g.ID, g.WidthMM, g.WidestMM = "hole-2", 6.1, 6.1
	media := []fettle.Media{piece(fettle.Cylinder, 3, 6), piece(fettle.Sphere, 3, 3), piece(fettle.AngleCut, 5, 6)}
	media[0].HoursRun = 30
	var first []fettle.Jam
	for _, cores := range []int{1, 3} {
		old := runtime.GOMAXPROCS(cores)
		j, err := Judge(context.Background(), []fettle.Opening{o, g}, f, media)
		runtime.GOMAXPROCS(old)
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range j {
			if want := []fettle.State{fettle.New, fettle.Now, fettle.Worn}[i%3]; x.State != want || x.Media != media[i/3%len(media)].Name || x.Why == "" || x.Enters == "" || math.IsNaN(x.Chance.P) || x.Chance.P < 0 || x.Chance.P > 1 || x.Chance.Word == "" {
				t.Fatalf("%d: %+v", i, x)
			}
		}
		if first == nil {
			first = j
		} else if !reflect.DeepEqual(first, j) {
			t.Errorf("other judgements on %d cores", cores)
		}
	}
}

func TestBadInput(t *testing.T) {
	f, o := boredPlate(4, 5)
	for _, m := range []fettle.Media{{Name: "none", Shape: fettle.Cylinder}, piece(fettle.Cone, 3, math.NaN()), piece(fettle.Sphere, math.Inf(1), 0), piece("star", 3, 3)} {
		if _, err := Judge(context.Background(), []fettle.Opening{o}, f, []fettle.Media{m}); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), m.Name) {
			t.Errorf("%v: %v", m, err)
		}
	}
	far := o
	far.At = [3]float64{500, 0, 0}
	flat := o
	flat.Axis = [3]float64{}
	for _, o := range []fettle.Opening{{ID: "x", Kind: fettle.Pocket}, {ID: "y", Axis: [3]float64{0, 0, 1}}, far, flat} {
		for _, m := range []fettle.Media{piece(fettle.Cylinder, 2, 3), piece(fettle.Sphere, 3, 3), piece(fettle.Cone, 4, 4)} {
			if j := judged(t, f, o, m); j.Why == "" || j.Chance.P < 0 || j.Chance.P > 1 || o.WidthMM == 0 && j.Chance.P != 0 {
				t.Errorf("%+v: %+v", o, j)
			}
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Judge(ctx, []fettle.Opening{o}, f, stock.Shelf().Media); err == nil {
		t.Error("judged after the context's end")
	}
	if j, err := Judge(context.Background(), nil, nil, stock.Shelf().Media); err != nil || len(j) != 0 {
		t.Errorf("%v, %v", j, err)
	}
}

func TestPlugs(t *testing.T) {
	openings := []fettle.Opening{
		{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: 4, WidestMM: 4, LengthMM: 4, DepthMM: 5},
		{ID: "slot-1", Kind: fettle.Slot, Form: "keyhole", Through: true, WidthMM: 5, WidestMM: 9, LengthMM: 20.5, DepthMM: 4},
		{ID: "pocket-1", Kind: fettle.Pocket, WidthMM: 12, WidestMM: 12, LengthMM: 30, DepthMM: 3},
	}
	jam := func(o, m string, s fettle.State, p float64) fettle.Jam {
		return fettle.Jam{Opening: o, Media: m, State: s, Chance: fettle.ChanceOf(p)}
	}
	jams := []fettle.Jam{
		jam("hole-1", "a", fettle.New, 0.01), jam("hole-1", "a", fettle.Worn, 0.5), jam("slot-1", "a", fettle.New, 0.05), jam("pocket-1", "a", fettle.New, 0),
		jam("hole-1", "b", fettle.New, 0.5), jam("slot-1", "b", fettle.New, 0.3),
		jam("hole-1", "c", fettle.New, 0.02), jam("slot-1", "c", fettle.New, 0.3),
		jam("slot-1", "d", fettle.Worn, 0.7), jam("pocket-1", "e", fettle.New, 0.02),
	}
	var got []string
	for _, p := range Plugs(openings, jams, 0.1) {
		got = append(got, strings.Join(append([]string{p.Opening}, p.With...), "+")+" "+fmt.Sprint(p.Frees))
		for _, m := range p.Frees {
			if !strings.Contains(p.Says, m) {
				t.Errorf("%q does not name %s", p.Says, m)
			}
		}
	}
	if want := []string{"slot-1 [c d]", "hole-1 [a]", "hole-1+slot-1 [a b c d]"}; !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	near(t, "any", Any(jams[:4]), 1-0.5*0.95, 1e-12)
	near(t, "none", Any(nil), 0, 0)
}
