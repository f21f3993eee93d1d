//go:build outside

package outside

// apart names the installed files whose numbers here and in VTK need not be the
// same, each with the reason.
var apart = map[string]string{
	"box_longline.obj":   "one line names the same four corners hundreds of times over, and there is no one area of such a polygon",
	"regr_3429812.obj":   "a quadrilateral that is not flat, whose area depends on the diagonal that is cut along",
	"number_formats.obj": "some coordinates are no numbers (3.1+e2), which VTK takes for 3.1",
	"malformed.obj":      "polygons name vertices that are not there, which VTK leaves out",
}

// concave names files with a flat polygon that VTK reads but cannot cut into
// triangles; their area is compared with that of the polygon itself.
var concave = map[string]bool{
	"concave_polygon.obj":        true,
	"space_in_material_name.obj": true,
}
