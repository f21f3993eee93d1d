package shop

import (
	"context"
	"sync"

	"fettle"
	"fettle/internal/trade/stock"
)

// lastShelf is the shelf as it was read last. Whoever judges a run or a reading needs
// the whole of it, and it seldom changes.
type lastShelf struct {
	mu      sync.Mutex
	changes string // what the store said of its changes; empty for not read yet
	shelf   *fettle.Shelf
}

// at is a copy of the shelf after these changes, nil where another is remembered.
// Lists are the asker's own; what stands in them is nobody's to change.
func (l *lastShelf) at(changes string) *fettle.Shelf {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.shelf == nil || l.changes != changes {
		return nil
	}
	own := *l.shelf
	for _, c := range compartments {
		c.part(&own)
	}
	return &own
}

func (l *lastShelf) keep(changes string, shelf *fettle.Shelf) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.changes, l.shelf = changes, shelf
}

// kindsOnShelf are the kinds that a shelf is put together from.
func kindsOnShelf() []fettle.RecordKind {
	var out []fettle.RecordKind
	for _, c := range compartments {
		out = append(out, c.kind)
	}
	return out
}

// Shelf is what stands on the shop's shelf now, whichever process put it there.
func (s *Shop) Shelf(ctx context.Context) (*fettle.Shelf, error) {
	changes, err := s.store.Changes(ctx, kindsOnShelf()...)
	if err != nil {
		return nil, err
	}
	for try := 1; ; try++ {
		if shelf := s.shelf.at(changes); shelf != nil {
			return shelf, nil
		}
		shelf, err := s.readShelf(ctx)
		if err != nil {
			return nil, err
		}
		// Its lists are read one after the other: only where nothing changed meanwhile is
		// it the shelf of one moment.
		after, err := s.store.Changes(ctx, kindsOnShelf()...)
		if err != nil {
			return nil, err
		}
		if after == changes {
			s.shelf.keep(changes, shelf)
		} else if try == 5 {
			return shelf, nil // somebody changes it without a pause
		}
		changes = after
	}
}

func (s *Shop) readShelf(ctx context.Context) (*fettle.Shelf, error) {
	shelf := &fettle.Shelf{Rates: stock.Shelf().Rates}
	for _, c := range compartments {
		c.clear(shelf)
		rs, err := s.all(ctx, fettle.Query{Kind: c.kind})
		if err != nil {
			return nil, err
		}
		for _, r := range rs {
			if _, err := c.add(shelf, r.Body); err != nil {
				return nil, fettle.Errorf(fettle.BadFile, "%s %q was kept by a newer program or damaged: %w; try fettle check", r.Kind, r.Name, err)
			}
		}
	}
	return shelf, nil
}
