package fettle

// Survey is what a part is: the answer to "can we, and what will cause
// trouble?", measured on its mesh.
type Survey struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"` // of the model file
	Format string `json:"format"`
	// Units is the unit the file's numbers were taken in; UnitsFrom says who
	// said so: "file", "asked" or "guessed".
	Units     string `json:"units"`
	UnitsFrom string `json:"units_from"`

	Triangles int `json:"triangles"`
	Vertices  int `json:"vertices"`
	Bodies    int `json:"bodies"`
	// InFile are the bodies that the file tells apart, empty where it tells none
	// apart; Beside is what else it holds, which is not measured.
	InFile []FileBody `json:"in_file"`
	Beside []string   `json:"beside"`
	Closed bool       `json:"closed"`

	VolumeMM3 float64    `json:"volume_mm3"` // 0 and a warning when not closed
	AreaMM2   float64    `json:"area_mm2"`
	Box       Span       `json:"box_mm"`
	SizeMM    [3]float64 `json:"size_mm"`
	// CentroidMM is the centre of the volume (of the area when not closed),
	// PrincipalMM the extents along the principal axes, longest first.
	CentroidMM  [3]float64 `json:"centroid_mm"`
	PrincipalMM [3]float64 `json:"principal_mm"`

	Repairs  []Repair  `json:"repairs"`
	Faces    []Face    `json:"faces"`
	Openings []Opening `json:"openings"`
	Corners  []Corner  `json:"corners"`
	Zones    []Zone    `json:"zones"`
	Warnings []string  `json:"warnings"`

	// Edges sums the sharp outside edges, Noise is the estimated error of the
	// curvature in 1/mm that the tessellation causes (median).
	SharpEdgeMM    float64 `json:"sharp_edge_mm"`
	CurvatureNoise float64 `json:"curvature_noise_per_mm"`
}

// FileBody is one body of a model file, where its assembly has it.
type FileBody struct {
	Number int      `json:"number"` // from 1, in the file's order
	Name   string   `json:"name"`
	In     []string `json:"in"` // names of the assemblies that it stands in
	Colour string   `json:"colour,omitempty"`
	Solid  bool     `json:"solid"` // it encloses a volume
	Taken  bool     `json:"taken"` // it is measured here
	// VolumeMM3 is 0 where it is no solid.
	VolumeMM3 float64 `json:"volume_mm3"`
	AreaMM2   float64 `json:"area_mm2"`
	Box       Span    `json:"box_mm"`
}

// Span is a box as pairs of bounds.
type Span struct {
	X [2]float64 `json:"x"`
	Y [2]float64 `json:"y"`
	Z [2]float64 `json:"z"`
}

// Repair is one kind of mending that the mesh needed.
type Repair struct {
	Kind  string `json:"kind"`  // "vertices joined within tolerance", …
	Count int    `json:"count"` // how many
	Says  string `json:"says"`  // one sentence
}

// FaceKind is the surface that a smooth patch lies on.
type FaceKind string

// The kinds that are recognised.
const (
	PlaneFace    FaceKind = "plane"
	CylinderFace FaceKind = "cylinder"
	ConeFace     FaceKind = "cone"
	SphereFace   FaceKind = "sphere"
	TorusFace    FaceKind = "torus"
	FreeFace     FaceKind = "free-form"
)

// Face is a smooth patch between sharp edges, with the surface fitted to it.
type Face struct {
	ID      int      `json:"id"`
	Kind    FaceKind `json:"kind"`
	AreaMM2 float64  `json:"area_mm2"`
	// RadiusMM of a cylinder or sphere, and of a torus's tube; the mean radius of a
	// cone.
	RadiusMM float64 `json:"radius_mm,omitempty"`
	// MajorMM is the radius of the circle round a torus's axis that its tube runs
	// along; negative for the part of a tube wider than that which lies beyond the
	// axis.
	MajorMM float64 `json:"major_radius_mm,omitempty"`
	// HalfAngleDeg of a cone.
	HalfAngleDeg float64 `json:"half_angle_deg,omitempty"`
	// At is a point of the plane or axis, or the centre; Axis the normal or the
	// axis.
	At   [3]float64 `json:"at_mm"`
	Axis [3]float64 `json:"axis"`
	// Hollow is true where material surrounds the surface (a bore).
	Hollow bool `json:"hollow"`
	// ErrorUM is the largest distance of a vertex from the fitted surface.
	ErrorUM float64 `json:"error_um"`
	// Colour is the file's, "#rrggbb"; empty where it gives none.
	Colour string  `json:"colour,omitempty"`
	Facets []int32 `json:"-"`
}
