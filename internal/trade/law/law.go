// Package law carries the judged face of a part through the steps of a route: what
// each kind of step takes off, erases and leaves, by the published laws, in many
// equally likely worlds at once.
package law
