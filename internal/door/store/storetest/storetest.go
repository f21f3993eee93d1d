// Package storetest starts a PostgreSQL server of its own for tests.
package storetest
