// Package jam judges which media lodge in which opening, and how likely.
package jam
