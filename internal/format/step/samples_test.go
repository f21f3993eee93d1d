package step

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The assembly as1 of the CAx Implementor Forum, as three systems wrote it in two
// protocols, has a plate, two brackets, a rod, six bolts and eight nuts, whatever
// the kernel makes of its subassemblies. The files come with the kernel's
// package.
func TestAs1(t *testing.T) {
	for file, unit := range map[string]string{"as1-oc-214.stp": "mm", "as1-tu-203.stp": "mm", "as1_pe_203.stp": "inch"} {
		data, err := os.ReadFile(filepath.Join("../../../build/kernel/node_modules/occt-import-js/test/testfiles/cax-if", file))
		if err != nil {
			t.Skipf("%v; npm ci in build/kernel brings it", err)
		}
		p, err := Read(t.Context(), data, Options{LinearMM: 1})
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		got := map[string]int{}
		for _, b := range p.Bodies {
			got[strings.ToLower(b.Name)]++
			if !b.Solid || len(b.In) == 0 || !strings.HasPrefix(strings.ToLower(b.In[0]), "as1") {
				t.Errorf("%s: %+v", file, b)
			}
		}
		if d := cmp.Diff(map[string]int{"plate": 1, "l-bracket": 2, "rod": 1, "bolt": 6, "nut": 8}, got); d != "" || p.UnitName != unit || len(p.Notes) > 0 {
			t.Errorf("%s in %s, notes %q: %s", file, p.UnitName, p.Notes, d)
		}
	}
}
