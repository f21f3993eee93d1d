// Package part21 reads the exchange structure of ISO 10303-21, the text that a
// STEP file is: its header and its instances. It does not build shapes.
package part21
