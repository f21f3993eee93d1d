// Package hold says how a part is held in soft jaws: what pocket to cut, where on
// which pair, what it bears on, and whether that will hold against the cut.
package hold
