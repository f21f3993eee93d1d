package search

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// lead is a node of the first pass with what is known of it.
type lead[N any] struct {
	n     N
	bound float64
}

// beam goes down the tree level by level with the nodes of the lowest bounds
// only. It proves nothing; what it finds is a score to cut with.
func (s *state[N]) beam(ctx context.Context, o Options) error {
	level := make([]lead[N], 0, o.Beam)
	var next []lead[N]
	meet := func(n N, before float64) {
		if o.MaxNodes > 0 && s.res.Ways >= o.MaxNodes/2 {
			return
		}
		s.res.Ways++
		b := s.bound(n, before)
		if s.res.Found && b >= s.res.Score {
			s.res.Cut++
			return
		}
		s.value(n)
		next = append(next, lead[N]{n, b})
	}
	for _, n := range s.p.Start {
		meet(n, math.Inf(-1))
	}
	for len(next) > 0 {
		slices.SortStableFunc(next, func(a, b lead[N]) int { return cmp.Compare(a.bound, b.bound) })
		level, next = s.best(level[:0], next, o.Beam), next[:0]
		for _, l := range level {
			if err := ctx.Err(); err != nil {
				return err
			}
			s.p.Next(l.n, func(n N) { meet(n, l.bound) })
		}
	}
	return nil
}

// best takes the first nodes, at most as many as given, of which none is beaten
// by one taken before it.
func (s *state[N]) best(into, from []lead[N], most int) []lead[N] {
	keys := make([]string, 0, most)
	for _, l := range from {
		if len(into) == most {
			break
		}
		key := ""
		if s.p.Key != nil {
			key = s.p.Key(l.n)
		}
		beaten := false
		for i := range into {
			if key != "" && keys[i] == key && s.p.Beats(into[i].n, l.n) {
				beaten = true
				break
			}
		}
		if !beaten {
			into, keys = append(into, l), append(keys, key)
		}
	}
	return into
}
