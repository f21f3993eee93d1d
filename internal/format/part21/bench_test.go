package part21

import (
	"bytes"
	"fmt"
	"testing"
)

// bars writes a file of about so many bytes: square bars of four and two faces,
// with all that a kernel writes for each.
func bars(size int) []byte {
	var b bytes.Buffer
	b.WriteString(head("AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }"))
	b.WriteString("DATA;\n" + millimetres)
	id := 100
	next := func(format string, args ...any) int {
		id++
		fmt.Fprintf(&b, "#%d = ", id)
		fmt.Fprintf(&b, format, args...)
		b.WriteString(";\n")
		return id
	}
	point := func(x, y, z float64) int { return next("CARTESIAN_POINT('',(%.12g,%.12g,%.12g))", x, y, z) }
	direction := func(x, y, z float64) int { return next("DIRECTION('',(%g,%g,%g))", x, y, z) }
	var items []byte
	for n := 0; b.Len() < size; n++ {
		x := float64(n) * 7.000123
		var corner, vertex [8]int
		for i := range corner {
			corner[i] = point(x+float64(i&1)*3.1415926, float64(i>>1&1)*2.7182818, float64(i>>2)*141.42135)
			vertex[i] = next("VERTEX_POINT('',#%d)", corner[i])
		}
		edge := map[[2]int]int{}
		shell := []byte{}
		for _, q := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
			loop := []byte{}
			for i := range q {
				a, c := q[i], q[(i+1)%4]
				key, sense := [2]int{min(a, c), max(a, c)}, ".T."
				if a > c {
					sense = ".F."
				}
				if edge[key] == 0 {
					line := next("LINE('',#%d,#%d)", corner[key[0]], next("VECTOR('',#%d,1.)", direction(1, 0, 0)))
					edge[key] = next("EDGE_CURVE('',#%d,#%d,#%d,.T.)", vertex[key[0]], vertex[key[1]], line)
				}
				loop = fmt.Appendf(loop, ",#%d", next("ORIENTED_EDGE('',*,*,#%d,%s)", edge[key], sense))
			}
			bound := next("FACE_BOUND('',#%d,.T.)", next("EDGE_LOOP('',(%s))", loop[1:]))
			plane := next("PLANE('',#%d)", next("AXIS2_PLACEMENT_3D('',#%d,#%d,#%d)", corner[q[0]], direction(0, 0, 1), direction(1, 0, 0)))
			shell = fmt.Appendf(shell, ",#%d", next("ADVANCED_FACE('',(#%d),#%d,.T.)", bound, plane))
		}
		items = fmt.Appendf(items, ",#%d", next("MANIFOLD_SOLID_BREP('bar',#%d)", next("CLOSED_SHELL('',(%s))", shell[1:])))
	}
	next("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s),#5)", items[1:])
	b.WriteString("ENDSEC;\nEND-ISO-10303-21;\n")
	return b.Bytes()
}

// BenchmarkRead reads 20 MB of bars. MB/s is what counts; bytes allocated should
// follow the number of instances.
func BenchmarkRead(b *testing.B) {
	data := bars(20 << 20)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		s, err := Read(data)
		if err != nil || s.Solids == 0 {
			b.Fatal(s, err)
		}
	}
}

// BenchmarkScan is the walk over the bytes alone.
func BenchmarkScan(b *testing.B) {
	data := bars(20 << 20)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		r := &reader{data: data}
		if err := r.read(); err != nil {
			b.Fatal(err)
		}
	}
}
