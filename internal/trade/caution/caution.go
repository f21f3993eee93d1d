// Package caution puts the usual warnings beside the steps that can hurt.
package caution
