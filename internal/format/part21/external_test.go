package part21

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestExternal(t *testing.T) {
	// A file's document, linked in ways that tell a shape and in ways that do not.
	document := func(name, kind string) string {
		return millimetres + `
#10=DOCUMENT_TYPE('` + kind + `');
#11=DOCUMENT_FILE('` + name + `','','',#10,'',$);
#12=PRODUCT('hinge','','',());
#13=PRODUCT_DEFINITION_FORMATION('','',#12);
#14=PRODUCT_DEFINITION('','',#13,$);
#15=SHAPE_REPRESENTATION('',(#97),#5);
#97=AXIS2_PLACEMENT_3D('',$,$,$);
`
	}
	const reference = "#20=APPLIED_DOCUMENT_REFERENCE(#11,'',(#14));\n"
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"by its property", document("leaf", "") + "#20=PROPERTY_DEFINITION('external definition','',#11);\n#21=PROPERTY_DEFINITION_REPRESENTATION(#20,#15);\n", []string{"leaf"}},
		{"by its type", document("leaf", "geometry") + reference, []string{"leaf"}},
		{"by its ending", document("LEAF.STP", "") + reference, []string{"LEAF.STP"}},
		{"by its role", document("leaf", "") + reference + "#21=OBJECT_ROLE('shape','');\n#22=ROLE_ASSOCIATION(#21,#20);\n", []string{"leaf"}},
		{"by the definition's documents", document("leaf.step", "") + "#20=PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS('','',#13,$,(#11));\n", []string{"leaf.step"}},
		{"a specification", document("polish.pdf", "document") + reference, nil},
		{"a document of nothing", document("leaf.stp", "geometry"), nil},
		{"named by its id and location", document("D-0815", "geometry") + reference + `
#21=EXTERNAL_SOURCE(IDENTIFIER('here'));
#22=IDENTIFICATION_ROLE('external document id and location',$);
#23=APPLIED_EXTERNAL_IDENTIFICATION_ASSIGNMENT('leaf \X2\00E9\X0\.stp',#22,#21,(#11));
`, []string{"leaf é.stp"}},
		{"named by another assignment", document("", "geometry") + reference + `
#22=IDENTIFICATION_ROLE('document source',$);
#23=(APPLIED_EXTERNAL_IDENTIFICATION_ASSIGNMENT((#11))EXTERNAL_IDENTIFICATION_ASSIGNMENT($)IDENTIFICATION_ASSIGNMENT('leaf.stp',#22));
`, []string{"leaf.stp"}},
		{"complex", strings.Replace(document("leaf", "geometry"), "DOCUMENT_FILE('leaf','','',#10,'',$)", "(CHARACTERIZED_OBJECT('',$)DOCUMENT('leaf','','',#10)DOCUMENT_FILE())", 1) + reference, []string{"leaf"}},
		{"twice", document("leaf.stp", "geometry") + reference + "#30=DOCUMENT_FILE('leaf.stp','','',#10,'',$);\n#31=APPLIED_DOCUMENT_REFERENCE(#30,'',(#14));\n", []string{"leaf.stp"}},
		{"externally defined item", "#10=EXTERNAL_SOURCE(IDENTIFIER('leaf.stp'));\n#11=EXTERNALLY_DEFINED_REPRESENTATION_ITEM('','leaf',#10);\n", []string{"leaf.stp"}},
	} {
		if diff := cmp.Diff(c.want, must(t, whole(c.text)).External); diff != "" {
			t.Errorf("%s: %s", c.name, diff)
		}
	}
}

// TestResources: the forms of a URI are those of RFC 3986.
func TestResources(t *testing.T) {
	text := head("AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF") + `
REFERENCE;
#10=<leaf.stp#body>;
#11=<sub/leaf%20two.stp#body>;
@12=<#here>;
#13=<http://example.org/library/classes#X;Y>;
#14=<http://example.org/parts/leaf.step#a>;
#15=<urn:oid:1.0.10303>;
#16=<file:///shop/leaf3.stp#a>;
#17=<leaf.stp#other>;
ENDSEC;
END-ISO-10303-21;
`
	want := []string{"leaf.stp", "sub/leaf two.stp", "http://example.org/parts/leaf.step", "/shop/leaf3.stp"}
	s := must(t, []byte(text))
	if diff := cmp.Diff(want, s.External); diff != "" || s.Protocol != "AP242" {
		t.Error(diff, s.Protocol)
	}
}

func TestProducts(t *testing.T) {
	s := must(t, whole(`
#1=PRODUCT('A','lock','',());
#2=PRODUCT('B',' ','',());
#3=PRODUCT('C','drawing','',());
#11=PRODUCT_DEFINITION_FORMATION('','',#1);
#12=PRODUCT_DEFINITION_FORMATION('','',#2);
#13=PRODUCT_DEFINITION_FORMATION('','',#3);
#21=PRODUCT_DEFINITION('','',#11,$);
#22=PRODUCT_DEFINITION('','',#12,$);
#23=PRODUCT_DEFINITION('','',#13,$);
#24=PRODUCT_DEFINITION('','',#11,$);
#25=PRODUCT_DEFINITION('','',#99,$);
#30=PRODUCT_DEFINITION_SHAPE('','',#22);
#31=PRODUCT_DEFINITION_SHAPE('','',#21);
#32=PRODUCT_DEFINITION_SHAPE('','',#21);
#33=PRODUCT_DEFINITION_SHAPE('','',#40);
#34=PRODUCT_DEFINITION_SHAPE('','',#24);
#35=PRODUCT_DEFINITION_SHAPE('','',#25);
#40=NEXT_ASSEMBLY_USAGE_OCCURRENCE('','','',#21,#22,$);
#41=NEXT_ASSEMBLY_USAGE_OCCURRENCE('','','',#22,#21,$);
#42=NEXT_ASSEMBLY_USAGE_OCCURRENCE('','','',#21,#21,$);
`))
	// The same product in two definitions has two shapes; an assembly that
	// contains itself is no concern of this room.
	if diff := cmp.Diff([]string{"B", "lock", "lock"}, s.Products); diff != "" || s.Uses != 3 {
		t.Error(diff, s.Uses)
	}
}
