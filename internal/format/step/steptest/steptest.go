// Package steptest writes small STEP files for tests: boxes, alone or in an
// assembly, with what else a file may hold. The text is ours, after ISO 10303-21
// and the entities of AP214.
package steptest

import (
	"fmt"
	"strings"
)

// File is a STEP file on its way. The zero value is empty, in millimetres.
type File struct {
	Inch, Metre bool
	Schema      string // "AUTOMOTIVE_DESIGN" where empty

	b       strings.Builder
	n       int
	context int
	origin  int
	items   []product
}

// product is a part or an assembly: the ids of its definition and its shape.
type product struct{ name, def, shape int }

// Add writes an instance and gives its number. Arguments are put in as
// fmt.Sprintf does.
func (f *File) Add(format string, args ...any) int {
	f.begin()
	return f.add(format, args...)
}

func (f *File) add(format string, args ...any) int {
	f.n++
	fmt.Fprintf(&f.b, "#%d=%s;\n", f.n, fmt.Sprintf(format, args...))
	return f.n
}

// begin writes the units once.
func (f *File) begin() {
	if f.context != 0 {
		return
	}
	length := f.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(%s,.METRE.))", map[bool]string{true: "$", false: ".MILLI."}[f.Metre])
	if f.Inch {
		by := f.add("MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#%d)", length)
		dim := f.add("DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)")
		length = f.add("(CONVERSION_BASED_UNIT('INCH',#%d)LENGTH_UNIT()NAMED_UNIT(#%d))", by, dim)
	}
	angle := f.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
	solid := f.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
	loose := f.add("UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),#%d,'distance','')", length)
	f.context = f.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#%d))GLOBAL_UNIT_ASSIGNED_CONTEXT((#%d,#%d,#%d))REPRESENTATION_CONTEXT('',''))", loose, length, angle, solid)
	f.origin = f.Placed([3]float64{})
}

func real(v float64) string {
	s := fmt.Sprintf("%.12G", v)
	if m, e, ok := strings.Cut(s, "E"); ok {
		if !strings.Contains(m, ".") {
			m += "."
		}
		return m + "E" + e
	}
	if !strings.Contains(s, ".") {
		s += "."
	}
	return s
}

func triple(v [3]float64) string {
	return "(" + real(v[0]) + "," + real(v[1]) + "," + real(v[2]) + ")"
}

// Point writes a point.
func (f *File) Point(v [3]float64) int { return f.Add("CARTESIAN_POINT('',%s)", triple(v)) }

// Placed writes an upright placement.
func (f *File) Placed(v [3]float64) int {
	f.begin()
	return f.axes(v, [3]float64{0, 0, 1}, [3]float64{1, 0, 0})
}

func (f *File) axes(at, z, x [3]float64) int {
	p := f.add("CARTESIAN_POINT('',%s)", triple(at))
	dz := f.add("DIRECTION('',%s)", triple(z))
	dx := f.add("DIRECTION('',%s)", triple(x))
	return f.add("AXIS2_PLACEMENT_3D('',#%d,#%d,#%d)", p, dz, dx)
}

// Shell writes the faces of a box between two corners, leaving out so many of
// the six, and gives the number of its shell.
func (f *File) Shell(lo, hi [3]float64, without int) int {
	f.begin()
	kind := "CLOSED_SHELL"
	if without > 0 {
		kind = "OPEN_SHELL"
	}
	var corner [8]int
	at := func(i int) [3]float64 {
		v := lo
		for k := range 3 {
			if i>>k&1 == 1 {
				v[k] = hi[k]
			}
		}
		return v
	}
	for i := range corner {
		corner[i] = f.add("VERTEX_POINT('',#%d)", f.Point(at(i)))
	}
	edges := map[[2]int]int{}
	edge := func(a, b int) string {
		sense := ".T."
		if a > b {
			a, b, sense = b, a, ".F."
		}
		e, ok := edges[[2]int{a, b}]
		if !ok {
			var d [3]float64
			for k := range 3 {
				if b>>k&1 != a>>k&1 {
					d[k] = 1
				}
			}
			way := f.add("VECTOR('',#%d,1.)", f.add("DIRECTION('',%s)", triple(d)))
			line := f.add("LINE('',#%d,#%d)", f.Point(at(a)), way)
			e = f.add("EDGE_CURVE('',#%d,#%d,#%d,.T.)", corner[a], corner[b], line)
			edges[[2]int{a, b}] = e
		}
		return fmt.Sprintf("#%d", f.add("ORIENTED_EDGE('',*,*,#%d,%s)", e, sense))
	}
	var faces []string
	// The corners of each side in turn, seen from outside, with its normal.
	for _, s := range []struct {
		c [4]int
		n [3]float64
		x [3]float64
	}{
		{[4]int{0, 4, 6, 2}, [3]float64{-1, 0, 0}, [3]float64{0, 1, 0}}, {[4]int{1, 3, 7, 5}, [3]float64{1, 0, 0}, [3]float64{0, 1, 0}},
		{[4]int{0, 1, 5, 4}, [3]float64{0, -1, 0}, [3]float64{1, 0, 0}}, {[4]int{2, 6, 7, 3}, [3]float64{0, 1, 0}, [3]float64{1, 0, 0}},
		{[4]int{0, 2, 3, 1}, [3]float64{0, 0, -1}, [3]float64{1, 0, 0}}, {[4]int{4, 5, 7, 6}, [3]float64{0, 0, 1}, [3]float64{1, 0, 0}},
	}[without:] {
		var round []string
		for k := range 4 {
			round = append(round, edge(s.c[k], s.c[(k+1)%4]))
		}
		loop := f.add("EDGE_LOOP('',(%s))", strings.Join(round, ","))
		bound := f.add("FACE_OUTER_BOUND('',#%d,.T.)", loop)
		plane := f.add("PLANE('',#%d)", f.axes(at(s.c[0]), s.n, s.x))
		faces = append(faces, fmt.Sprintf("#%d", f.add("ADVANCED_FACE('',(#%d),#%d,.T.)", bound, plane)))
	}
	return f.add("%s('',(%s))", kind, strings.Join(faces, ","))
}

// Box writes a box as a solid.
func (f *File) Box(name string, lo, hi [3]float64) int {
	return f.Add("MANIFOLD_SOLID_BREP('%s',#%d)", name, f.Shell(lo, hi, 0))
}

// Colour gives a solid or face a colour, red, green and blue from 0 to 1.
func (f *File) Colour(item int, rgb [3]float64) int {
	c := f.Add("COLOUR_RGB('',%s,%s,%s)", real(rgb[0]), real(rgb[1]), real(rgb[2]))
	fill := f.add("FILL_AREA_STYLE('',(#%d))", f.add("FILL_AREA_STYLE_COLOUR('',#%d)", c))
	side := f.add("SURFACE_SIDE_STYLE('',(#%d))", f.add("SURFACE_STYLE_FILL_AREA(#%d)", fill))
	style := f.add("PRESENTATION_STYLE_ASSIGNMENT((#%d))", f.add("SURFACE_STYLE_USAGE(.BOTH.,#%d)", side))
	return f.add("STYLED_ITEM('',(#%d),#%d)", style, item)
}

// Present writes the list of coloured things that readers look for.
func (f *File) Present(styled ...int) {
	f.Add("MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',(%s),#%d)", numbers(styled), f.context)
}

func numbers(ids []int) string {
	var s []string
	for _, i := range ids {
		s = append(s, fmt.Sprintf("#%d", i))
	}
	return strings.Join(s, ",")
}

// Product makes a part of solids or other items and gives its place in the
// file, for Assembly.
func (f *File) Product(name, representation string, items ...int) int {
	f.begin()
	app := f.add("APPLICATION_CONTEXT('design')")
	p := f.add("PRODUCT('%s','%s','',(#%d))", name, name, f.add("PRODUCT_CONTEXT('',#%d,'mechanical')", app))
	form := f.add("PRODUCT_DEFINITION_FORMATION('','',#%d)", p)
	def := f.add("PRODUCT_DEFINITION('design','',#%d,#%d)", form, f.add("PRODUCT_DEFINITION_CONTEXT('part definition',#%d,'design')", app))
	shape := f.add("PRODUCT_DEFINITION_SHAPE('','',#%d)", def)
	rep := f.add("%s('%s',(%s),#%d)", representation, name, numbers(append([]int{f.origin}, items...)), f.context)
	f.add("SHAPE_DEFINITION_REPRESENTATION(#%d,#%d)", shape, rep)
	f.items = append(f.items, product{p, def, rep})
	return len(f.items) - 1
}

// Part is Product for solids.
func (f *File) Part(name string, solids ...int) int {
	return f.Product(name, "ADVANCED_BREP_SHAPE_REPRESENTATION", solids...)
}

// Place puts a product into an assembly.
func (f *File) Place(assembly, part int, at [3]float64) {
	a, p := f.items[assembly], f.items[part]
	use := f.Add("NEXT_ASSEMBLY_USAGE_OCCURRENCE('u%d','','',#%d,#%d,$)", f.n, a.def, p.def)
	shape := f.add("PRODUCT_DEFINITION_SHAPE('','',#%d)", use)
	move := f.add("ITEM_DEFINED_TRANSFORMATION('','',#%d,#%d)", f.origin, f.Placed(at))
	rel := f.add("(REPRESENTATION_RELATIONSHIP('','',#%d,#%d)REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(#%d)SHAPE_REPRESENTATION_RELATIONSHIP())", p.shape, a.shape, move)
	f.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(#%d,#%d)", rel, shape)
}

// Bytes is the file.
func (f *File) Bytes() []byte {
	f.begin()
	schema := f.Schema
	if schema == "" {
		schema = "AUTOMOTIVE_DESIGN"
	}
	return []byte("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('part','2026-01-01T00:00:00',(''),(''),'','','');\nFILE_SCHEMA(('" +
		schema + "'));\nENDSEC;\nDATA;\n" + f.b.String() + "ENDSEC;\nEND-ISO-10303-21;\n")
}
