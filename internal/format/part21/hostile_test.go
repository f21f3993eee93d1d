package part21

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"
	"unicode"

	"fettle/internal/format/intake"

	"github.com/google/go-cmp/cmp"
)

// hostile are files of about n bytes that are cheap to write and might be dear
// to read: everything leads to the same long record, or nothing does.
func hostile(n int) map[string][]byte {
	half := n / 2
	long := strings.Repeat("x", half)
	many := func(size int, format string) string {
		var b strings.Builder
		for i := 1000; b.Len() < size; i++ {
			fmt.Fprintf(&b, format, i)
		}
		return b.String()
	}
	return map[string][]byte{
		"one long product":        whole("#1=PRODUCT('" + long + "','','',());\n#2=PRODUCT_DEFINITION_FORMATION('','',#1);\n#3=PRODUCT_DEFINITION('','',#2,$);\n" + many(half/2, "#%d=PRODUCT_DEFINITION('','',#2,$);\n") + many(half/2, "#9%d=PRODUCT_DEFINITION_SHAPE('','',#3);\n")),
		"one long formation":      whole("#1=PRODUCT('a','','',());\n#2=PRODUCT_DEFINITION_FORMATION('" + long + "','',#1);\n" + many(half/2, "#%d=PRODUCT_DEFINITION('','',#2,$);\n")),
		"one long context":        whole("#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.));\n#5=(REPRESENTATION_CONTEXT('" + long + "')GLOBAL_UNIT_ASSIGNED_CONTEXT((#1)));\n" + many(half, "#%d=SHAPE_REPRESENTATION('',(#1),#5);\n")),
		"one long unit":           whole("#1=(A('" + long + "')LENGTH_UNIT()SI_UNIT($,.METRE.));\n#2=PLANE('',$);\n" + many(half, "#%[1]d=GLOBAL_UNIT_ASSIGNED_CONTEXT((#1));\n#8%[1]d=SHAPE_REPRESENTATION('',(#2),#%[1]d);\n")),
		"one long surface":        whole("#1=(PLANE()A('" + long + "'));\n#2=CLOSED_SHELL('',(" + many(half/8, "#%d,") + "#3));\n#3=ADVANCED_FACE('',(),#1,.T.);\n#4=MANIFOLD_SOLID_BREP('',#2);\n#5=SHAPE_REPRESENTATION('',(#4),$);\n" + many(half, "#%d=ADVANCED_FACE('',(),#1,.T.);\n")),
		"one long property":       whole("#1=DOCUMENT_FILE('a','','',$,'',$);\n#2=PROPERTY_DEFINITION('" + long + "','',#1);\n" + many(half, "#%d=PROPERTY_DEFINITION_REPRESENTATION(#2,#2);\n")),
		"one long document":       whole("#1=DOCUMENT_FILE('" + long + "','','',$,'',$);\n" + many(half, "#%d=APPLIED_DOCUMENT_REFERENCE(#1,'',());\n")),
		"many documents":          whole("#1=PRODUCT_DEFINITION('','',$,$);\n" + many(n, "#%[1]d=DOCUMENT_FILE('%[1]d.stp','','',$,'',$);\n#7%[1]d=APPLIED_DOCUMENT_REFERENCE(#%[1]d,'',(#1));\n")),
		"many units":              whole("#2=PLANE('',$);\n" + many(n, "#7%[1]d=(LENGTH_UNIT()CONVERSION_BASED_UNIT('',#8%[1]d));\n#8%[1]d=MEASURE_WITH_UNIT(%[1]d,#1);\n#%[1]d=GLOBAL_UNIT_ASSIGNED_CONTEXT((#7%[1]d));\n#9%[1]d=SHAPE_REPRESENTATION('',(#2),#%[1]d);\n") + "#1=(LENGTH_UNIT()SI_UNIT($,.METRE.));\n"),
		"many types":              whole(many(n, "#%[1]d=(A%[1]d()B%[1]d());\n")),
		"one long complex":        whole("#1=(" + strings.Repeat("SURFACE()", n/9) + ");\n"),
		"sets of the same":        whole("#1=GEOMETRIC_SET('',(" + strings.Repeat("#2,", half/3) + "#2));\n#2=PLANE('',$);\n" + many(half, "#%d=SHAPE_REPRESENTATION('',(#1),$);\n")),
		"shells of the same":      whole("#1=OPEN_SHELL('',(" + strings.Repeat("#2,", half/3) + "#2));\n#2=ADVANCED_FACE('',(),#3,.T.);\n#3=PLANE('',$);\n" + many(half, "#%[1]d=FACE_BASED_SURFACE_MODEL('',(#1));\n#7%[1]d=SHAPE_REPRESENTATION('',(#%[1]d),$);\n")),
		"quotes":                  whole("#1=A('" + strings.Repeat("''", half) + "');\n"),
		"comments":                whole("#1=A(" + strings.Repeat("/**/", n/4) + ");\n"),
		"slashes":                 whole("#1=A(" + strings.Repeat("/", n) + ");\n"),
		"backslashes":             whole("#1=PRODUCT('" + strings.Repeat("\\", n) + "');\n"),
		"open brackets":           whole("#1=A" + strings.Repeat("(", n)),
		"digits":                  whole("#1=A(" + strings.Repeat("9", n) + ");\n"),
		"number signs":            whole("#1=SHAPE_REPRESENTATION(" + strings.Repeat("#1", half) + ");\n"),
		"resources":               []byte(head("X") + "REFERENCE;\n" + many(n, "#%[1]d=<%[1]d.stp>;\n") + "ENDSEC;\nEND-ISO-10303-21;"),
		"open resources":          []byte(head("X") + "REFERENCE;\n" + strings.Repeat("<", n)),
		"schemas":                 []byte("ISO-10303-21;HEADER;FILE_SCHEMA((" + strings.Repeat("'A',", n/4) + "));ENDSEC;DATA;ENDSEC;"),
		"headers":                 []byte("ISO-10303-21;" + strings.Repeat("HEADER;ENDSEC;", n/14)),
		"a short file, then NULs": append(whole(""), make([]byte, n)...),
	}
}

// TestHostile: the time follows the size of the file, whatever is in it. Slow and
// shared machines get twenty times what the slowest takes.
func TestHostile(t *testing.T) {
	size := 1 << 20
	if testing.Short() {
		size >>= 2
	}
	for name, data := range hostile(size) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		began := time.Now()
		s, err := Read(data)
		took := time.Since(began)
		runtime.ReadMemStats(&after)
		sound(t, s, err)
		if took > 2*time.Second {
			t.Errorf("%s: %v", name, took)
		}
		if got := after.TotalAlloc - before.TotalAlloc; got > 40*uint64(size) {
			t.Errorf("%s: %d bytes for %d", name, got, size)
		}
		if testing.Verbose() {
			t.Logf("%-25s %v, %d kB, %v", name, took.Round(time.Microsecond), (after.TotalAlloc-before.TotalAlloc)>>10, err)
		}
	}
}

// sound fails the test when an answer is neither a fault of one line nor a
// summary that can be shown.
func sound(t testing.TB, s *Summary, err error) {
	t.Helper()
	if err != nil {
		var fault *intake.Fault
		if !errors.As(err, &fault) || s != nil || strings.ContainsAny(err.Error(), "\n\r") || len(err.Error()) > 400 {
			t.Fatalf("not a one-line fault: %q, %v", err, s)
		}
		return
	}
	for _, names := range [][]string{s.Schemas, s.Products, s.External, s.Beside, {s.Name, s.System, s.Protocol}} {
		for _, n := range names {
			if len([]rune(n)) > maxName || strings.ContainsFunc(n, unicode.IsControl) || n != strings.ToValidUTF8(n, "") {
				t.Fatalf("a name that cannot be shown: %q", n)
			}
		}
	}
	for _, u := range s.Units {
		if !(u.MM > 0 && u.MM < 1e300) {
			t.Fatalf("a unit of no length: %+v", u)
		}
	}
	for k, n := range s.Faces {
		if k == "" || n <= 0 {
			t.Fatalf("faces %v", s.Faces)
		}
	}
}

// FuzzRead looks for texts that break the reader, or that it reads differently
// the second time.
func FuzzRead(f *testing.F) {
	f.Add(whole(plate))
	f.Add([]byte(strings.ReplaceAll(string(whole(plate)), "#", "#99999999999")))
	f.Add(whole("#1=&SCOPE\n#2=A();\nENDSCOPE/#2/B('\\X2\\D83D',.T.,\"3F\",<a>,$,*,C(1.E5));\n#3=(A()B(#1,/*x*/#2));\n"))
	f.Add([]byte(head("AP242") + "ANCHOR;\n<a>=#1;\nENDSEC;\nREFERENCE;\n#1=<a.stp#b>;\nENDSEC;\nDATA('a',('b'));\n#2=DOCUMENT_FILE('\\PE\\\\S\\*','','',#3);\nENDSEC;\nEND-ISO-10303-21;\nSIGNATURE;"))
	for _, data := range hostile(300) {
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Read(data)
		sound(t, s, err)
		if err == nil && !Is(data) {
			t.Fatal("read, but not recognized")
		}
		if again, _ := Read(data); !cmp.Equal(s, again) {
			t.Fatal(cmp.Diff(s, again))
		}
	})
}
