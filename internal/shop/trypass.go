package shop

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"fettle"
	"fettle/internal/work"
)

// Benches that are kept ready, and answers that are remembered: a hand that drags a
// handle back and forth asks for the same again.
const (
	mostBenches = 2
	mostTried   = 96
)

// tries are the plans whose passes are being tried.
type tries struct {
	mu      sync.Mutex
	benches []*passBench // the last used first
	tried   map[string]tried
	order   []string      // of tried, the oldest first
	turn    chan struct{} // one simulation at a time: they use every core
}

type passBench struct {
	plan  string
	once  sync.Mutex
	bench *work.PassBench
}

type tried struct {
	pass    work.TriedPass
	picture []byte
}

func newTries() *tries { return &tries{tried: map[string]tried{}, turn: make(chan struct{}, 1)} }

// TryPass is what a pass leaves on a zone of a planned part: simulated, or as geometry
// has it where Says says why. The picture is a PNG, nil where nothing was simulated.
// It fails with NotFound for a plan, zone or cutter that there is not, and with Invalid
// for a pass that cannot be.
func (s *Shop) TryPass(ctx context.Context, plan string, a work.TryPass) (work.TriedPass, []byte, error) {
	return s.tryOnce(ctx, plan, "simulated", a, func(b *work.PassBench) (t work.TriedPass, picture []byte, err error) {
		select {
		case s.tries.turn <- struct{}{}:
			defer func() { <-s.tries.turn }()
		case <-ctx.Done():
			return t, nil, ctx.Err()
		}
		return b.Simulate(ctx, a)
	})
}

// SketchPass is a close-up of what a pass leaves, drawn from its numbers, as a PNG.
func (s *Shop) SketchPass(ctx context.Context, plan string, a work.TryPass) ([]byte, error) {
	_, picture, err := s.tryOnce(ctx, plan, "sketch", a, func(b *work.PassBench) (t work.TriedPass, picture []byte, err error) {
		picture, err = b.Sketch(ctx, a)
		return t, picture, err
	})
	return picture, err
}

func (s *Shop) tryOnce(ctx context.Context, plan, how string, a work.TryPass, make func(*work.PassBench) (work.TriedPass, []byte, error)) (work.TriedPass, []byte, error) {
	key := fmt.Sprintf("%s %s %+v", plan, how, a)
	t := s.tries
	t.mu.Lock()
	got, ok := t.tried[key]
	t.mu.Unlock()
	if ok {
		return got.pass, got.picture, nil
	}
	b, err := s.bench(ctx, plan)
	if err != nil {
		return got.pass, nil, err
	}
	if got.pass, got.picture, err = make(b); err != nil {
		return got.pass, nil, err
	}
	if got.pass.Says != "" {
		return got.pass, got.picture, nil // another time there may be time for it
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if _, ok := t.tried[key]; !ok {
		t.tried[key] = got
		if t.order = append(t.order, key); len(t.order) > mostTried {
			delete(t.tried, t.order[0])
			t.order = t.order[1:]
		}
	}
	return got.pass, got.picture, nil
}

// bench is where passes of a plan are tried.
func (s *Shop) bench(ctx context.Context, id string) (*work.PassBench, error) {
	t := s.tries
	t.mu.Lock()
	i := slices.IndexFunc(t.benches, func(b *passBench) bool { return b.plan == id })
	var b *passBench
	if i >= 0 {
		b = t.benches[i]
		t.benches = slices.Delete(t.benches, i, i+1)
	} else {
		b = &passBench{plan: id}
	}
	t.benches = slices.Insert(t.benches, 0, b)
	t.benches = t.benches[:min(len(t.benches), mostBenches)]
	t.mu.Unlock()

	b.once.Lock()
	defer b.once.Unlock()
	if b.bench != nil {
		return b.bench, nil
	}
	plan, r, err := s.PlanOf(ctx, id)
	if err != nil {
		return nil, err
	}
	sheet, err := bodyOf[fettle.PlanSheet](r)
	if err != nil {
		return nil, err
	}
	shelf, err := stored[fettle.Shelf](ctx, s, sheet.From.Shelf)
	if err != nil {
		return nil, err
	}
	b.bench = work.NewPassBench(plan, &shelf, func(ctx context.Context) (*work.Part, error) {
		m, done, err := s.modelOf(ctx, modelArgs{Model: sheet.From.Model, File: sheet.From.File})
		if err != nil {
			return nil, err
		}
		defer done()
		model, opt := work.PassModel(m, plan.Brief)
		return work.LoadPart(ctx, model, opt, nil)
	})
	return b.bench, nil
}
