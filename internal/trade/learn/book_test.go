package learn

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var (
	fine5   = names{"ceramic-fine-5", "wet barrel", "naval brass"}
	fine2   = names{"ceramic-fine-2", "wet barrel", "naval brass"}
	general = names{"ceramic-general-8", "bowl", "mild steel"}
	cob     = names{"cob-2", "dry barrel", "naval brass"}
)

func runOf(n names, id string, readings ...fettle.Reading) fettle.Run {
	return fettle.Run{ID: id, Kind: fettle.StepTumble, Material: n.metal, Media: n.media, Vessel: n.vessel, AreaMM2: 7500, Readings: readings}
}

func raAt(h, um float64) fettle.Reading {
	return fettle.Reading{Kind: fettle.ReadRa, AtH: h, Value: um}
}

var coupon = []fettle.Reading{raAt(0, 1.5), raAt(1, 1.05), raAt(3, 0.68), raAt(8, 0.33), raAt(12, 0.29)}

func TestAnEmptyBookKnowsTheStartingGuesses(t *testing.T) {
	m, v, mt := things(t, fine5)
	want := tumble.ProcessOf(m, v, mt)
	for _, b := range []*Book{nil, read(t)} {
		if d := cmp.Diff(want, b.Process(m, v, mt, fettle.ToneUsual)); d != "" {
			t.Error(d)
		}
		if d := cmp.Diff(want.Toned(fettle.ToneDark, m), b.Process(m, v, mt, fettle.ToneDark)); d != "" {
			t.Error(d)
		}
	}
}

// What is learned of one ceramic helps its kin, less than itself, and leaves what
// runs dry alone.
func TestKinBorrow(t *testing.T) {
	b := read(t, runOf(fine5, "a", coupon...))
	process := func(b *Book, n names) tumble.Process {
		m, v, mt := things(t, n)
		return b.Process(m, v, mt, fettle.ToneUsual)
	}
	self, selfBefore := process(b, fine5), process(nil, fine5)
	kin, kinBefore := process(b, fine2), process(nil, fine2)
	for _, c := range []struct {
		what                string
		now, was, kin, kin0 fettle.Estimate
		self, shared        float64
	}{
		{"T", self.TimeConstantH, selfBefore.TimeConstantH, kin.TimeConstantH, kinBefore.TimeConstantH, 0.4, 0.85},
		{"RL", self.LimitRaUM, selfBefore.LimitRaUM, kin.LimitRaUM, kinBefore.LimitRaUM, 0.6, 0.95},
	} {
		if r := c.now.LogSD() / c.was.LogSD(); r > c.self {
			t.Errorf("%s: own readings leave %.2f of the interval", c.what, r)
		}
		r := c.kin.LogSD() / c.kin0.LogSD()
		if r > c.shared || r < c.now.LogSD()/c.was.LogSD() {
			t.Errorf("%s: readings of kin leave %.2f of the interval", c.what, r)
		}
		if c.now.Basis != "shop log (n = 5)" || c.kin.Basis != "starting guess, shifted by the shop log of its kin (n = 5)" {
			t.Errorf("%s: %q, %q", c.what, c.now.Basis, c.kin.Basis)
		}
		// Kin move the same way.
		if (c.now.Value < c.was.Value) != (c.kin.Value < c.kin0.Value) {
			t.Errorf("%s goes from %g to %g, kin from %g to %g", c.what, c.was.Value, c.now.Value, c.kin0.Value, c.kin.Value)
		}
	}
	if d := cmp.Diff(process(nil, cob), process(b, cob)); d != "" {
		t.Errorf("cob has learned from wet ceramic: %s", d)
	}
	// In the same bowl and on the same metal wet and dry are two processes.
	b = read(t, runOf(names{"ceramic-fine-5", "bowl", "naval brass"}, "a", coupon...))
	if d := cmp.Diff(process(nil, names{"cob-2", "bowl", "naval brass"}), process(b, names{"cob-2", "bowl", "naval brass"})); d != "" {
		t.Errorf("dry has learned from wet: %s", d)
	}
}

// A weighing tells removal, and by the coupling of pace and removal it tells
// hours too.
func TestWeighingNarrows(t *testing.T) {
	before := (*Book)(nil).about(t, general)
	gram := fettle.Reading{Kind: fettle.ReadGrams, AtH: 4, Value: 0.6} // 10 µm off 7500 mm² of steel
	after := read(t, runOf(general, "a", gram)).about(t, general)
	um := tumble.RemovalFromMass(0.6, 7500, 7.87)
	if got := math.Exp(after.own.q[iMs][2]); math.Abs(got/(um/4)-1) > 0.05 {
		t.Errorf("removal %g µm/h, weighed %g", got, um/4)
	}
	take, pace := after.sd(iMs)/before.sd(iMs), after.sd(iT)/before.sd(iT)
	t.Logf("one weighing leaves %.2f of the interval on removal and %.2f of that on hours", take, pace)
	if take > 0.2 || pace > 0.8 {
		t.Errorf("one weighing leaves %.2f of the interval on removal and %.2f of that on hours", take, pace)
	}
	// The promise made beforehand is kept.
	m, v, mt := things(t, general)
	next := (*Book)(nil).Next(m, v, mt, fettle.ToneUsual, 1.6, 0.8)
	at := slices.IndexFunc(next, func(n fettle.NextReading) bool { return n.Kind == fettle.ReadGrams })
	if at < 0 {
		t.Fatalf("weighing is not proposed: %+v", next)
	}
	s0, s1 := hoursSlope(before.mean, 1.6, 0.8), hoursSlope(after.mean, 1.6, 0.8)
	kept := math.Sqrt(quadratic(after.cov, s1) / quadratic(before.cov, s0))
	close(t, "promised", next[at].Narrows, kept, 0.1)
	if !strings.Contains(next[at].Says, "weigh the part before") {
		t.Errorf("%q", next[at].Says)
	}
}

// Every kind of reading of roughness and removal moves what it should, towards
// what it says.
func TestEveryReadingBears(t *testing.T) {
	law := tumble.Rates{T: 0.6, RL: 0.3, Ms: 4}
	series := func(kind fettle.ReadingKind, f func(ra float64) float64) (out []fettle.Reading) {
		for _, h := range []float64{0, 0.3, 0.6, 1, 2, 4} {
			out = append(out, fettle.Reading{Kind: kind, AtH: h, Value: f(law.Ra(2, h))})
		}
		return out
	}
	prior := (*Book)(nil).about(t, general)
	for name, c := range map[string]struct {
		readings []fettle.Reading
		number   int
		want     float64
		within   float64 // of the logarithm
	}{
		"Rz":         {series(fettle.ReadRz, func(ra float64) float64 { return 7 * ra }), iT, 0.6, 0.15},
		"Sq":         {series(fettle.ReadSq, func(ra float64) float64 { return 1.25 * ra }), iT, 0.6, 0.15},
		"grade":      {series(fettle.ReadGrade, func(ra float64) float64 { return math.Round(1 + math.Log2(ra/0.025)) }), iT, 0.6, 0.45},
		"gloss":      {series(fettle.ReadGloss, gloss), iT, 0.6, 0.45},
		"micrometer": {[]fettle.Reading{{Kind: fettle.ReadMicron, AtH: 6, Value: 48}}, iMs, 4, 0.1},
		"marks": {[]fettle.Reading{
			{Kind: fettle.ReadMarkGone, AtH: 1, Value: 0, DepthUM: 8}, {Kind: fettle.ReadMarkGone, AtH: 4, Value: 1, DepthUM: 8},
			{Kind: fettle.ReadMarkGone, AtH: 1.5, Value: 0, DepthUM: 8}, {Kind: fettle.ReadMarkGone, AtH: 3, Value: 1, DepthUM: 8},
		}, iMs, 4, 0.25},
	} {
		k := read(t, runOf(general, "a", c.readings...)).about(t, general)
		e := k.estimate(c.number, false)
		if d := math.Abs(math.Log(e.Value / c.want)); d > c.within {
			t.Errorf("%s: %.3g, want %.3g", name, e.Value, c.want)
		}
		if e.Low > c.want || e.High < c.want {
			t.Errorf("%s: %+v leaves out %g", name, e, c.want)
		}
		if k.sd(c.number) > 0.7*prior.sd(c.number) {
			t.Errorf("%s: %.2f of the interval is left", name, k.sd(c.number)/prior.sd(c.number))
		}
	}
}

func TestOrderDoesNotMatter(t *testing.T) {
	log := demo.Logbook()
	a := read(t, log.Runs...)
	rng := rand.New(rand.NewPCG(1, 2))
	rng.Shuffle(len(log.Runs), func(i, j int) { log.Runs[i], log.Runs[j] = log.Runs[j], log.Runs[i] })
	for i := range log.Runs {
		rs := slices.Clone(log.Runs[i].Readings)
		slices.Reverse(rs)
		log.Runs[i].Readings = rs
	}
	b := read(t, log.Runs...)
	for _, n := range []names{fine5, fine2, cob, general} {
		p, q := a.about(t, n), b.about(t, n)
		for i := range params {
			close(t, "median", math.Log(p.estimate(i, false).Value), math.Log(q.estimate(i, false).Value), 1e-3)
			close(t, "sd", p.estimate(i, false).LogSD(), q.estimate(i, false).LogSD(), 1e-3)
		}
	}
}

func TestTheDemoLogReads(t *testing.T) {
	l := read(t, demo.Logbook().Runs...).Learned()
	if len(l.Refused) != 1 || !strings.Contains(l.Refused[0], "brackets-1") || !strings.Contains(l.Refused[0], "fast, then slowly") {
		t.Errorf("refused: %q", l.Refused)
	}
	if len(l.Next) == 0 || len(l.Parameters) < 15 || l.Runs != 15 {
		t.Errorf("%d runs, %d parameters, %d next", l.Runs, len(l.Parameters), len(l.Next))
	}
	for _, p := range l.Parameters {
		if !p.Value.Valid() || !p.Prior.Valid() || p.Says == "" || p.Unit == "" {
			t.Errorf("%+v", p)
		}
		if p.Value.LogSD() > p.Prior.LogSD()*1.001 && p.Name != NamePower {
			t.Errorf("%s of %s is wider than before: %g, %g", p.Name, p.Media, p.Value.LogSD(), p.Prior.LogSD())
		}
	}
	e, ok := read(t, demo.Logbook().Runs...).Jam("escutcheon", "slot-1", "ceramic-fine-5")
	// One of twelve and half a piece of prior: Beta(1.5, 11.5), median 0.0963 by
	// the approximation (a − 1/3)/(a + b − 2/3) to 2 %.
	if !ok || math.Abs(e.Value/(1.5-1.0/3)*(13-2.0/3)-1) > 0.03 {
		t.Errorf("jam chance %+v", e)
	}
}

// Any log that is allowed is read, and what comes out is always a number with
// its bounds in order.
func TestAnyLogIsRead(t *testing.T) {
	s := stock.Shelf()
	rapid.Check(t, func(t *rapid.T) {
		var log fettle.Logbook
		for range rapid.IntRange(0, 4).Draw(t, "runs") {
			r := fettle.Run{
				Kind: fettle.StepTumble, AreaMM2: rapid.Float64Range(10, 1e5).Draw(t, "area"), Pieces: rapid.IntRange(0, 30).Draw(t, "pieces"),
				Material: rapid.SampledFrom(s.Materials).Draw(t, "metal").Name,
				Media:    rapid.SampledFrom(s.Media[:6]).Draw(t, "media").Name,
				Vessel:   rapid.SampledFrom(s.Vessels).Draw(t, "vessel").Name,
				Tone:     rapid.SampledFrom([]fettle.Tone{"", fettle.ToneDark}).Draw(t, "tone"),
			}
			if rapid.Bool().Draw(t, "by hand") {
				r.Kind, r.Grit, r.SizeMM = fettle.StepRub, rapid.SampledFrom(s.Grits).Draw(t, "grit").Name, rapid.Float64Range(0, 500).Draw(t, "size")
			}
			for range rapid.IntRange(0, 8).Draw(t, "readings") {
				kinds := []fettle.ReadingKind{
					fettle.ReadRa, fettle.ReadRa, fettle.ReadRz, fettle.ReadSq, fettle.ReadGrade, fettle.ReadGloss, fettle.ReadGrams, fettle.ReadMicron, fettle.ReadMarkGone, fettle.ReadMinutes,
				}
				rd := fettle.Reading{
					Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), AtH: rapid.Float64Range(0, 50).Draw(t, "h"),
					Spread: rapid.SampledFrom([]float64{0, 0, 0.05, 0.5}).Draw(t, "spread"),
				}
				lim := limits[rd.Kind]
				rd.Value = math.Exp(rapid.Float64Range(math.Log(math.Max(lim.least, 1e-3)), math.Log(lim.most)).Draw(t, "value"))
				switch rd.Kind {
				case fettle.ReadGrade:
					rd.Value = math.Round(rd.Value)
				case fettle.ReadMarkGone:
					rd.Value, rd.DepthUM = math.Round(rd.Value), rapid.Float64Range(0.1, 50).Draw(t, "depth")
				}
				r.Readings = append(r.Readings, rd)
			}
			log.Runs = append(log.Runs, r)
		}
		b, err := Read(t.Context(), log, s)
		if err != nil {
			if fettle.CodeOf(err) != fettle.Invalid {
				t.Fatal(err)
			}
			return
		}
		for _, m := range []fettle.Media{s.Media[0], s.Media[4], s.Media[15]} {
			for _, v := range s.Vessels[:3] {
				for _, e := range estimates(b.Process(m, v, s.Materials[0], "")) {
					if !e.Valid() || e.Low <= 0 {
						t.Fatalf("%+v", e)
					}
				}
			}
		}
		for _, p := range b.Learned().Parameters {
			if !p.Value.Valid() || p.Value.Low < 0 {
				t.Fatalf("%+v", p)
			}
		}
		for _, n := range b.Next(s.Media[4], s.Vessels[0], s.Materials[0], "", 1.6, 0.5) {
			if !(n.Narrows > 0 && n.Narrows <= 1) {
				t.Fatalf("%+v", n)
			}
		}
		if e, ok := b.Pace(s.Grits[2], s.Materials[0]); ok && !e.Valid() {
			t.Fatalf("%+v", e)
		}
	})
}

func estimates(p tumble.Process) []fettle.Estimate {
	return []fettle.Estimate{p.TimeConstantH, p.LimitRaUM, p.RemovalUMH, p.RoughenH}
}

// Runs of one process that agree make its interval narrower; runs that differ by
// more than they scatter make it wider, and are named.
func TestRunsThatDifferAreNamed(t *testing.T) {
	made := func(id string, tc float64, rng *rand.Rand) fettle.Run {
		c := trial{truth: [params]float64{math.Log(tc), math.Log(0.4), 0, -1}, r0: 2, hours: tenHours, sd: 0.06, state: true}
		return c.run(general, id, rng)
	}
	warned := 0
	for i := range 60 {
		rng := rand.New(rand.NewPCG(9, uint64(i)))
		b := read(t, made("a", 1.3, rng), made("b", 1.3, rng), made("c", 1.3, rng))
		warned += len(b.warnings)
	}
	if warned > 2 {
		t.Errorf("%d of 60 logs that agree are warned of", warned)
	}
	rng := rand.New(rand.NewPCG(9, 9))
	one := read(t, made("a", 1.3, rng))
	same := read(t, made("a", 1.3, rng), made("b", 1.3, rng), made("c", 1.3, rng))
	differ := read(t, made("a", 0.8, rng), made("b", 1.3, rng), made("c", 2.2, rng))
	width := func(b *Book) float64 { return b.about(t, general).estimate(iT, false).LogSD() }
	if !(width(same) < 0.8*width(one)) {
		t.Errorf("three runs leave %g, one %g", width(same), width(one))
	}
	if !(width(differ) > 2*width(same)) {
		t.Errorf("runs that differ leave %g, runs that agree %g", width(differ), width(same))
	}
	if w := differ.Learned().Warnings; len(w) != 1 || !strings.Contains(w[0], "Runs a, b and c of ceramic-general-8") {
		t.Errorf("%q", w)
	}
}
