package part21

import (
	"errors"
	"strings"
	"testing"

	"fettle/internal/format/intake"

	"github.com/google/go-cmp/cmp"
)

// head is a header with a schema.
func head(schema string) string {
	return "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n" +
		"FILE_NAME('escutcheon','2026-03-01T08:00:00',(''),(''),'writer 2','bench 1','');\n" +
		"FILE_SCHEMA(('" + schema + "'));\nENDSEC;\n"
}

// millimetres are units and a context, #1 to #5.
const millimetres = `#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));
#2=(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.));
#3=(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT());
#4=UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-6),#1,'distance_accuracy_value','');
#5=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#4))
GLOBAL_UNIT_ASSIGNED_CONTEXT((#1,#2,#3))REPRESENTATION_CONTEXT('',''));
`

// whole is a file with these instances.
func whole(instances string) []byte {
	return []byte(head("AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }") + "DATA;\n" + instances + "ENDSEC;\nEND-ISO-10303-21;\n")
}

// must reads what has to be readable.
func must(t testing.TB, data []byte) *Summary {
	t.Helper()
	s, err := Read(data)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// plate is a disk as it stands in a file: a product with a shape, and a solid of
// three faces, of which the rim is a rational B-spline surface.
const plate = millimetres + `
#10=APPLICATION_CONTEXT('automotive design');
#11=PRODUCT_CONTEXT('',#10,'mechanical');
#12=PRODUCT('P-7','escutcheon plate','',(#11));
#13=PRODUCT_DEFINITION_FORMATION_WITH_SPECIFIED_SOURCE('','',#12,.NOT_KNOWN.);
#14=PRODUCT_DEFINITION('design','',#13,#15);
#15=PRODUCT_DEFINITION_CONTEXT('part definition',#10,'design');
#16=PRODUCT_DEFINITION_SHAPE('','',#14);
#17=SHAPE_DEFINITION_REPRESENTATION(#16,#18);
#18=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#60,#20),#5);
#20=MANIFOLD_SOLID_BREP('disk',#21);
#21=CLOSED_SHELL('',(#22,#23,#24));
#22=ADVANCED_FACE('',(#30),#40,.T.);
#23=ADVANCED_FACE('',(#31),#41,.T.);
#24=ADVANCED_FACE('',(#32),#42,.T.);
#30=FACE_BOUND('',#33,.T.);
#31=FACE_BOUND('',#33,.T.);
#32=FACE_BOUND('',#33,.T.);
#33=EDGE_LOOP('',());
#40=PLANE('',#60);
#41=PLANE('',#60);
#42=(BOUNDED_SURFACE()B_SPLINE_SURFACE(2,1,((#61),(#61)),.UNSPECIFIED.,.T.,.F.,.F.)
B_SPLINE_SURFACE_WITH_KNOTS((3,3),(2,2),(0.,1.),(0.,1.),.UNSPECIFIED.)
GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_SURFACE(((1.),(1.)))REPRESENTATION_ITEM('')SURFACE());
#60=AXIS2_PLACEMENT_3D('',#61,$,$);
#61=CARTESIAN_POINT('',(0.,0.,0.));
`

func TestPlate(t *testing.T) {
	want := &Summary{
		Schemas: []string{"AUTOMOTIVE_DESIGN"}, Protocol: "AP214", Name: "escutcheon", System: "bench 1",
		Units: []Unit{{"mm", 1}}, Products: []string{"escutcheon plate"}, Solids: 1, Placed: []Placed{{Body: "disk", Product: "escutcheon plate", Faces: 3}},
		Faces: map[string]int{"PLANE": 2, "B_SPLINE_SURFACE": 1},
	}
	if diff := cmp.Diff(want, must(t, whole(plate))); diff != "" {
		t.Error(diff)
	}
	// The same text as other programs lay it out: other line ends, blanks around
	// all that may have them, comments, lower case, zeros before numbers, numbers
	// that are far apart, no last lines.
	for name, change := range map[string]func(string) string{
		"CRLF":     func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") },
		"CR":       func(s string) string { return strings.ReplaceAll(s, "\n", "\r") },
		"one line": func(s string) string { return strings.ReplaceAll(s, "\n", "") },
		"blanks": func(s string) string {
			return strings.NewReplacer("=", " =\t", ";", " ;", ",", " , ", "(", "( ").Replace(s)
		},
		"comments":  func(s string) string { return strings.NewReplacer("=", "/* it's; */=/**/", "(#", "(/*#*/#").Replace(s) },
		"zeros":     func(s string) string { return strings.ReplaceAll(s, "#", "#000") },
		"far":       func(s string) string { return strings.ReplaceAll(s, "#", "#12345678901234") },
		"printing":  func(s string) string { return strings.ReplaceAll(s, "\n#", "\n\\N\\\\F\\#") },
		"NULs":      func(s string) string { return strings.ReplaceAll(s, "\n", "\x00\n") },
		"no last":   func(s string) string { return strings.ReplaceAll(s, "END-ISO-10303-21;", "") },
		"no ENDSEC": func(s string) string { return strings.ReplaceAll(s, "ENDSEC;\nEND-ISO", "END-ISO") },
		"mark":      func(s string) string { return "\xEF\xBB\xBF/* from a mail */\n" + s },
		"two data": func(s string) string {
			return strings.NewReplacer("DATA;", "DATA('one',('AUTOMOTIVE_DESIGN'));", "#20=", "ENDSEC;\nDATA('two',('AUTOMOTIVE_DESIGN'));\n#20=").Replace(s)
		},
		"edition 3": func(s string) string {
			return strings.ReplaceAll(s, "DATA;", "ANCHOR;\n<plate;1>=#20;\n<b>=$ {tag:'ENDSEC;'};\nENDSEC;\nREFERENCE;\n@70=<#plate>;\nENDSEC;\nDATA;") + "SIGNATURE;\nMIIB+/=\nENDSEC;\n"
		},
		"scope": func(s string) string {
			return strings.ReplaceAll(s, "#21=", "#21=&SCOPE\n#80=DIRECTION('',(0.,0.,1.));\nENDSCOPE /#80/ ")
		},
	} {
		got, err := Read([]byte(change(string(whole(plate)))))
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
	lower := strings.NewReplacer("MANIFOLD", "manifold", "CLOSED_SHELL", "closed_shell", "PLANE(", "plane(").Replace(string(whole(plate)))
	if diff := cmp.Diff(want, must(t, []byte(lower))); diff != "" {
		t.Error(diff)
	}
}

func TestIs(t *testing.T) {
	for text, want := range map[string]bool{
		"ISO-10303-21;": true,
		"\xEF\xBB\xBF \r\n/* a */ ISO-10303-21 ;": true,
		"ISO-10303-21":        true,
		"ISO-10303-219;":      false,
		"ISO-10303-2":         false,
		"solid ISO-10303-21;": false,
		"/* ISO-10303-21;":    false,
		"/*":                  false,
		"":                    false,
		"\xEF\xBB\xBF":        false,
	} {
		if got := Is([]byte(text)); got != want {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// TestProtocol: the schemas of the editions as their standards name them.
func TestProtocol(t *testing.T) {
	for schema, want := range map[string]string{
		"CONFIG_CONTROL_DESIGN": "AP203",
		"CONFIGURATION_CONTROL_3D_DESIGN_ED2_MIM_LF { 1 0 10303 403 1 1 4}":                  "AP203",
		"AP203_CONFIGURATION_CONTROLLED_3D_DESIGN_OF_MECHANICAL_PARTS_AND_ASSEMBLIES_MIM_LF": "AP203",
		"AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }":                                        "AP214",
		"AUTOMOTIVE_DESIGN_CC2": "AP214",
		"AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 3 1 4 }": "AP242",
		"SHIP_STRUCTURES": "SHIP_STRUCTURES",
		"":                "",
	} {
		if got := must(t, []byte(head(schema)+"DATA;\nENDSEC;\nEND-ISO-10303-21;\n")).Protocol; got != want {
			t.Errorf("%s: %q, want %q", schema, got, want)
		}
	}
	two := "ISO-10303-21;HEADER;FILE_SCHEMA(('SHIP_STRUCTURES','AUTOMOTIVE_DESIGN'));ENDSEC;DATA;ENDSEC;END-ISO-10303-21;"
	if s := must(t, []byte(two)); s.Protocol != "AP214" || len(s.Schemas) != 2 {
		t.Error(s)
	}
}

// TestFaults reads what is not whole, and wants these words.
func TestFaults(t *testing.T) {
	text := string(whole(plate))
	upTo := func(part string) string { return text[:strings.Index(text, part)+len(part)] }
	deep := strings.Repeat("(", intake.MaxDepth+1) + strings.Repeat(")", intake.MaxDepth+1)
	for _, c := range []struct{ data, want string }{
		{"solid cube", "STEP: it does not begin with ISO-10303-21; export it as STEP, AP203, AP214 or AP242"},
		{"ISO-10303-21;", "STEP: the file ends before its data (line 1); copy or export it again"},
		{"ISO-10303-21;\nDATA;", "STEP: there is no header section (line 2); copy or export it again"},
		{head("AUTOMOTIVE_DESIGN") + "END-ISO-10303-21;", "STEP: there is no DATA section in it; copy or export it again"},
		{upTo("FILE_NAME('esc"), "STEP: the file ends inside its header (line 4); copy or export it again"},
		{upTo("FILE_SCHEMA"), "STEP: the file ends inside its header (line 5); copy or export it again"},
		{upTo("#12=PRODUCT('P-7"), "STEP: the file ends inside instance #12 (line 17); copy or export it again"},
		{upTo("#12=PRODUCT("), "STEP: the file ends inside instance #12 (line 17); copy or export it again"},
		{upTo("#12"), "STEP: the file ends inside instance #12 (line 17); copy or export it again"},
		{upTo("#12="), "STEP: the file ends inside instance #12 (line 17); copy or export it again"},
		{upTo("(BOUNDED_SURFACE()B_"), "STEP: the file ends inside instance #42 (line 35); copy or export it again"},
		{upTo("#12=PRODUCT('P-7','escutcheon plate','',(#11));\n"), "STEP: the file ends before its DATA section does (line 18); copy or export it again"},
		{upTo("#12=PRODUCT('P-7','escutcheon plate','',(#11));") + "\n/* then", "STEP: the file ends inside a comment (line 18); copy or export it again"},
		{strings.Replace(text, "#14=P", "#14=/*P", 1), "STEP: the file ends inside a comment (line 19); copy or export it again"},
		{strings.Replace(text, "#14=", "#1234567890123456789=", 1), "STEP: the number of an instance is longer than 18 digits (line 19); copy or export it again"},
		{strings.Replace(text, "#14=", "#14", 1), "STEP: a number sign does not begin an instance (line 19); copy or export it again"},
		{strings.Replace(text, "#14=", "14=", 1), "STEP: there is text in the DATA section that is no instance (line 19); copy or export it again"},
		{strings.Replace(text, "#14=PRODUCT_DEFINITION", "#14=\xff", 1), "STEP: instance #14 has no type (line 19); copy or export it again"},
		{strings.Replace(text, "(#11));", "(#11))", 1), "STEP: instance #12 does not end with a semicolon (line 17); copy or export it again"},
		{strings.Replace(text, "(#11));", "(#11);", 1), "STEP: instance #12 leaves a bracket open, or a quote (line 17); copy or export it again"},
		{strings.Replace(text, "(#11));", "(#11)));", 1), "STEP: instance #12 closes a bracket that is not open (line 17); copy or export it again"},
		{strings.Replace(text, "(#11)", deep, 1), "STEP: instance #12 has more than 64 brackets inside each other (line 17); copy or export it again"},
		{strings.Replace(text, "#15=", "#14=", 1), "STEP: instance #14 is there twice, first in line 19 (line 20); copy or export it again"},
		{strings.Replace(strings.ReplaceAll(text, "#", "#7000000"), "#700000015=", "#700000014=", 1), "STEP: instance #700000014 is there twice, first in line 19 (line 20); copy or export it again"},
		{strings.Replace(text, "#33=", "#77=", 1), "STEP: instance #32 refers to #33, which is not in the file (line 31); copy or export it again"},
		{strings.Replace(text, "#20=", "#77=", 1), "STEP: instance #18 refers to #20, which is not in the file (line 23); copy or export it again"},
		{strings.Replace(text, "#21);", "#99999999999999999999);", 1), "STEP: instance #20 refers to #999999999999999999, which is not in the file (line 24); copy or export it again"},
		{strings.Replace(text, "DATA;", "DATUM;", 1), "STEP: there is text that belongs to no section (line 7); copy or export it again"},
	} {
		s, err := Read([]byte(c.data))
		var fault *intake.Fault
		switch {
		case err == nil:
			t.Errorf("read as %+v, want %s", s, c.want)
		case !errors.As(err, &fault) || err.Error() != c.want:
			t.Errorf("\n got %s\nwant %s", err, c.want)
		}
	}
}

// TestEveryCut ends the file at each byte: up to the end of the data it is
// refused, and always in one line.
func TestEveryCut(t *testing.T) {
	data := whole(plate)
	end := strings.Index(string(data), "ENDSEC;\nEND-ISO") + len("ENDSEC")
	for n := range data {
		s, err := Read(data[:n])
		var fault *intake.Fault
		if n < end && (!errors.As(err, &fault) || strings.Contains(err.Error(), "\n")) {
			t.Fatalf("cut at %d of %d: %+v, %v", n, end, s, err)
		}
		if n >= end && err != nil {
			t.Fatalf("cut at %d, after the data: %v", n, err)
		}
	}
}
