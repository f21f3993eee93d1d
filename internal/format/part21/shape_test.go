package part21

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// shapeOf is what Read says of the shape of these instances, which may use #5 as
// their context, faces #90 to #95 and the placement #97.
func shapeOf(t *testing.T, instances string) *Summary {
	t.Helper()
	s := must(t, whole(millimetres+instances+`
#80=PLANE('',#97);
#81=CYLINDRICAL_SURFACE('',#97,3.);
#82=EDGE_LOOP('',());
#83=FACE_BOUND('',#82,.T.);
#90=ADVANCED_FACE('',(#83),#80,.T.);
#91=ADVANCED_FACE('',(#83),#81,.T.);
#92=ADVANCED_FACE('',(#83),#80,.T.);
#93=FACE_SURFACE('',(#83),#80,.T.);
#94=ORIENTED_FACE('',*,#93,.F.);
#95=(ADVANCED_FACE()FACE((#83))FACE_SURFACE(#81,.T.)GEOMETRIC_REPRESENTATION_ITEM()REPRESENTATION_ITEM('')TOPOLOGICAL_REPRESENTATION_ITEM());
#97=AXIS2_PLACEMENT_3D('',#98,$,$);
#98=CARTESIAN_POINT('',(0.,0.,0.));
`))
	return &Summary{Solids: s.Solids, Sheets: s.Sheets, Beside: s.Beside, Faces: s.Faces, Uses: s.Uses}
}

func TestShapes(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       Summary
	}{
		{"two solids that share a face, one of them twice", `
#10=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#97,#20,#21,#20),#5);
#11=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#20),#5);
#20=MANIFOLD_SOLID_BREP('',#30);
#21=MANIFOLD_SOLID_BREP('',#31);
#30=CLOSED_SHELL('',(#90,#91));
#31=CLOSED_SHELL('',(#91,#92));`,
			Summary{Solids: 2, Faces: map[string]int{"PLANE": 2, "CYLINDRICAL_SURFACE": 1}}},
		{"one that nothing refers to, and one with a colour only", `
#10=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#97),#5);
#11=STYLED_ITEM('',(),#21);
#12=MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',(#11),#5);
#20=MANIFOLD_SOLID_BREP('',#30);
#21=MANIFOLD_SOLID_BREP('',#30);
#30=CLOSED_SHELL('',(#90,#91));`,
			Summary{Faces: map[string]int{}}},
		{"voids, faceted, complex", `
#10=(ADVANCED_BREP_SHAPE_REPRESENTATION()REPRESENTATION('',(#20,#21,#22),#5)SHAPE_REPRESENTATION());
#20=BREP_WITH_VOIDS('',#30,(#31));
#21=FACETED_BREP('',#33);
#22=(BREP_WITH_VOIDS((#31))GEOMETRIC_REPRESENTATION_ITEM()MANIFOLD_SOLID_BREP(#34)REPRESENTATION_ITEM('')SOLID_MODEL());
#30=CLOSED_SHELL('',(#90));
#31=ORIENTED_CLOSED_SHELL('',*,#32,.F.);
#32=CLOSED_SHELL('',(#91));
#33=CLOSED_SHELL('',(#94));
#34=CLOSED_SHELL('',(#95));`,
			Summary{Solids: 3, Faces: map[string]int{"PLANE": 2, "CYLINDRICAL_SURFACE": 2}}},
		{"placed by a map, and as a replica", `
#10=SHAPE_REPRESENTATION('',(#20,#21,#22),#5);
#11=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#25),#5);
#12=REPRESENTATION_MAP(#97,#11);
#20=MAPPED_ITEM('',#12,#97);
#21=MAPPED_ITEM('',#12,#97);
#22=SOLID_REPLICA('',#25,#97);
#25=MANIFOLD_SOLID_BREP('',#30);
#30=CLOSED_SHELL('',(#90));`,
			Summary{Solids: 1, Faces: map[string]int{"PLANE": 1}}},
		{"surface models", `
#10=MANIFOLD_SURFACE_SHAPE_REPRESENTATION('',(#20,#21,#92),#5);
#20=SHELL_BASED_SURFACE_MODEL('',(#30,#31));
#21=FACE_BASED_SURFACE_MODEL('',(#32));
#30=OPEN_SHELL('',(#90));
#31=CLOSED_SHELL('',(#91));
#32=CONNECTED_FACE_SET('',(#93,#95));`,
			Summary{Sheets: 5, Beside: []string{"5 open surfaces"}, Faces: map[string]int{}}},
		{"a face of a solid that a dimension points at is not loose", `
#10=SHAPE_REPRESENTATION('',(#90),#5);
#11=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#20),#5);
#20=MANIFOLD_SOLID_BREP('',#30);
#30=CLOSED_SHELL('',(#90,#91));`,
			Summary{Solids: 1, Faces: map[string]int{"PLANE": 1, "CYLINDRICAL_SURFACE": 1}}},
		{"all that can be beside", `
#10=SHAPE_REPRESENTATION('',(#20,#21,#22,#23,#24,#97),#5);
#11=CONSTRUCTIVE_GEOMETRY_REPRESENTATION('',(#80,#97,#98,#40),#5);
#12=SHAPE_REPRESENTATION('supplemental geometry',(#96,#25,#26),#5);
#20=GEOMETRIC_SET('',(#41,#42,#81));
#21=GEOMETRIC_CURVE_SET('',(#43));
#22=EDGE_BASED_WIREFRAME_MODEL('',());
#23=TESSELLATED_SOLID('',(),$);
#24=CSG_SOLID('',#27);
#25=GEOMETRIC_CURVE_SET('',(#44));
#26=MANIFOLD_SOLID_BREP('',#30);
#27=BLOCK('',#97,1.,2.,3.);
#30=CLOSED_SHELL('',(#92));
#40=LINE('',#98,$);
#41=LINE('',#98,$);
#42=CIRCLE('',#97,1.);
#43=CARTESIAN_POINT('',(1.,0.,0.));
#44=POLYLINE('',(#98,#43));
#96=AXIS1_PLACEMENT('',#98,$);
#50=ANNOTATION_CURVE_OCCURRENCE('',(),#44);
#51=(ANNOTATION_CURVE_OCCURRENCE()ANNOTATION_OCCURRENCE()LEADER_CURVE()REPRESENTATION_ITEM('')STYLED_ITEM((),#44));
#52=(ANNOTATION_OCCURRENCE()ANNOTATION_SYMBOL_OCCURRENCE()LEADER_TERMINATOR()REPRESENTATION_ITEM(''));
#53=ANNOTATION_TEXT_OCCURRENCE('',(),$);
#60=DATUM('','',$,.F.,'A');
#61=DATUM('','',$,.F.,'B');
#62=DATUM('','',$,.F.,'C');
#70=DIMENSIONAL_SIZE($,'diameter');
#71=FLATNESS_TOLERANCE('','',$,$);
#72=(GEOMETRIC_TOLERANCE('','',$,$)GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE(())POSITION_TOLERANCE());
#73=NEXT_ASSEMBLY_USAGE_OCCURRENCE('','','',$,$,$);`,
			Summary{Sheets: 1, Uses: 1, Faces: map[string]int{}, Beside: []string{"1 open surface", "2 annotation curves", "2 annotation texts and symbols", "3 datums",
				"3 dimensions and tolerances", "2 wireframes", "4 axes and points of construction", "2 curves of construction", "1 surface of construction",
				"1 solid of construction", "1 tessellated body", "1 solid built from primitives"}}},
		{"things that contain themselves", `
#10=SHAPE_REPRESENTATION('',(#10,#20,#21,#22),#5);
#20=COMPOUND_REPRESENTATION_ITEM('',(#20,#21));
#21=SOLID_REPLICA('',#20,#97);
#22=MANIFOLD_SOLID_BREP('',#30);
#30=CLOSED_SHELL('',(#30,#31));
#31=ORIENTED_FACE('',*,#31,.T.);`,
			Summary{Solids: 1, Faces: map[string]int{}}},
	} {
		if diff := cmp.Diff(&c.want, shapeOf(t, c.text)); diff != "" {
			t.Errorf("%s: %s", c.name, diff)
		}
	}
}
