// Package sampling says how many pieces of a lot to look at, and how many may fail.
package sampling
