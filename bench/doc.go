// Package bench times whole flows on a mesh of a million triangles: a file read,
// welded, cleaned and measured, and a surface asked for its nearest points. It
// holds benchmarks only.
//
// Where Debian's python3-vtk9 is installed, VTK does the same work on the same
// file in the same run, and the ratio (this module over VTK, below one is
// faster) is reported beside the times: only ratios from one run on one machine
// mean anything. Each flow runs in a process of its own, so that its greatest
// resident memory can be told.
//
//	go test -run '^$' -bench . -benchtime 3x ./bench
package bench
