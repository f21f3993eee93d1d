// Package bench times whole flows on a mesh of a million triangles: a file read,
// welded, cleaned and measured, and a surface asked for its nearest points; and a
// shop behind its whole web door, with 50 people at work in it. It holds
// benchmarks, and a short test that what those people were answered is what is kept.
//
// Where Debian's python3-vtk9 is installed, VTK does the same work on the same
// file in the same run, and the ratio (this module over VTK, below one is
// faster) is reported beside the times: only ratios from one run on one machine
// mean anything. Each flow runs in a process of its own, so that its greatest
// resident memory can be told.
//
//	go test -run '^$' -bench . -benchtime 3x ./bench
//
// The people take a minute, or as many seconds as FETTLE_BENCH_SECONDS says.
package bench
