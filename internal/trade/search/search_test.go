package search

import (
	"context"
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// tree is a tree written out, node 0 at its root.
type tree struct {
	kids   [][]int
	score  []float64 // not a number where stopping is not allowed
	lowest []float64 // of the node and all that follows it
	slack  []float64
}

func drawTree(t *rapid.T) *tree {
	n := rapid.IntRange(1, 120).Draw(t, "nodes")
	g := &tree{make([][]int, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	whole := rapid.Bool().Draw(t, "whole scores") // with many ties
	for i := range n {
		if i > 0 {
			up := rapid.IntRange(max(0, i-12), i-1).Draw(t, "up")
			g.kids[up] = append(g.kids[up], i)
		}
		g.score[i] = rapid.Float64Range(0, 9).Draw(t, "score")
		if whole {
			g.score[i] = math.Floor(g.score[i])
		}
		switch rapid.IntRange(0, 5).Draw(t, "stop") {
		case 0, 1:
			g.score[i] = math.NaN()
		case 2:
			g.score[i] = math.Inf(1)
		}
		// Slack that comes and goes makes bounds that fall along a way.
		g.slack[i] = rapid.SampledFrom([]float64{0, 0, 0.5, 3, math.Inf(1), math.NaN()}).Draw(t, "slack")
	}
	for i := n - 1; i >= 0; i-- {
		g.lowest[i] = math.Inf(1)
		if !math.IsNaN(g.score[i]) {
			g.lowest[i] = g.score[i]
		}
		for _, k := range g.kids[i] {
			g.lowest[i] = math.Min(g.lowest[i], g.lowest[k])
		}
	}
	return g
}

func (g *tree) problem() Problem[int] {
	return Problem[int]{
		Start: []int{0},
		Next: func(n int, visit func(int)) {
			for _, k := range g.kids[n] {
				visit(k)
			}
		},
		Value: func(n int) (float64, bool) { return g.score[n], !math.IsNaN(g.score[n]) },
		Bound: func(n int) float64 { return g.lowest[n] - g.slack[n] },
	}
}

func bestOf[N any](t interface{ Fatal(...any) }, p Problem[N], o Options) Result[N] {
	r, err := Best(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func allOf[N any](t interface{ Fatal(...any) }, p Problem[N]) Result[N] {
	r, err := All(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestBestOfTreesEqualsAllOfThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := drawTree(t)
		p := g.problem()
		all := allOf(t, p)
		if all.Ways != len(g.kids) || all.Score != g.lowest[0] {
			t.Fatalf("all: %d ways of %d, %v for %v", all.Ways, len(g.kids), all.Score, g.lowest[0])
		}
		o := Options{Beam: rapid.IntRange(0, 5).Draw(t, "beam")}
		got := bestOf(t, p, o)
		if got.Found != all.Found || got.Score != all.Score || !got.Proved || got.Within != 0 {
			t.Fatalf("best %+v, all %+v", got, all)
		}
		if got.Found && g.score[got.Best] != got.Score {
			t.Fatalf("node %d scores %v, said to score %v", got.Best, g.score[got.Best], got.Score)
		}
		if again := bestOf(t, p, o); again != got {
			t.Fatalf("first %+v, then %+v", got, again)
		}
	})
}

// A search that is stopped says how far off it can be; that must hold.
func TestStoppedSearchKeepsItsWord(t *testing.T) {
	proved, open := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		g := drawTree(t)
		limit := rapid.IntRange(1, len(g.kids)+1).Draw(t, "limit")
		got := bestOf(t, g.problem(), Options{MaxNodes: limit, Beam: rapid.IntRange(0, 4).Draw(t, "beam")})
		truth := g.lowest[0]
		if got.Ways > limit {
			t.Fatalf("%d ways worked out, %d allowed", got.Ways, limit)
		}
		switch {
		case got.Proved:
			proved++
			if got.Score != truth || got.Within != 0 {
				t.Fatalf("said to be proved: %+v, true %v", got, truth)
			}
		case !got.Found:
			if got.Within != 1 {
				t.Fatalf("nothing found, within %v", got.Within)
			}
		case !math.IsInf(got.Score, 1):
			open++
			if got.Within <= 0 || truth < got.Score*(1-got.Within)-1e-12 {
				t.Fatalf("%v within %v, true %v", got.Score, got.Within, truth)
			}
		}
	})
	if proved == 0 || open == 0 {
		t.Errorf("%d proved and %d open: both should have come up", proved, open)
	}
}

// trip is a part-way through a graph with a limit on what it uses up.
type trip struct {
	at         int
	cost, used float64
	path       string
}

// limited is the cheapest way through a graph without circles whose use stays
// under a limit: the classic case for dominance (two labels at one place, of
// which one is no worse in both).
type limited struct {
	n          int
	cost, used map[[2]int]float64
	limit      float64
	rest       []float64 // the cheapest way on from each place, use left aside
	slack      float64
}

func drawLimited(t *rapid.T) *limited {
	l := &limited{n: rapid.IntRange(2, 9).Draw(t, "places"), cost: map[[2]int]float64{}, used: map[[2]int]float64{}}
	for a := range l.n {
		for b := a + 1; b < l.n; b++ {
			if b == a+1 || rapid.Bool().Draw(t, "arc") {
				l.cost[[2]int{a, b}] = float64(rapid.IntRange(0, 6).Draw(t, "cost"))
				l.used[[2]int{a, b}] = float64(rapid.IntRange(0, 6).Draw(t, "use"))
			}
		}
	}
	l.limit = float64(rapid.IntRange(0, 4*l.n).Draw(t, "limit"))
	l.slack = rapid.SampledFrom([]float64{1, 0.6, 0}).Draw(t, "slack")
	l.rest = make([]float64, l.n)
	for a := l.n - 2; a >= 0; a-- {
		l.rest[a] = math.Inf(1)
		for b := a + 1; b < l.n; b++ {
			if c, ok := l.cost[[2]int{a, b}]; ok {
				l.rest[a] = math.Min(l.rest[a], c+l.rest[b])
			}
		}
	}
	return l
}

func (l *limited) problem() Problem[trip] {
	return Problem[trip]{
		Start: []trip{{path: "0"}},
		Next: func(n trip, visit func(trip)) {
			for b := n.at + 1; b < l.n; b++ {
				arc := [2]int{n.at, b}
				if c, ok := l.cost[arc]; ok && n.used+l.used[arc] <= l.limit {
					visit(trip{b, n.cost + c, n.used + l.used[arc], n.path + fmt.Sprint(b)})
				}
			}
		},
		Value: func(n trip) (float64, bool) { return n.cost, n.at == l.n-1 },
		Bound: func(n trip) float64 { return n.cost + l.slack*l.rest[n.at] },
		Key:   func(n trip) string { return fmt.Sprint(n.at) },
		Beats: func(a, b trip) bool { return a.cost <= b.cost && a.used <= b.used },
	}
}

func TestDominanceLosesNothing(t *testing.T) {
	saved := 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawLimited(t).problem()
		all := allOf(t, p)
		got := bestOf(t, p, Options{Beam: rapid.IntRange(0, 3).Draw(t, "beam")})
		if got.Found != all.Found || got.Score != all.Score || !got.Proved {
			t.Fatalf("best %+v, all %+v", got, all)
		}
		p.Bound = nil // dominance alone
		bare := bestOf(t, p, Options{})
		if bare.Score != all.Score || bare.Ways > all.Ways {
			t.Fatalf("without bounds %+v, all %+v", bare, all)
		}
		if bare.Ways < all.Ways {
			saved++
		}
	})
	if saved == 0 {
		t.Error("dominance never cut a way")
	}
}

// Among equals the one met first is kept, and ways that end alike do not change
// that.
func TestFirstOfEqualsStays(t *testing.T) {
	p := Problem[string]{
		Start: []string{""},
		Next: func(n string, visit func(string)) {
			if len(n) < 3 {
				visit(n + "a")
				visit(n + "b")
			}
		},
		Value: func(n string) (float64, bool) { return 1, len(n) == 3 },
		Bound: func(string) float64 { return 0 },
	}
	for _, o := range []Options{{}, {Beam: 2}} {
		if got := bestOf(t, p, o); got.Best != "aaa" || !got.Proved {
			t.Errorf("%+v: %+v", o, got)
		}
	}
}

func TestNothingToFind(t *testing.T) {
	p := Problem[int]{
		Start: []int{1, 2, 3},
		Next:  func(int, func(int)) {},
		Value: func(int) (float64, bool) { return 0, false },
	}
	got := bestOf(t, p, Options{Beam: 1})
	if got.Found || !got.Proved || !math.IsInf(got.Score, 1) {
		t.Errorf("%+v", got)
	}
	p.Value = func(n int) (float64, bool) { return math.Inf(1), n == 2 }
	if got := bestOf(t, p, Options{}); !got.Found || got.Best != 2 {
		t.Errorf("a way without an end to its cost is still a way: %+v", got)
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	steps := 0
	p := Problem[int]{
		Start: []int{0},
		Next: func(n int, visit func(int)) { // without end
			if steps++; steps == 1000 {
				cancel()
			}
			visit(n + 1)
			visit(n + 2)
		},
		Value: func(n int) (float64, bool) { return 100 + 1/float64(n+1), true },
		Bound: func(n int) float64 { return 60 + math.Min(30, float64(n)*1e-3) },
	}
	got, err := Best(ctx, p, Options{})
	if !errors.Is(err, context.Canceled) || !got.Found || got.Proved {
		t.Fatalf("%+v, %v", got, err)
	}
	if got.Within < 0.3 || got.Within > 0.41 {
		t.Errorf("within %v of a bound from 60 to 61 against 100", got.Within)
	}
	steps = 2000
	if r, err := All(ctx, p); !errors.Is(err, context.Canceled) || r.Proved || r.Ways > 1 {
		t.Errorf("%+v, %v", r, err)
	}
	if r, err := Best(ctx, p, Options{Beam: 3}); !errors.Is(err, context.Canceled) || r.Proved {
		t.Errorf("%+v, %v", r, err)
	}
}
