// Package learn turns a shop's readings into its own numbers: time constants,
// limits and removal of its media in its vessels on its metals, and its pace by
// hand.
package learn
