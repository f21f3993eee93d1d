// Package mark knows what becomes of a pattern that some step left on a face: how
// it is worn down from its peaks, how a soft or short tool follows it instead, and
// whether an eye still finds it in the texture around it.
package mark
