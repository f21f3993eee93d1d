// Package dxf writes plan drawings as DXF, release 12, which every program that
// cuts can read: lines and true arcs on named layers.
package dxf
