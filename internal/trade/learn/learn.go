// Package learn turns a shop's readings into its own numbers: time constants,
// limits and removal of its media in its vessels on its metals, and its pace by
// hand.
package learn

import (
	"context"

	"fettle"
)

// Book is what the log says of the shop's processes: the posterior of their
// constants. A nil Book knows nothing and answers with the starting guesses.
type Book struct {
	shelf   *fettle.Shelf
	runs    []job
	fit     *fit // nil where nothing was read on a charge
	own     map[key]marginal
	refused []string
}

// Read joins a log with the shelf that its names stand on. It fails with
// Invalid, in a sentence that names the run and the reading, on a name that the
// shelf does not know and on a value that cannot be.
func Read(ctx context.Context, log fettle.Logbook, shelf *fettle.Shelf) (*Book, error) {
	runs, err := jobs(log, shelf)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b := &Book{shelf: shelf, runs: runs}
	if err := b.build(ctx); err != nil {
		return nil, err
	}
	return b, nil
}

// Pace is the factor on the minutes by hand that rub expects of a grit on a
// metal, from logged minutes; false where none are logged.
func (b *Book) Pace(g fettle.Grit, mat fettle.Material) (fettle.Estimate, bool) {
	return fettle.Estimate{}, false
}

// Learned is the document that shows what the log says.
func (b *Book) Learned() fettle.Learned {
	l := fettle.Learned{
		Parameters: []fettle.Parameter{}, Next: []fettle.NextReading{}, Refused: []string{}, Warnings: []string{},
	}
	if b == nil {
		return l
	}
	l.Runs = len(b.runs)
	for _, r := range b.runs {
		l.Readings += len(r.Readings)
	}
	return l
}

// Next are the readings that would teach most about a charge that is planned, to
// take a face from Ra start to Ra target, both µm: best first.
func (b *Book) Next(m fettle.Media, v fettle.Vessel, mat fettle.Material, tone fettle.Tone, startUM, targetUM float64) []fettle.NextReading {
	return nil
}
