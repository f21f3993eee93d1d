package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"
)

// trial is one made-up run on a known process.
type trial struct {
	truth [params]float64
	r0    float64
	hours []float64
	sd    float64 // of the logarithm of a reading
	near  float64 // added near the limit
	state bool    // whether the readings say so
}

// names of the shelf that the trials stand on.
type names struct{ media, vessel, metal string }

func (c trial) run(n names, id string, rng *rand.Rand) fettle.Run {
	r := fettle.Run{ID: id, Kind: fettle.StepTumble, Material: n.metal, Media: n.media, Vessel: n.vessel}
	law := tumble.Rates{T: math.Exp(c.truth[iT]), RL: math.Exp(c.truth[iRL]), Roughen: math.Exp(c.truth[iT] + c.truth[iRough])}
	for _, h := range c.hours {
		ra := law.Ra(c.r0, h)
		sd := math.Sqrt(c.sd*c.sd + c.near*c.near*nearness(math.Log(ra), c.truth[iRL]))
		rd := fettle.Reading{Kind: fettle.ReadRa, AtH: h, Value: ra * math.Exp(sd*rng.NormFloat64())}
		if c.state {
			rd.Spread = sd
		}
		r.Readings = append(r.Readings, rd)
	}
	return r
}

func read(t testing.TB, runs ...fettle.Run) *Book {
	t.Helper()
	b, err := Read(t.Context(), fettle.Logbook{Runs: runs}, stock.Shelf())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *Book) about(t testing.TB, n names) knowledge {
	t.Helper()
	m, v, mt := things(t, n)
	return b.know(m, v, mt, fettle.ToneUsual)
}

func things(t testing.TB, n names) (fettle.Media, fettle.Vessel, fettle.Material) {
	t.Helper()
	s := stock.Shelf()
	m, err := s.MediaNamed(n.media)
	if err != nil {
		t.Fatal(err)
	}
	v, err := s.Vessel(n.vessel)
	if err != nil {
		t.Fatal(err)
	}
	mt, err := s.Material(n.metal)
	if err != nil {
		t.Fatal(err)
	}
	return m, v, mt
}

func TestIntervalsCoverTheTruth(t *testing.T) {
	cases := 500
	n := names{"ceramic-general-8", "bowl", "mild steel"}
	prior := (*Book)(nil).about(t, n)
	syn := [params]float64{math.Log(0.75), math.Log(0.2), 0, prior.mean[iRough]}
	var synH []float64
	for _, row := range synthetic {
		synH = append(synH, row[0]/60)
	}
	drawn := func(rng *rand.Rand) (x [params]float64) {
		for i := range x {
			x[i] = prior.mean[i] + prior.process.sd[i]*rng.NormFloat64()
		}
		return x
	}
	for _, d := range []struct {
		name string
		make func(rng *rand.Rand) trial
	}{
		{"drawn, stated", func(rng *rand.Rand) trial {
			return trial{truth: drawn(rng), r0: 1 + 2*rng.Float64(), hours: []float64{0, 0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 8}, sd: 0.05 + 0.07*rng.Float64(), state: true}
		}},
		{"drawn, unstated", func(rng *rand.Rand) trial {
			return trial{truth: drawn(rng), r0: 1 + 2*rng.Float64(), hours: []float64{0, 0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 8}, sd: 0.05 + 0.07*rng.Float64()}
		}},
		{"drawn, unstated, near", func(rng *rand.Rand) trial {
			return trial{truth: drawn(rng), r0: 1 + 2*rng.Float64(), hours: []float64{0, 0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 8}, sd: 0.12, near: 0.2}
		}},
		{"fixed, stated", func(rng *rand.Rand) trial {
			return trial{truth: syn, r0: 1.6, hours: synH, sd: 0.05 + 0.07*rng.Float64(), state: true}
		}},
		{"fixed, unstated", func(rng *rand.Rand) trial {
			return trial{truth: syn, r0: 1.6, hours: synH, sd: 0.05 + 0.07*rng.Float64()}
		}},
		{"fixed 8, stated", func(rng *rand.Rand) trial {
			return trial{truth: syn, r0: 1.6, hours: []float64{0, 0.25, 0.5, 0.75, 1, 1.5, 2, 3}, sd: 0.05 + 0.07*rng.Float64(), state: true}
		}},
	} {
		rng := rand.New(rand.NewPCG(7, 11))
		in := [params]int{}
		below := [params]int{}
		refusals := 0
		width := [params]float64{}
		for i := range cases {
			c := d.make(rng)
			b := read(t, c.run(n, fmt.Sprint(i), rng))
			if len(b.refused) > 0 {
				refusals++
				continue
			}
			k := b.about(t, n)
			for _, p := range []int{iT, iRL} {
				width[p] += k.sd(p)
				if !k.own.ok[p] {
					t.Fatal("not integrated")
				}
				q := k.own.q[p]
				if q[0] <= c.truth[p] && c.truth[p] <= q[4] {
					in[p]++
				} else if c.truth[p] < q[2] {
					below[p]++
				}
			}
		}
		f := 100 / float64(cases-refusals)
		t.Logf("%-22s T %.1f %% (below %.1f) sd %.3f, RL %.1f %% (below %.1f) sd %.3f, refused %.1f %%", d.name, f*float64(in[iT]), f*float64(below[iT]), width[iT]/float64(cases),
			f*float64(in[iRL]), f*float64(below[iRL]), width[iRL]/float64(cases), f*float64(refusals))
	}
}
