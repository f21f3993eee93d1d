// Package search finds the best of all ways through a tree of choices and proves
// it: best first, with a bound below which nothing that follows can come, and with
// labels of which one can stand for many.
package search
