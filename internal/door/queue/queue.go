// Package queue does heavy work in its turn: once for the same question, stoppable, resumed after a crash. [Open] gives a [Queue].
package queue
