package mesh

// Portion is some triangles of a mesh as a mesh of its own, in the order given,
// with the vertices that they use, and their faces' ids where the mesh has them.
func (m *Mesh) Portion(tris []int32) *Mesh {
	out := &Mesh{Tri: make([][3]uint32, 0, len(tris))}
	number := make(map[uint32]uint32, len(tris)/2)
	for _, t := range tris {
		var tri [3]uint32
		for k, v := range m.Tri[t] {
			w, ok := number[v]
			if !ok {
				w = uint32(len(out.Pos))
				number[v] = w
				out.Pos = append(out.Pos, m.Pos[v])
			}
			tri[k] = w
		}
		out.Tri = append(out.Tri, tri)
		if m.Face != nil {
			out.Face = append(out.Face, m.Face[t])
		}
	}
	return out
}
