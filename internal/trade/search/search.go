// Package search finds the best way through a tree of choices, and proves that
// there is none better.
//
// [Best] is the way in: best-first branch and bound (E. L. Lawler and D. E.
// Wood, Branch-and-bound methods: a survey, Operations Research 14 (1966) 699)
// with dominance between part-ways that stand at the same place. It opens the
// part-way with the lowest bound first; when that bound is no lower than the
// best score found, no open part-way can win, and that is the proof. A search
// that is stopped before still knows the lowest open bound, and so how much
// better a way that it did not look at could be at most.
package search

import (
	"context"
	"math"
)

// Problem is a tree of choices. N is a part-way node: everything that is needed
// to go on from it, the way there included if it is wanted in the end.
type Problem[N any] struct {
	// Start are the nodes before the first choice.
	Start []N
	// Next visits the nodes one choice further on, in an order of its own that
	// must be the same every time. A node with none is an end.
	Next func(n N, visit func(N))
	// Value is the score of stopping here, lower is better and +Inf allowed; ok is
	// false where stopping here is not allowed. Not a number counts as not allowed.
	Value func(n N) (score float64, ok bool)
	// Bound is a score that nothing from here on, n included, can be under; nil or
	// not a number where nothing is known. It need not rise along a way: what was
	// known of a node holds for what follows it.
	Bound func(n N) float64
	// Key groups nodes of which one may stand for others; "" for none. May be nil.
	Key func(n N) string
	// Beats reports, of two nodes with one key, that everything that can follow b, b
	// itself included, can follow a too at no worse score. It must not rest on a
	// leading to b. Nil where Key is.
	Beats func(a, b N) bool
}

// Options are how long to search.
type Options struct {
	// MaxNodes stops the search once that many nodes were worked out; 0 is no
	// limit.
	MaxNodes int
	// Beam is the width of a first pass, level by level, that keeps only the nodes
	// of the lowest bounds and so comes by a good way early: the search cuts with
	// it, and has it in hand when it is stopped. It uses at most half of MaxNodes. 0
	// goes without.
	Beam int
}

// Result is the best way found and what is proved of it.
type Result[N any] struct {
	Best  N
	Found bool    // false where no way may stop anywhere that was looked at
	Score float64 // +Inf where none was found
	// Ways is how many nodes were worked out, those of the first pass included; Cut
	// how many of them were left because nothing that follows could have won.
	Ways, Cut int
	// Proved tells that no way of the whole tree scores lower.
	Proved bool
	// Within is how much lower than Score a way that was not looked at could score
	// at most, as a share of Score: the true best is at least Score·(1 − Within) for
	// scores that are not negative. 0 where it is proved, 1 where none was found.
	Within float64
}

// state is a search under way.
type state[N any] struct {
	p     Problem[N]
	res   Result[N]
	nodes []node[N]
	open  heap
	// standing are the nodes that none of the same key beats, by key.
	standing map[string][]int32
	limit    int // of Ways; 0: none
	stopped  bool
}

type node[N any] struct {
	n     N
	dead  bool // beaten, or opened already
	depth int32
}

// Best finds the way with the lowest score. Among equal scores it keeps the one
// that it met first, and as it always goes in one order the answer is the same
// every time.
//
// It fails only with the context's error, and then still gives what it has.
func Best[N any](ctx context.Context, p Problem[N], o Options) (Result[N], error) {
	s := &state[N]{p: p, limit: o.MaxNodes, standing: map[string][]int32{}}
	s.res.Score = math.Inf(1)
	if o.Beam > 0 {
		if err := s.beam(ctx, o); err != nil {
			s.close(lowestStart(p))
			return s.res, err
		}
	}
	for _, n := range p.Start {
		s.meet(n, math.Inf(-1), 0)
	}
	if s.stopped {
		s.close(lowestStart(p))
		return s.res, nil
	}
	for round := 0; len(s.open) > 0; round++ {
		top := s.open.pop()
		at := &s.nodes[top.node]
		if at.dead {
			continue
		}
		if s.res.Found && top.bound >= s.res.Score {
			s.res.Cut++
			s.cutOpen()
			break
		}
		if round%16 == 0 && ctx.Err() != nil {
			s.close(top.bound)
			return s.res, ctx.Err()
		}
		at.dead = true
		depth := at.depth + 1
		p.Next(at.n, func(n N) { s.meet(n, top.bound, depth) })
		if s.stopped {
			// The rest of what follows this node was not seen: it stays open.
			s.close(top.bound)
			return s.res, nil
		}
	}
	s.res.Proved = true
	return s.res, nil
}

// meet works out a node whose forerunners had the bound given, and leaves it
// open unless nothing that follows it can win.
func (s *state[N]) meet(n N, before float64, depth int32) {
	if s.stopped || s.limit > 0 && s.res.Ways >= s.limit {
		s.stopped = true
		return
	}
	s.res.Ways++
	bound := s.bound(n, before)
	if s.res.Found && bound >= s.res.Score {
		s.res.Cut++
		return
	}
	at := int32(len(s.nodes))
	if s.p.Key != nil {
		if key := s.p.Key(n); key != "" && !s.stand(key, n, at) {
			s.res.Cut++
			return
		}
	}
	s.value(n)
	s.nodes = append(s.nodes, node[N]{n: n, depth: depth})
	s.open.push(entry{bound, depth, at})
}

// stand puts a node among those of its key, and out those that it beats. It
// reports false when one that stands there beats it.
func (s *state[N]) stand(key string, n N, at int32) bool {
	list := s.standing[key]
	for _, i := range list {
		if s.p.Beats(s.nodes[i].n, n) {
			return false
		}
	}
	keep := list[:0]
	for _, i := range list {
		if !s.p.Beats(n, s.nodes[i].n) {
			keep = append(keep, i)
			continue
		}
		if !s.nodes[i].dead {
			s.nodes[i].dead = true
			s.res.Cut++
		}
	}
	s.standing[key] = append(keep, at)
	return true
}

// value takes the score of stopping at a node.
func (s *state[N]) value(n N) {
	v, ok := s.p.Value(n)
	if ok && !math.IsNaN(v) && (!s.res.Found || v < s.res.Score) {
		s.res.Best, s.res.Score, s.res.Found = n, v, true
	}
}

// bound is what is known of a node: its own bound or that of the way to it,
// whichever is higher.
func (s *state[N]) bound(n N, before float64) float64 {
	if s.p.Bound == nil {
		return before
	}
	if b := s.p.Bound(n); b > before { // false for what is not a number
		return b
	}
	return before
}

// cutOpen counts what is left open as cut.
func (s *state[N]) cutOpen() {
	for _, e := range s.open {
		if !s.nodes[e.node].dead {
			s.res.Cut++
		}
	}
}

// close writes what is proved when the lowest open bound is the one given.
func (s *state[N]) close(lowest float64) {
	r := &s.res
	switch {
	case !r.Found:
		r.Within = 1
	case lowest >= r.Score:
		r.Proved = true
	case math.IsInf(r.Score, 1):
		r.Within = 1
	default:
		r.Within = math.Min((r.Score-lowest)/math.Abs(r.Score), math.MaxFloat64)
	}
}

// lowestStart is the lowest bound of the nodes before the first choice.
func lowestStart[N any](p Problem[N]) float64 {
	low := math.Inf(1)
	for _, n := range p.Start {
		b := math.Inf(-1)
		if p.Bound != nil {
			if v := p.Bound(n); !math.IsNaN(v) {
				b = v
			}
		}
		low = math.Min(low, b)
	}
	return low
}

// All works out the whole tree, without bounds and without dominance. It is
// what [Best] is held against, and never ends on a tree without end.
func All[N any](ctx context.Context, p Problem[N]) (Result[N], error) {
	s := &state[N]{p: p}
	s.res.Score = math.Inf(1)
	var walk func(n N)
	walk = func(n N) {
		if s.stopped = s.stopped || s.res.Ways%16 == 0 && ctx.Err() != nil; s.stopped {
			return
		}
		s.res.Ways++
		s.value(n)
		p.Next(n, walk)
	}
	for _, n := range p.Start {
		walk(n)
	}
	if s.stopped {
		s.close(math.Inf(-1))
		return s.res, ctx.Err()
	}
	s.res.Proved = true
	return s.res, nil
}
