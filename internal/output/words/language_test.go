package words

import (
	"encoding/json"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/tongue"
)

// toy reads a language of a few sentences, as a translator would begin one.
func toy(t *testing.T, tag string, says map[string]string, counts map[string]map[string]string) *tongue.Tongue {
	t.Helper()
	data, err := json.Marshal(map[string]any{"tag": tag, "name": tag, "says": says, "counts": counts})
	if err != nil {
		t.Fatal(err)
	}
	l, err := tongue.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A second language changes the order of a sentence, has the plural forms of its own
// and leaves in English what nobody has translated; numbers, units and data stay.
func TestSecondLanguage(t *testing.T) {
	pl := planOf(t, fettle.Metric)
	german := toy(t, "de", map[string]string{
		"In short": "Kurz gesagt",
		"The lot takes %s of a person's time and %s of machines that run on their own.": "Maschinen laufen %[2]s allein, jemand ist %[1]s dabei.",
		"A piece costs %s, the lot %s.":          "Das Los kostet %[2]s, ein Stück %[1]s.",
		"Why: %s":                                "Warum: %s",
		"CAUTION: as beside step %d, all of it.": "VORSICHT: alles wie bei Schritt %d.",
		"%s and %s":                              "%s und %s",
		"%s: %s wide; at %s.":                    "",
	}, map[string]map[string]string{
		"Price of %d pieces": {"one": "Preis eines Stücks", "other": "Preis von %d Stück"},
		"%d pieces":          {"one": "1 Stück", "other": "%d Stück"},
	})
	page := flatten(In(german).Plan(*pl))
	for _, want := range []string{
		"stonewashed, 6 Stück.", "Kurz gesagt - Yes:", "Maschinen laufen " + span(pl.Price.AloneH) + " allein, jemand ist " + span(pl.Price.AttendedH) + " dabei.",
		"Das Los kostet " + pl.Price.Price.String() + ", ein Stück " + pl.Price.Each.String() + ".", "Warum: ", "VORSICHT: alles wie bei Schritt 1.", "Preis von 6 Stück",
		"matte after", "Leave on before finishing", // not translated
	} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q in %s", want, page)
		}
	}
	for _, not := range []string{"In short", "Why: ", ", 6 pieces.", "of a person's time", "%!"} {
		if strings.Contains(page, not) {
			t.Errorf("%q is still in the page", not)
		}
	}
	// 2 to 4 few, 5 and more many, 22 few again (CLDR, Polish).
	polish := In(toy(t, "pl", nil, map[string]map[string]string{"%d pieces": {"one": "%d sztuka", "few": "%d sztuki", "many": "%d sztuk", "other": "%d sztuki"}}))
	for lot, want := range map[int]string{1: "1 sztuka", 3: "3 sztuki", 6: "6 sztuk", 22: "22 sztuki"} {
		pl.Brief.Lot = lot
		if first, _, _ := strings.Cut(polish.Plan(*pl), "\n"); !strings.HasSuffix(first, ", "+want+".") {
			t.Errorf("a lot of %d: %q", lot, first)
		}
	}
}

// A plan goes by the language of its brief; one that nobody has written is English.
func TestLanguageOfTheBrief(t *testing.T) {
	pl := planOf(t, fettle.Metric)
	english := Plan(*pl)
	for _, tag := range []string{"en", "en-GB", "fr", "no tag at all"} {
		pl.Brief.Language = tag
		if Plan(*pl) != english || Explain(*pl) != In(nil).Explain(*pl) {
			t.Errorf("the language %q changes an English plan", tag)
		}
	}
}
