package part21

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// samples is where the build fetches the kernel, which brings STEP files of many
// systems with it for its own tests.
const samples = "../../../build/kernel/node_modules/occt-import-js/test/testfiles"

// TestSamples compares with what a plain search in the text of those files says:
// how often a type is written, how the unit of length is spelled, and which
// files lie beside an assembly that has its parts in others.
func TestSamples(t *testing.T) {
	if _, err := os.Stat(samples); err != nil {
		t.Skip("no sample files: run npm ci in build/kernel")
	}
	var (
		solids = regexp.MustCompile(`MANIFOLD_SOLID_BREP\s*\(`)
		faces  = regexp.MustCompile(`ADVANCED_FACE\s*\(`)
		uses   = regexp.MustCompile(`NEXT_ASSEMBLY_USAGE_OCCURRENCE\s*\(`)
		inch   = regexp.MustCompile(`CONVERSION_BASED_UNIT\s*\(\s*'(INCH|inch)'`)
		metric = regexp.MustCompile(`LENGTH_UNIT\s*\(\s*\)\s*NAMED_UNIT\s*\(\s*\*\s*\)\s*SI_UNIT\s*\(\s*(\$|\.\w+\.)`)
		names  = map[string]string{"$": "m", ".MILLI.": "mm", ".CENTI.": "cm"}
	)
	files := 0
	external := map[string][]string{} // by folder
	err := filepath.WalkDir(samples, func(path string, d os.DirEntry, err error) error {
		if ext := strings.ToLower(filepath.Ext(path)); err != nil || ext != ".stp" && ext != ".step" {
			return err
		}
		files++
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		s, err := Read(data)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			return nil
		}
		count := func(r *regexp.Regexp) int { return len(r.FindAllIndex(data, -1)) }
		all := 0
		for _, n := range s.Faces {
			all += n
		}
		if s.Solids != count(solids) || all != count(faces) || s.Uses != count(uses) {
			t.Errorf("%s: %d solids, %d faces, %d uses; in its text %d, %d, %d", path, s.Solids, all, s.Uses, count(solids), count(faces), count(uses))
		}
		unit := "inch"
		if !inch.Match(data) {
			m := metric.FindSubmatch(data)
			if m == nil {
				t.Fatalf("%s: no unit in its text", path)
			}
			unit = names[string(m[1])]
		}
		if len(s.Units) != 1 || s.Units[0].Name != unit {
			t.Errorf("%s: units %v, in its text %s", path, s.Units, unit)
		}
		if s.Protocol != "AP203" && s.Protocol != "AP214" {
			t.Errorf("%s: protocol %q", path, s.Protocol)
		}
		if len(s.Products) == 0 || s.Name == "" || s.System == "" {
			t.Errorf("%s: no names in %+v", path, s)
		}
		dir := filepath.Dir(path)
		external[dir] = append(external[dir], s.External...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 50 {
		t.Errorf("only %d files found: the walk is broken", files)
	}
	// Of these three assemblies every file but the first is the part of another.
	for dir, first := range map[string]string{"s1-c5-214": "s1-c5-214.stp", "s1_pe_214": "s1_pe_214.stp", "s1-tu-203": "s1-tu-203.stp"} {
		folder := filepath.Join(samples, "cax-if", dir)
		var want []string
		entries, err := os.ReadDir(folder)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if strings.HasSuffix(e.Name(), ".stp") && e.Name() != first {
				want = append(want, e.Name())
			}
		}
		got := external[folder]
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Errorf("%s refers to %q, beside it lie %q", dir, got, want)
		}
		delete(external, folder)
	}
	for dir, got := range external {
		if len(got) > 0 {
			t.Errorf("%s refers to %q", dir, got)
		}
	}
}
