// Package convex holds the shapes of pieces of media as convex bodies, and asks
// where and how turned such a body fits into the void round a part.
package convex
