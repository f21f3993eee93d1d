package nc

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fettle/internal/format/intake"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// word is a letter with its number in thousandths.
type word struct {
	letter byte
	value  int
}

// blocks draws a program of straight moves and arcs, as words.
func blocks(t *rapid.T) [][]word {
	out := [][]word{{{'G', 21000}, {'G', 90000}, {'G', 17000}, {'F', 200000}}, {{'G', 0}, {'X', 0}, {'Y', 0}, {'Z', 0}}}
	coordinate := rapid.IntRange(-99_999, 99_999)
	for range rapid.IntRange(1, 12).Draw(t, "blocks") {
		var b []word
		switch rapid.IntRange(0, 9).Draw(t, "kind") {
		case 0:
			b = append(b, word{'G', 1000 * rapid.IntRange(90, 91).Draw(t, "distance")})
		case 1:
			b = append(b, word{'G', 1000 * rapid.IntRange(17, 19).Draw(t, "plane")})
		case 2: // whatever the plane, a full circle about one of its axes
			b = append(b, word{'G', 1000 * rapid.IntRange(2, 3).Draw(t, "sense")}, word{'I', coordinate.Draw(t, "i")}, word{'J', coordinate.Draw(t, "j")}, word{'K', coordinate.Draw(t, "k")})
		case 3:
			b = append(b, word{'F', rapid.IntRange(1, 999_999).Draw(t, "feed")})
		case 4:
			b = append(b, word{'G', 4000}, word{'X', rapid.IntRange(0, 9999).Draw(t, "seconds")})
		default:
			b = append(b, word{'G', 1000 * rapid.IntRange(0, 1).Draw(t, "motion")})
			for _, l := range []byte("XYZ") {
				if rapid.Bool().Draw(t, "given") {
					b = append(b, word{l, coordinate.Draw(t, "coordinate")})
				}
			}
		}
		out = append(out, b)
	}
	return out
}

// plain writes a word as anyone would.
func (w word) plain() string {
	if w.letter == 'G' || w.letter == 'M' {
		return fmt.Sprintf("%c%d", w.letter, w.value/1000)
	}
	s := fmt.Sprintf("%.3f", float64(w.value)/1000)
	return string(w.letter) + s
}

// fancy writes the same word in one of many ways.
func (w word) fancy(t *rapid.T) string {
	way := func(name string) bool { return rapid.Bool().Draw(t, name) }
	s := w.plain()[1:]
	if strings.Contains(s, ".") && way("short") {
		s = strings.TrimRight(s, "0")
	}
	if w.letter == 'G' && way("leading zero") {
		s = "0" + s
	}
	if w.value >= 0 && w.letter != 'G' && way("plus") {
		s = "+" + s
	}
	if strings.HasPrefix(s, "0.") && way("no zero") {
		s = s[1:]
	}
	if s == "." || s == "+." {
		s = "0"
	}
	letter := string(w.letter)
	if way("lower") {
		letter = strings.ToLower(letter)
	}
	gap := strings.Repeat(rapid.SampledFrom([]string{"", "", " ", "\t", "\x00"}).Draw(t, "gap"), rapid.IntRange(1, 2).Draw(t, "times"))
	if w.letter != 'G' && way("expression") {
		s = "[" + gap + s + rapid.SampledFrom([]string{"", "+0", "*1", "-[3-3]", " MOD 1000"}).Draw(t, "sum") + "]"
	}
	return letter + gap + s
}

// sameMoves compares but for lines and the last bits of numbers.
var sameMoves = cmp.Options{
	cmpopts.IgnoreFields(Move{}, "Line"), cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 1e-9), cmpopts.EquateEmpty(),
}

// However a program is written, it makes the same moves.
func TestStyles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var plain, fancy strings.Builder
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r", " \n\n", "\t(c)\n", ";x1.\n", " ( ( Y9. ) )\r\n"}).Draw(t, "line end")
		n := 0
		for _, b := range blocks(t) {
			number := rapid.Bool().Draw(t, "numbered")
			if number {
				n += 5
				fmt.Fprintf(&fancy, "%c%d", rapid.SampledFrom([]byte("nN")).Draw(t, "n"), n)
			}
			g := b[0]
			turned := b
			if len(b) > 1 && rapid.Bool().Draw(t, "turned") { // the order of words does not count
				turned = append(append([]word{}, b[1:]...), g)
			}
			for _, w := range b {
				plain.WriteString(w.plain() + " ")
			}
			for _, w := range turned {
				fancy.WriteString(rapid.SampledFrom([]string{"", " ", "  ", "(c)"}).Draw(t, "between") + w.fancy(t))
			}
			plain.WriteByte('\n')
			fancy.WriteString(end)
		}
		p, q := must(t, plain.String()), must(t, fancy.String())
		if d := cmp.Diff(p.Moves, q.Moves, sameMoves); d != "" {
			t.Fatalf("%s\nand\n%s\ndiffer: %s\nnotes %+v", plain.String(), fancy.String(), d, q.Notes)
		}
		if d := cmp.Diff(p.Arcs, q.Arcs, sameMoves); d != "" {
			t.Fatalf("arcs differ: %s", d)
		}
		if d := cmp.Diff(p.Modes, q.Modes, sameMoves); d != "" {
			t.Fatalf("modes differ: %s", d)
		}
	})
}

// Calling subprograms is the same as having their text in place of the call.
func TestPasting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bodies := make([]string, rapid.IntRange(1, 4).Draw(t, "subprograms"))
		pasted := make([]string, len(bodies))
		var file strings.Builder
		for i := range bodies {
			var called, inline strings.Builder
			for _, b := range blocks(t)[2:] {
				for _, w := range b {
					called.WriteString(w.plain())
					inline.WriteString(w.plain())
				}
				called.WriteByte('\n')
				inline.WriteByte('\n')
				if i > 0 && rapid.Bool().Draw(t, "call") {
					k := rapid.IntRange(0, i-1).Draw(t, "which")
					times := rapid.IntRange(0, 3).Draw(t, "times")
					switch form := rapid.IntRange(0, 2).Draw(t, "form"); {
					case form == 1 && times > 0:
						fmt.Fprintf(&called, "M98P%04d%04d\n", times, 1000+k)
					case form == 2 && times > 0:
						// The loops of one depth count with a parameter of their own.
						fmt.Fprintf(&called, "#%[1]d=0\nWHILE[#%[1]dLT%[2]d]DO%[3]d\nM98P%[4]d\n#%[1]d=#%[1]d+1\nEND%[3]d\n", 100+i, times, i+1, 1000+k)
					default:
						fmt.Fprintf(&called, "M98 P%d L%d\n", 1000+k, times)
					}
					inline.WriteString(strings.Repeat(pasted[k], times))
				}
			}
			bodies[i], pasted[i] = called.String(), inline.String()
			if i < len(bodies)-1 {
				fmt.Fprintf(&file, "O%d (a step)\n%sM99\n", 1000+i, bodies[i])
			}
		}
		last := len(bodies) - 1
		head := "G21 G90 G17 F200.\nG0 X0. Y0. Z0.\n"
		p := must(t, "%\nO1\n"+head+bodies[last]+"M30\n"+file.String()+"%\n")
		q := must(t, head+pasted[last]+"M30\n")
		if d := cmp.Diff(q.Moves, p.Moves, sameMoves); d != "" {
			t.Fatalf("pasted\n%s\ncalled\n%s\n%s\ndiffer: %s", pasted[last], bodies[last], file.String(), d)
		}
	})
}

// A program in inches is the metric one, 25.4 times as large.
func TestInch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var text strings.Builder
		for i, b := range blocks(t) {
			for _, w := range b {
				if i > 0 || w.value != 21000 {
					text.WriteString(w.plain())
				}
			}
			text.WriteByte('\n')
		}
		p, q := must(t, "G21\n"+text.String()), must(t, "G20\n"+text.String())
		if !q.Inch || p.Inch || p.Mixed || q.Mixed || len(p.Moves) != len(q.Moves) {
			t.Fatalf("inch %v %v, mixed %v %v, %d and %d moves", p.Inch, q.Inch, p.Mixed, q.Mixed, len(p.Moves), len(q.Moves))
		}
		for i, a := range p.Moves {
			b := q.Moves[i]
			for k := range 3 {
				a.From[k] *= 25.4
				a.To[k] *= 25.4
			}
			fa, fb := p.Modes[a.Mode].Feed*25.4, q.Modes[b.Mode].Feed
			if dist(a.From, b.From) > 1e-6 || dist(a.To, b.To) > 1e-6 || a.Kind != b.Kind || a.Seconds != b.Seconds || math.Abs(fa-fb) > 1e-9*fa {
				t.Fatalf("move %d: %+v, want %+v; feed %v, want %v", i, b, a, fb, fa)
			}
			if a.Arc >= 0 && (math.Abs(p.Arcs[a.Arc].Turn-q.Arcs[b.Arc].Turn) > 1e-9 || math.Abs(p.Arcs[a.Arc].Radius*25.4-q.Arcs[b.Arc].Radius) > 1e-6) {
				t.Fatalf("arc of move %d: %+v, want %+v", i, q.Arcs[b.Arc], p.Arcs[a.Arc])
			}
		}
	})
}

// FuzzRead feeds anything at all. What is read is whole: indices in range,
// moves that join, known where it says so; what is not is refused as a fault.
func FuzzRead(f *testing.F) {
	for _, s := range []string{
		"%\nO1001 (PLATE)\nG21 G90 G17 G40 G80 G49\nT3 M6\nG54 S3000 M3\nG0 X0 Y0\nG43 H3 Z50. M8\nG1 Z-1 F200\nG2 X10. I5.\nG3 X20. R-8.\nM30\n%",
		"#100=2.5\nWHILE[#100 LT 5]DO1\nG1 X#100 Y[#100*2+SIN[30]/ATAN[1]/[2]]\n#100=#100+1\nEND1\nIF [#100 EQ 5.5] GOTO 200\nN200 M30",
		"G83 G99 X1. Y2. Z-3. R1. Q.5 F100\nX5. L3\nG80\nM98 P20002 L2\nM97 P5\nM30\nO2\nG91 G1 X1.\nN5 G65 P2 A1. I2 J3\nM99 P5",
		"G93 G18 G2 X1. Z2. K4 F3\nG95 G28 G91 Z0\nG53 Z0\nG92 X0\nG10 L2 P1 X0\nG52 X1\nG4 P5\n/2 G1 X1 ,R2 A5",
		"G1 X1 0.5.2 Y1,5 Z[[[[ # #<a>=1 O<x> ( ( ) \r\n;\x00%",
		"O1\nM98P1", "G91G81X1Z-1R1L99999", "\xef\xbb\xbf:7\nIF[1]THEN#3006=1\nGOTO1",
	} {
		f.Add([]byte(s), false)
		f.Add([]byte(s), true)
	}
	f.Fuzz(func(t *testing.T, data []byte, skip bool) {
		from := time.Now()
		p, err := ReadWith(t.Context(), data, Options{Skip: skip, MaxMoves: 20_000, MaxBlocks: 20_000})
		if d := time.Since(from); d > 5*time.Second {
			t.Fatalf("it took %v", d)
		}
		if err != nil {
			var fault *intake.Fault
			if !errors.As(err, &fault) || p != nil {
				t.Fatalf("refused with %v", err)
			}
			return
		}
		for i := range p.Moves {
			m := &p.Moves[i]
			if int(m.Mode) >= len(p.Modes) || m.Mode < 0 || int(m.Arc) >= len(p.Arcs) || (m.Arc >= 0) != (m.Kind == Bend) || m.Line < 1 || int(m.Line) > p.Lines {
				t.Fatalf("move %d is out of range: %+v", i, m)
			}
			if m.Known != (known(m.From) && known(m.To)) || !(m.Seconds >= 0) {
				t.Fatalf("move %d: %+v", i, m)
			}
			if i >= 50 {
				continue // a large arc has many chords
			}
			was, n := m.From, 0
			p.Flatten(m, 1, func(a, b [3]float64) {
				if a != was || !known(b) {
					t.Fatalf("chords of move %d do not join: %+v", i, m)
				}
				was = b
				n++
			})
			if n > 0 && was != m.To {
				t.Fatalf("chords of move %d do not reach its end: %+v", i, m)
			}
		}
		for _, n := range p.Notes {
			if n.Line < 1 || n.Line > p.Lines || n.Says == "" || n.Count < 1 {
				t.Fatalf("%+v", n)
			}
		}
		for _, e := range p.Order {
			if e.Before > len(p.Moves) || e.Line < 1 || e.Line > p.Lines {
				t.Fatalf("%+v", e)
			}
		}
		for _, m := range p.Modes {
			if !(m.Feed >= 0) || !(m.Speed >= 0) {
				t.Fatalf("%+v", m)
			}
		}
	})
}
