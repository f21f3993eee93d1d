//go:build outside

package outside

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"
)

// Plain fits against SciPy's, and the intervals of a log against the posterior
// integrated by brute force.
func TestLearningAgainstSciPy(t *testing.T) {
	s := stock.Shelf()
	m, _ := s.MediaNamed("ceramic-general-8")
	v, _ := s.Vessel("bowl")
	mt, err := s.Material("mild steel")
	if err != nil {
		t.Fatal(err)
	}
	prior := tumble.ProcessOf(m, v, mt)
	type one struct {
		Hours []float64  `json:"hours"`
		Ra    []float64  `json:"ra"`
		SD    float64    `json:"sd"`
		Start [2]float64 `json:"start"`
		Limit [2]float64 `json:"limit"`
		Time  [2]float64 `json:"time"`
	}
	var cases []one
	var in bytes.Buffer
	rng := rand.New(rand.NewPCG(17, 5))
	for i := range 12 {
		c := one{
			SD:    []float64{0.03, 0.06, 0.1}[i%3],
			Limit: [2]float64{math.Log(prior.LimitRaUM.Value), prior.LimitRaUM.LogSD()},
			Time:  [2]float64{math.Log(prior.TimeConstantH.Value), prior.TimeConstantH.LogSD()},
		}
		law := tumble.Rates{T: 0.5 + 1.5*rng.Float64(), RL: 0.15 + 0.3*rng.Float64()}
		for _, h := range []float64{0, 0.25, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 8} {
			c.Hours = append(c.Hours, h)
			c.Ra = append(c.Ra, law.Ra(2, h)*math.Exp(c.SD*rng.NormFloat64()))
		}
		c.Start = [2]float64{math.Log(c.Ra[0]), 1.5}
		cases = append(cases, c)
		if err := json.NewEncoder(&in).Encode(c); err != nil {
			t.Fatal(err)
		}
	}
	file := filepath.Join(t.TempDir(), "cases")
	if err := os.WriteFile(file, in.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(bytes.NewReader(run(t, "python3-scipy", "sh", "-c", python+" testdata/learn.py < "+file)))
	worst := 0.0
	for i, c := range cases {
		var want struct {
			Fit         [3]float64
			Limit, Time [3]float64
		}
		if err := dec.Decode(&want); err != nil {
			t.Fatal(err)
		}
		r0, rl, tc, err := learn.Exponential(c.Hours, c.Ra)
		if err != nil {
			t.Fatal(err)
		}
		for k, got := range []float64{r0, rl, tc} {
			if math.Abs(got/want.Fit[k]-1) > 1e-5 {
				t.Errorf("case %d: fitted number %d is %.8g, SciPy's %.8g", i, k, got, want.Fit[k])
			}
		}
		r := fettle.Run{ID: fmt.Sprint(i), Kind: fettle.StepTumble, Material: mt.Name, Media: m.Name, Vessel: v.Name}
		for k, h := range c.Hours {
			r.Readings = append(r.Readings, fettle.Reading{Kind: fettle.ReadRa, AtH: h, Value: c.Ra[k], Spread: c.SD})
		}
		b, err := learn.Read(t.Context(), fettle.Logbook{Runs: []fettle.Run{r}}, s)
		if err != nil {
			t.Fatal(err)
		}
		l := b.Learned()
		if len(l.Refused) > 0 {
			t.Errorf("case %d: %s", i, l.Refused[0])
			continue
		}
		for _, p := range l.Parameters {
			q := want.Time
			switch p.Name {
			case learn.NameLimit:
				q = want.Limit
			case learn.NameTake:
				continue
			}
			for k, got := range []float64{p.Value.Low, p.Value.Value, p.Value.High} {
				off := math.Abs(math.Log(got)-q[k]) / (q[2] - q[0])
				worst = math.Max(worst, off)
				if off > 0.03 {
					t.Errorf("case %d: %s %d is %.4g, by brute force %.4g", i, p.Name, k, got, math.Exp(q[k]))
				}
			}
		}
	}
	t.Logf("worst bound off by %.3f of the interval", worst)
}
