// Package promise says when a lot can be ready, and why not sooner.
package promise
