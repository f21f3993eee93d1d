package part21

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// withUnit is a file whose shape is in unit #1 of these instances.
func withUnit(instances string) []byte {
	return whole(instances + `
#2=(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.));
#5=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#2,#1))REPRESENTATION_CONTEXT('',''));
#6=SHAPE_REPRESENTATION('',(#7),#5);
#7=AXIS2_PLACEMENT_3D('',$,$,$);
`)
}

// TestUnits: the metre with its prefixes (BIPM, The International System of
// Units, table 7), the inch and the foot of 1959, and the US survey foot of
// 1200/3937 m.
func TestUnits(t *testing.T) {
	si := func(prefix string) string {
		return "#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(" + prefix + ",.METRE.));"
	}
	converted := func(name, measure, base string) string {
		return "#1=(CONVERSION_BASED_UNIT('" + name + "',#20)LENGTH_UNIT()NAMED_UNIT(#30));\n#20=" + measure + ";\n" + base
	}
	const mm21 = "#21=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));"
	const m21 = "#21=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.));"
	chain := func(n int) string {
		var b strings.Builder
		b.WriteString("#1=(CONVERSION_BASED_UNIT('A',#100)LENGTH_UNIT()NAMED_UNIT(*));\n")
		for i := range n {
			fmt.Fprintf(&b, "#%d=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),#%d);\n", 100+2*i, 101+2*i)
			if i < n-1 {
				fmt.Fprintf(&b, "#%d=(CONVERSION_BASED_UNIT('B',#%d)LENGTH_UNIT()NAMED_UNIT(*));\n", 101+2*i, 102+2*i)
			}
		}
		fmt.Fprintf(&b, "#%d=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.));\n", 99+2*n)
		return b.String()
	}
	for _, c := range []struct {
		name, text string
		want       []Unit
	}{
		{"m", si("$"), []Unit{{"m", 1000}}},
		{"mm", si(".MILLI."), []Unit{{"mm", 1}}},
		{"cm", si(".CENTI."), []Unit{{"cm", 10}}},
		{"µm", si(".MICRO."), []Unit{{"micron", 0.001}}},
		{"dm", si(".DECI."), []Unit{{"decimetre", 100}}},
		{"km", si(".KILO."), []Unit{{"kilometre", 1e6}}},
		{"unknown prefix", si(".MANY."), nil},
		{"simple", "#1=SI_UNIT(*,.MILLI.,.METRE.);", []Unit{{"mm", 1}}},
		{"other order", "#1=( NAMED_UNIT(*) SI_UNIT ( .MILLI. , .METRE. ) LENGTH_UNIT() );", []Unit{{"mm", 1}}},
		{"inch of mm", converted("INCH", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#21)", mm21), []Unit{{"inch", 25.4}}},
		{"inch of m", converted("inch", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.54E-2),#21)", m21), []Unit{{"inch", 25.4}}},
		{"rounded inch", converted("IN", "MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4000000000001),#21)", mm21), []Unit{{"inch", 25.4}}},
		{"complex measure", converted("INCH", "(LENGTH_MEASURE_WITH_UNIT()MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#21))", mm21), []Unit{{"inch", 25.4}}},
		{"foot", converted("FOOT", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.3048),#21)", m21), []Unit{{"ft", 304.8}}},
		{"what counts is the factor", converted("INCH", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.),#21)", mm21), []Unit{{"mm", 1}}},
		{"survey foot", converted("SURVEY FOOT", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(304.8006096012192),#21)", mm21), []Unit{{"SURVEY FOOT", 304.8006096012192}}},
		{"foot of inches", converted("FT", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(12.),#21)",
			"#21=(CONVERSION_BASED_UNIT('INCH',#22)LENGTH_UNIT()NAMED_UNIT(#30));\n#22=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#23);\n#23=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));"),
			[]Unit{{"ft", 304.8}}},
		{"degree", converted("DEGREE", "PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.01745),#2)", ""), nil},
		{"of itself", converted("INCH", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#1)", ""), nil},
		{"of nothing", converted("INCH", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#77)", ""), nil},
		{"no number", converted("INCH", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE('x'),#21)", mm21), nil},
		{"negative", converted("INCH", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(-25.4),#21)", mm21), nil},
		{"gigantic", converted("INCH", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E999999999),#21)", mm21), nil},
		{"a chain of 8", chain(8), []Unit{{"A", 256000}}},
		{"a chain of 100", chain(100), nil},
		{"none", "#1=A();", nil},
	} {
		got := must(t, withUnit(c.text)).Units
		if diff := cmp.Diff(c.want, got); diff != "" && len(c.want)+len(got) > 0 {
			t.Errorf("%s: %s", c.name, diff)
		}
	}
}

// TestUnitsRanked: units of contexts that hold something, by how much they hold.
func TestUnitsRanked(t *testing.T) {
	s := must(t, whole(millimetres+`
#11=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.));
#12=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#11))REPRESENTATION_CONTEXT('',''));
#13=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.KILO.,.METRE.));
#14=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#13))REPRESENTATION_CONTEXT('',''));
#20=AXIS2_PLACEMENT_3D('',$,$,$);
#30=SHAPE_REPRESENTATION('',(#20),#5);
#31=SHAPE_REPRESENTATION('',(#20,#20),#12);
#32=SHAPE_REPRESENTATION('',(),#14);
#33=DEFINITIONAL_REPRESENTATION('',(#20),#14);
#34=SHAPE_REPRESENTATION('',(#20),#12);
`))
	if diff := cmp.Diff([]Unit{{"m", 1000}, {"mm", 1}}, s.Units); diff != "" {
		t.Error(diff)
	}
}
