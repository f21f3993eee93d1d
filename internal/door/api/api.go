// Package api is the shop over HTTP.
package api
