// Package learn turns a shop's readings into its own numbers: time constants,
// limits and removal of its media in its vessels on its metals, and its pace by
// hand.
package learn

import (
	"context"
	"slices"

	"fettle"
)

// Book is what the log says of the shop's processes: the posterior of their
// constants. A nil Book knows nothing and answers with the starting guesses.
type Book struct {
	shelf   *fettle.Shelf
	runs    []job
	fit     *fit // nil where nothing was read on a charge
	own     map[key]marginal
	hands   *hands
	refused []string
	leftOut []string
	// warnings are of runs that are left out or do not agree.
	warnings []string
}

// LeftOut says of each run that names what is not on the shelf that it taught nothing;
// none of a nil Book.
func (b *Book) LeftOut() []string {
	if b == nil {
		return nil
	}
	return b.leftOut
}

// Read joins a log with the shelf that its names stand on. It fails with
// Invalid, in a sentence that names the run and the reading, on a value that
// cannot be; a run with a name that the shelf does not know is left out, and
// [Book.Learned] says so.
func Read(ctx context.Context, log fettle.Logbook, shelf *fettle.Shelf) (*Book, error) {
	runs, leftOut, err := jobs(log, shelf)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b := &Book{shelf: shelf, runs: runs, hands: handsOf(runs, shelf), leftOut: leftOut, warnings: slices.Clone(leftOut)}
	if err := b.build(ctx); err != nil {
		return nil, err
	}
	return b, nil
}
