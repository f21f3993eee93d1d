// Package recipe takes a finish from one shop's shelf to another's.
package recipe
