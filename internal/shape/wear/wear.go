// Package wear rounds edges by a curvature-driven flow on cross-sections.
package wear
