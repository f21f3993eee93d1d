package search

import (
	"context"
	"math"
	"strings"
	"testing"
)

// pack is a part-way through a row of things to take or leave.
type pack struct {
	i              int
	weight, profit float64
	took           string
}

// knapsack is the 0-1 knapsack problem as one of lowest scores: profits count
// against the score, bounded by the relaxation of Dantzig (Operations Research 5
// (1957) 266).
func knapsack(profit, weight []float64, capacity float64) Problem[pack] {
	return Problem[pack]{
		Start: []pack{{}},
		Next: func(n pack, visit func(pack)) {
			if n.i == len(profit) {
				return
			}
			if n.weight+weight[n.i] <= capacity {
				visit(pack{n.i + 1, n.weight + weight[n.i], n.profit + profit[n.i], n.took + "1"})
			}
			visit(pack{n.i + 1, n.weight, n.profit, n.took + "0"})
		},
		Value: func(n pack) (float64, bool) { return -n.profit, n.i == len(profit) },
		Bound: func(n pack) float64 {
			left, sum := capacity-n.weight, n.profit
			for i := n.i; i < len(profit); i++ {
				if weight[i] > left {
					return -math.Floor(sum + left*profit[i]/weight[i])
				}
				left, sum = left-weight[i], sum+profit[i]
			}
			return -sum
		},
		Key:   func(n pack) string { return strings.Repeat("-", n.i) },
		Beats: func(a, b pack) bool { return a.i == b.i && a.weight <= b.weight && a.profit >= b.profit },
	}
}

// S. Martello and P. Toth, Knapsack Problems (1990), chapter 2: the two worked
// examples of seven and eight things, with their bounds of 107 and 295.
func TestKnapsacksOfTheTextbook(t *testing.T) {
	for _, c := range []struct {
		profit, weight []float64
		capacity       float64
		bound, best    float64
		took           string
	}{
		{[]float64{70, 20, 39, 37, 7, 5, 10}, []float64{31, 10, 20, 19, 4, 3, 6}, 50, 107, 107, "1001000"},
		{[]float64{15, 100, 90, 60, 40, 15, 10, 1}, []float64{2, 20, 20, 30, 40, 30, 60, 10}, 102, 295, 280, "11110100"},
	} {
		p := knapsack(c.profit, c.weight, c.capacity)
		if b := -p.Bound(p.Start[0]); b != c.bound {
			t.Errorf("bound %v at the start, want %v", b, c.bound)
		}
		got := bestOf(t, p, Options{})
		if got.Score != -c.best || got.Best.took != c.took || !got.Proved {
			t.Errorf("%+v, want %v by %s", got, c.best, c.took)
		}
		all := allOf(t, p)
		if all.Score != got.Score || all.Ways <= got.Ways {
			t.Errorf("all %+v, best %+v", all, got)
		}
	}
}

// The graph with which Dijkstra's algorithm is shown in T. H. Cormen, C. E.
// Leiserson, R. L. Rivest and C. Stein, Introduction to Algorithms: from s, t is
// 8 away, x 9, y 5 and z 7. It has circles, which only the labels cut.
func TestShortestWaysOfTheTextbook(t *testing.T) {
	type arc struct {
		to  string
		len float64
	}
	arcs := map[string][]arc{
		"s": {{"t", 10}, {"y", 5}},
		"t": {{"x", 1}, {"y", 2}},
		"x": {{"z", 4}},
		"y": {{"t", 3}, {"x", 9}, {"z", 2}},
		"z": {{"x", 6}, {"s", 7}},
	}
	type walk struct {
		at  string
		len float64
		by  string
	}
	for to, want := range map[string]walk{"t": {"t", 8, "syt"}, "x": {"x", 9, "sytx"}, "y": {"y", 5, "sy"}, "z": {"z", 7, "syz"}} {
		p := Problem[walk]{
			Start: []walk{{at: "s", by: "s"}},
			Next: func(n walk, visit func(walk)) {
				for _, a := range arcs[n.at] {
					visit(walk{a.to, n.len + a.len, n.by + a.to})
				}
			},
			Value: func(n walk) (float64, bool) { return n.len, n.at == to },
			Bound: func(n walk) float64 { return n.len },
			Key:   func(n walk) string { return n.at },
			Beats: func(a, b walk) bool { return a.len <= b.len },
		}
		for _, o := range []Options{{}, {Beam: 2}} {
			got := bestOf(t, p, o)
			if got.Best != want || got.Score != want.len || !got.Proved {
				t.Errorf("to %s: %+v, want %+v", to, got, want)
			}
		}
	}
}

// A million nodes: what the search itself takes for each, with a bound that
// never cuts.
func BenchmarkMillion(b *testing.B) {
	type leaf struct{ depth, id int32 }
	p := Problem[leaf]{
		Start: []leaf{{}},
		Next: func(n leaf, visit func(leaf)) {
			if n.depth < 6 {
				for i := range int32(10) {
					visit(leaf{n.depth + 1, n.id*10 + i})
				}
			}
		},
		Value: func(n leaf) (float64, bool) { return 2 + float64(n.id%97), n.depth == 6 },
		Bound: func(n leaf) float64 { return float64((n.id*7919)%1000) * 1e-3 },
	}
	ways := 0
	for b.Loop() {
		r, err := Best(context.Background(), p, Options{})
		if err != nil || !r.Proved || r.Score != 2 {
			b.Fatal(r, err)
		}
		ways = r.Ways
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(ways), "ns/way")
}
