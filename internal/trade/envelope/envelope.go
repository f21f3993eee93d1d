// Package envelope says whether a part is the shop's, and why not.
package envelope
