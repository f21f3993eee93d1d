// Package store keeps a shop's records and files: in one SQLite file in the workspace, or in PostgreSQL by a URL, with content-addressed files beside it. [Open] gives a [Store].
package store
