// Package brep turns solid models into triangles. It hosts a general-purpose
// B-rep kernel that is compiled to WebAssembly.
package brep
