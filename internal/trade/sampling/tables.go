package sampling

import (
	"slices"
	"strings"
)

// letters are the code letters; I and O are not among them. The last stands in table
// 2-B alone and no lot leads to it but by an arrow.
const letters = "ABCDEFGHJKLMNPQRS"

// sizes are the sample sizes of the letters.
var sizes = []int{2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150}

// AQLs are the acceptance quality limits kept here, in % nonconforming. The
// standard goes on above 10 with nonconformities per hundred pieces.
var AQLs = []float64{0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10}

// Levels are the inspection levels, the smallest samples first.
var Levels = []string{"S1", "S2", "S3", "S4", "I", "II", "III"}

// bands is table 1: the largest lot of each band and its letters, by level.
var bands = []struct {
	lot     int
	letters string
}{
	{8, "AAAAAAB"},
	{15, "AAAAABC"},
	{25, "AABBBCD"},
	{50, "ABBCCDE"},
	{90, "BBCCCEF"},
	{150, "BBCDDFG"},
	{280, "BCDEEGH"},
	{500, "BCDEFHJ"},
	{1200, "CCEFGJK"},
	{3200, "CDEGHKL"},
	{10_000, "CDFGJLM"},
	{35_000, "CDFHKMN"},
	{150_000, "DEGJLNP"},
	{500_000, "DEGJMPQ"},
	{1 << 62, "DEHKNQR"},
}

// The master tables run along diagonals: one letter on is one AQL back. A diagonal's
// number is the letter's place plus the AQL's; on each stands one acceptance number
// or an arrow. Before the first it is an arrow down, after the last an arrow up.
const (
	up   = -1
	down = -2
)

// table is a master table: its last letter and its diagonals from one on.
type table struct {
	rows  int
	first int
	diag  []int
}

var tables = map[string]table{
	Normal:    {rows: 16, first: 14, diag: []int{0, up, down, 1, 2, 3, 5, 7, 10, 14, 21}},
	Tightened: {rows: 17, first: 15, diag: []int{0, down, down, 1, 2, 3, 5, 8, 12, 18}},
}

// cell is what stands at a letter and an AQL: an acceptance number or an arrow. At
// the table's ends an arrow that would leave it turns round.
func (t table) cell(letter, aql int) int {
	k := letter + aql - t.first
	c := up
	switch {
	case k < 0:
		c = down
	case k < len(t.diag):
		c = t.diag[k]
	}
	switch {
	case c == down && !t.below(letter, aql):
		return up
	case c == up && letter == 0:
		return down
	}
	return c
}

// below reports whether an acceptance number stands further down the column.
func (t table) below(letter, aql int) bool {
	for l := letter + 1; l < t.rows; l++ {
		if k := l + aql - t.first; k >= 0 && k < len(t.diag) && t.diag[k] >= 0 {
			return true
		}
	}
	return false
}

// follow goes along the arrows of a column to the plan that they point to. The sample
// size goes with the letter.
func (t table) follow(letter, aql int) (at, accept int) {
	for {
		switch c := t.cell(letter, aql); c {
		case up:
			letter--
		case down:
			letter++
		default:
			return letter, c
		}
	}
}

// codeLetter is the place of the letter that table 1 gives a lot.
func codeLetter(lot int, level string) int {
	for _, b := range bands {
		if lot <= b.lot {
			return strings.IndexByte(letters, b.letters[slices.Index(Levels, level)])
		}
	}
	panic("sampling: a lot beyond the last band")
}
