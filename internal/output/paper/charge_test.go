package paper

import (
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/draw"
)

// onPaper is all that a traveler says, its lines joined.
func onPaper(t *testing.T, pages []*draw.Drawing) string {
	t.Helper()
	var b strings.Builder
	for _, d := range pages {
		for _, x := range d.Texts {
			b.WriteString(x.S + " ")
		}
	}
	return b.String()
}

// A charge's paper says where the water stands, what it passes on the way, how
// else it could run, and has a box for each look and room for later ones; a mop
// says what it does not get to; a mark says how often it is found. Keys are for
// the program and stay off.
func TestNewThingsOnPaper(t *testing.T) {
	p := samplePlan()
	p.Route[5].Zone, p.Route[5].Marks = "sides", p.Route[6].Marks // there before the mop
	for _, sys := range []fettle.System{fettle.Metric, fettle.Inch} {
		pages, err := Pages(p, nil, Options{Size: A4, Display: sys})
		if err != nil {
			t.Fatal(err)
		}
		text := onPaper(t, pages)
		water := map[fettle.System]string{fettle.Metric: "Darker: water 1.0 l, compound 20 ml, 2 h (less water", fettle.Inch: "Darker: water 1.1 qt, compound 0.68 fl oz, 2 h (less water"}[sys]
		for _, want := range []string{
			"A finger below the top of the load.", "At least 10 times as much media as parts.", "Matte after 66 min (42 min–1 h 50 min); not as far as mirror.", water,
			"Look after 48 min", "Look after 72 min", "Look after 1 h 35 min", "Started at", "Stopped at",
			"The wheel gets to 82 % of the face", "Feed marks this long follow the mop and stay", "40 in 100",
		} {
			if !strings.Contains(text, want) && !strings.Contains(strings.ReplaceAll(text, " ", ""), strings.ReplaceAll(want, " ", "")) {
				t.Errorf("%s: no %q on paper", sys, want)
			}
		}
		if strings.Contains(text, "buff loose cotton") {
			t.Error("a step's key is on paper")
		}
		ticks := 0
		for _, d := range pages {
			for _, x := range d.Texts {
				if strings.HasPrefix(x.S, "Look after") {
					ticks++
				}
			}
		}
		if ticks != 3+spareLooks {
			t.Errorf("%d boxes for looks, want %d", ticks, 3+spareLooks)
		}
	}
}

// What Do says already is not said again, what is missing has lines of its own,
// and what to cover stands at the first charge only.
func TestNothingTwice(t *testing.T) {
	p := samplePlan()
	second := p.Route[4]
	second.Name = "Tumble again"
	c := *second.Charge
	c.Step, c.Apart = 5, "At least 10 times as much media as parts."
	second.Charge, second.Do = &c, "load as before; at least 10 times as much media as parts"
	p.Route = append(p.Route[:5:5], append(fettle.Route{second}, p.Route[5:]...)...)
	p.Masks = []fettle.Mask{{Place: "edges of the show face", Says: "mask what must stay crisp"}}
	p.Meets, p.Missing = false, []string{"fine cob would do it; it is not on the shelf"}
	p.Verdict = "no: it comes out too rough; " + p.Missing[0]
	pages, err := Pages(p, nil, Options{Size: Letter})
	if err != nil {
		t.Fatal(err)
	}
	text := onPaper(t, pages)
	for what, want := range map[string]int{"Keep apart:": 1, "Mask what must stay crisp": 1, "cob would do it": 1, "It comes out too rough": 0, "No: it comes out too rough.": 1} {
		if n := strings.Count(text, what); n != want {
			t.Errorf("%q stands there %d times, want %d", what, n, want)
		}
	}
}

func TestHowCompound(t *testing.T) {
	for _, c := range []struct{ is, label, how string }{
		{"", "Compound", ""}, {"burnishing soap, neutral", "burnishing soap, neutral", ""},
		{"polishing paste, run into the media for half an hour before the parts go in", "polishing paste", "run into the media for half an hour before the parts go in"},
		{"deburring compound near pH 7, let through with the water at 1.4 l an hour", "deburring compound near pH 7", ""},
	} {
		ch := fettle.Charge{Compound: c.is}
		if got, how := (&traveler{}).compound(ch), howCompound(ch); got != c.label || how != c.how {
			t.Errorf("%q: %q and %q", c.is, got, how)
		}
	}
}
