// Package plug makes soft plugs for openings that media would stay in.
package plug
