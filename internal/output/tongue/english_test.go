package tongue

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write lang/en.json anew")

// The English catalog, from which a translator starts, holds every sentence of the
// code, and each is a literal.
func TestEnglishIsGathered(t *testing.T) {
	g, err := gather("../../..", "internal", "cmd")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range g.faults {
		t.Error(f)
	}
	if len(g.Says) < 50 {
		t.Fatalf("only %d sentences found: the walk is broken", len(g.Says))
	}
	if *update {
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		if err := e.Encode(g.catalog); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("lang/en.json", b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	was := english(t)
	if diff := cmp.Diff(was, g.catalog); diff != "" {
		t.Errorf("lang/en.json is stale (-file +code); go test ./internal/output/tongue -update writes it anew:\n%s", diff)
	}
}

func english(t *testing.T) (c catalog) {
	t.Helper()
	data, err := os.ReadFile("lang/en.json")
	if err == nil {
		err = json.Unmarshal(data, &c)
	}
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Other languages translate nothing that is no longer said, and it is told how much of
// them is missing.
func TestTranslationsAreInUse(t *testing.T) {
	en := english(t)
	all, err := All()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range all[1:] {
		for s := range l.says {
			if _, ok := en.Says[s]; !ok {
				t.Errorf("%s translates %q, which nobody says", l.tag, s)
			}
		}
		for s := range l.counts {
			if _, ok := en.Counts[s]; !ok {
				t.Errorf("%s translates %q, which nobody says", l.tag, s)
			}
		}
		t.Logf("%s: %d of %d sentences are not translated", l.tag, len(en.Says)-len(l.says)+len(en.Counts)-len(l.counts), len(en.Says)+len(en.Counts))
	}
}

// A gatherer that overlooks calls would pass in silence: here are all the ways in
// which a sentence may stand, and those in which it may not.
func TestGather(t *testing.T) {
	root := t.TempDir()
	source := `package room

import (
	"strings"

	"fettle/internal/output/tongue"
)

const whole = "a constant " + "of two"

var table = map[string]tongue.Key{"a": "in a table"}
var list = []tongue.Key{"in a list"}
var one = tongue.Key("a key")

type page struct{ t *tongue.Tongue }

func (p page) item(lead, format string, args ...any) { write(lead, p.t.Say(format, args...)) }
func head[T any](p page, title string, of []T)       { p.item("", title) }
func counted(p page, n int, one, many string)        { p.t.Count(n, one, many) }

func say(p page, own string) {
	p.item("- ", "through a %s", own)
	head(p, "through two", []int{1})
	p.t.Say(whole)
	p.t.Say("%s", own)
	p.t.Count(2, "1 hole", "%d holes")
	counted(p, 2, "One is so", "%d are so")
	strings.Count(own, "not a sentence")
	p.t.Say("said " + own)
	p.t.Say("one %s", own, own)
	p.t.Say("5 % of it")
	p.t.Count(2, "one hole", "%d holes")
	p.t.Count(2, "one %[2]d", "many %d %s", own)
}
`
	if err := os.WriteFile(root+"/room.go", []byte(source), 0o644); err != nil {
		t.Fatal(err)
	}
	g, err := gather(root, ".")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for s := range g.Where {
		got = append(got, s)
	}
	slices.Sort(got)
	want := []string{"%d are so", "%d holes", "5 % of it", "a constant of two", "a key", "in a list", "in a table", "many %d %s", "one %s", "through a %s", "through two"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	var faults strings.Builder
	for _, f := range g.faults {
		faults.WriteString(f + "\n")
	}
	for _, w := range []string{"room.go:29:2: the sentence is no literal", `"one %s" takes 1 arguments and is given 2`, `"5 % of it" has`, `"%d holes" stands beside "one hole"`, `"one %[2]d" takes [02d]`} {
		if !strings.Contains(faults.String(), w) {
			t.Errorf("no fault %q in\n%s", w, faults.String())
		}
	}
	if len(g.faults) != 6 {
		t.Errorf("%d faults:\n%s", len(g.faults), faults.String())
	}
}
