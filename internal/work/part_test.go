package work

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/format/intake"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
)

// A file without units is taken as millimetres out loud, unless it would then
// be smaller than a grain.
func TestUnitsAreGuessedOutLoud(t *testing.T) {
	for _, c := range []struct {
		size     float64 // largest side in file units
		declared string
		mm       float64
		asked    string
		want     string
		from     string
		remark   string
	}{
		{size: 68, want: "mm", from: "guessed", remark: "taken as mm: 68 × 34 × 17 mm"},
		{size: 0.068, want: "m", from: "guessed", remark: "taken as m: 68 × 34 × 17 mm"},
		{size: 2.68, want: "mm", from: "guessed", remark: "in inches it would be 68.1 ×"},
		{size: 2700, want: "mm", from: "guessed", remark: "which is large"},
		{size: 2.68, asked: "in", want: "inch", from: "asked"},
		{size: 2.68, declared: "inch", mm: 25.4, want: "inch", from: "file"},
		{size: 68, declared: "inch", mm: 25.4, asked: "mm", want: "mm", from: "asked", remark: "because you said so"},
	} {
		m := form.Box(c.size, c.size/2, c.size/4)
		u, from, remark, err := unitOf(&intake.Part{Mesh: m, UnitName: c.declared, UnitMM: c.mm}, c.asked)
		if err != nil || u.Name != c.want || from != c.from || !strings.Contains(remark, c.remark) || (c.remark == "") != (remark == "") {
			t.Errorf("%+v: %s, %s, %q, %v", c, u.Name, from, remark, err)
		}
	}
	if _, _, _, err := unitOf(&intake.Part{Mesh: &mesh.Mesh{}}, "cubit"); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a cubit: %v", err)
	}
}

func TestWhatWasGivenWins(t *testing.T) {
	file := fettle.Brief{Material: "304", Finish: "satin", Lot: 5, Title: "Plate", RaMaxUM: 0.8}
	got := merged(file, fettle.Brief{Finish: "matte", Up: [3]float64{0, 0, -1}, RzMaxUM: 4, Display: fettle.Inch})
	want := file
	want.Finish, want.Up, want.RzMaxUM, want.Display = "matte", [3]float64{0, 0, -1}, 4, fettle.Inch
	if got.Finish != want.Finish || got.Up != want.Up || got.RzMaxUM != 4 || got.Display != fettle.Inch || got.Lot != 5 || got.Material != "304" || got.RaMaxUM != 0.8 {
		t.Errorf("merged to %+v", got)
	}
	if one := merged(fettle.Brief{}, fettle.Brief{}); one.Lot != 1 {
		t.Errorf("without a lot there are %d pieces, want 1", one.Lot)
	}
}

// A failure while writing leaves the old file as it was and nothing beside it.
func TestWriteIsWholeOrNotAtAll(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plan.json")
	if err := WriteBytes(path, []byte("old")); err != nil {
		t.Fatal(err)
	}
	err := WriteFile(path, func(w io.Writer) error {
		if _, err := w.Write([]byte("half of the new")); err != nil {
			return err
		}
		return errors.New("the disk is full")
	})
	if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "the disk is full") {
		t.Errorf("the failure is told as %v", err)
	}
	data, err := os.ReadFile(path)
	if err != nil || string(data) != "old" {
		t.Errorf("the old file holds %q, %v", data, err)
	}
	if all, _ := os.ReadDir(filepath.Dir(path)); len(all) != 1 {
		t.Errorf("%d files where one was", len(all))
	}
}

func TestDocumentsAreReadStrictly(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct{ text, want string }{
		"typo.json":  {`{"materiel": "304"}`, "materiel"},
		"type.json":  {"{\n\n\"lot\": \"many\"}", "\"lot\" holds a string"},
		"short.json": {`{"lot": 3`, "ends too early"},
		"no.json":    {"lot = 3", "is not a brief"},
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := OpenBrief(path); fettle.CodeOf(err) != fettle.BadFile || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v, want one sentence with %q", name, err, c.want)
		}
	}
	if _, err := OpenShelf(filepath.Join(dir, "nothere.json")); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a shelf that is not there: %v", err)
	}
	bad := filepath.Join(dir, "shelf.json")
	if err := os.WriteFile(bad, []byte(`{"cutters": [{"name": "ball-0", "shape": "ball", "diameter_mm": 0}]}`), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := OpenShelf(bad); fettle.CodeOf(err) != fettle.BadFile || !strings.Contains(err.Error(), "diameter_mm") {
		t.Errorf("a cutter without diameter: %v", err)
	}
}
