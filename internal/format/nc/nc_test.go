package nc

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// tester is a test or a property.
type tester interface {
	Helper()
	Fatalf(string, ...any)
}

// must reads a program that has to be readable.
func must(t tester, text string) *Program {
	t.Helper()
	p, err := Read([]byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return p
}

// short writes moves as G0, G1, G2, G3 or G4 with the place they lead to, ?
// for a coordinate that is not known, and M before one in machine coordinates.
func short(p *Program) []string {
	out := []string{}
	for _, m := range p.Moves {
		var s string
		switch {
		case m.Kind == Dwell:
			out = append(out, fmt.Sprintf("G4 %gs", m.Seconds))
			continue
		case m.Home:
			s = "home"
		case m.Kind == Bend && p.Arcs[m.Arc].Turn < 0:
			s = "G2"
		case m.Kind == Bend:
			s = "G3"
		default:
			s = fmt.Sprintf("G%d", m.Kind)
		}
		if p.Modes[m.Mode].Offset == "G53" {
			s = "M " + s
		}
		for _, v := range m.To {
			if math.IsNaN(v) {
				s += " ?"
			} else {
				s += " " + strconv.FormatFloat(math.Round(v*1e6)/1e6+0, 'f', -1, 64)
			}
		}
		out = append(out, s)
	}
	return out
}

// heard reports whether a note of a weight says something about a word.
func heard(p *Program, w Weight, text, says string) bool {
	for _, n := range p.Notes {
		if n.Weight == w && strings.Contains(n.Text, text) && strings.Contains(n.Says, says) {
			return true
		}
	}
	return false
}

const start = "G21 G90 G17 G94 G40 G80\nG0 X0. Y0. Z0. F100.\n"

// The moves of each program were worked out by hand, from the meaning of its
// words in ISO 6983-1.
func TestMoves(t *testing.T) {
	for _, c := range []struct {
		name, text, want string // moves after those of start, parted by commas
	}{
		{"sticky words", "G1 X1.\nY2.\nZ-3.\nG0\nX4.", "G1 1 0 0,G1 1 2 0,G1 1 2 -3,G0 4 2 -3"},
		{"increments", "G91 G1 X1. Y2.\nX1.\nG90 X1.", "G1 1 2 0,G1 2 2 0,G1 1 2 0"},
		{"inch", "G20 G1 X1. Y-.5\nG21 X1.", "G1 25.4 -12.7 0,G1 1 -12.7 0"},
		{"inch as the standard has it", "G70 G1 X1.\nG71 X1.", "G1 25.4 0 0,G1 1 0 0"},
		{"last of a group counts", "G0 G1 X1.", "G1 1 0 0"},
		{"order of words", "X1. G1\nF200. Y2. N7 G90 Z3.", "G1 1 0 0,G1 1 2 3"},
		{"numbers", "G1 X+1.5 Y-.25 Z5.\nX00012.500 Y0 Z-0.", "G1 1.5 -0.25 5,G1 12.5 0 0"},
		{"lower case without spaces", "n10g1x1.y2.z3.f50.", "G1 1 2 3"},
		{"blanks inside words", "G 1 X 1 . 5 Y - 2 . Z+ 3.", "G1 1.5 -2 3"},
		{"comments", "(one) G1 (two (three)) X1. ; Y9.\n; X5.\nY2. (open X9.", "G1 1 0 0,G1 1 2 0"},
		{"carriage returns", "G1 X1.\rY2.\r\nZ3.\n\rX4.", "G1 1 0 0,G1 1 2 0,G1 1 2 3,G1 4 2 3"},
		{"zero bytes", "G1\x00 X\x001.\x00\x00\n\x00Y2.", "G1 1 0 0,G1 1 2 0"},
		{"block skip off", "/G1 X1.\n/2 Y2.\nG1 Z1. / X3.", "G1 1 0 0,G1 1 2 0,G1 3 2 1"},
		{"text after the end", "G1 X1.\nM30\nX5. Y5.\n", "G1 1 0 0"},
		{"tape mark ends", "G1 X1.\n%\nX5. Y5.\n", "G1 1 0 0"},
		{"next program ends", "G1 X1.\nO2000\nX5. Y5.\n", "G1 1 0 0"},
		{"dwells", "G4 P500\nG4 P1.5\nG4 X2.\nG4 U.25", "G4 0.5s,G4 1.5s,G4 2s,G4 0.25s"},
		{"local shift", "G52 X10. Y5.\nG1 X1.\nY0.\nG52 X0. Y0.\nX1.\nY0.", "G1 11 0 0,G1 11 5 0,G1 1 5 0,G1 1 0 0"},
		{"local shift and increments", "G52 X10.\nG91 G1 X1.", "G1 1 0 0"},
		{"offset", "G54\nG0 X1.\nY1.\nZ1.\nG54 X2.\nG55 X3.", "G0 1 ? ?,G0 1 1 ?,G0 1 1 1,G0 2 1 1,G0 3 ? ?"},
		{"machine coordinates", "G53 G0 Z-5.\nX1.\nZ2.", "M G0 ? ? -5,G0 1 0 ?,G0 1 0 2"},
		{"home by increments", "G91 G28 Z0.\nG90 X1.", "M home ? ? ?,G0 1 0 ?"},
		{"home by way of", "G28 X5. Y6.\nZ1.", "G0 5 6 0,M home ? ? ?,G0 ? ? 1"},
		{"second home", "G91 G30 P2 X0. Y0.", "M home ? ? ?"},
		{"tool length", "G43 H1\nG0 X1.\nZ5.\nG49 X2.", "G0 1 0 ?,G0 1 0 5,G0 2 0 ?"},
		{"tool change", "T1 M6\nX1.", "G0 1 0 ?"},
		{"preset where known", "G1 X5. Y5.\nG92 X0. Y0.\nX1. Y1.\nG92.1\nX1.", "G1 5 5 0,G1 6 6 0,G1 1 6 0"},
		{"parameters", "#101=2.5\nG1 X#101 Y-#101\nX[#101*2+1] Y[[1+2]*3]", "G1 2.5 -2.5 0,G1 6 9 0"},
		{"empty parameter", "G1 X#1 Y2.\n#2=#0\nX5. Y#2", "G1 0 2 0,G1 5 2 0"},
		{"pointed to", "#5=101\n#101=7.\nG1 X##5 Y#[#5+0]", "G1 7 7 0"},
		{"loop", "#1=1\nWHILE[#1LE3]DO1\nG1X[#1*10.]\n#1=#1+1\nEND1\nY1.", "G1 10 0 0,G1 20 0 0,G1 30 0 0,G1 30 1 0"},
		{"loop not entered", "WHILE [1 GT 2] DO 2\nG1 X9.\nEND 2\nG1 Y1.", "G1 0 1 0"},
		{"loops in loops", "#1=0\n#3=0\nWHILE[#1LT2]DO1\n#2=0\nWHILE[#2LT2]DO2\n#3=#3+1\nG1X#3\n#2=#2+1\nEND2\n#1=#1+1\nEND1", "G1 1 0 0,G1 2 0 0,G1 3 0 0,G1 4 0 0"},
		{"jumps", "#1=0\nN10 #1=#1+1\nG1 X#1\nIF[#1 LT 3] GOTO 10\nGOTO20\nX99.\nN20 Y1.", "G1 1 0 0,G1 2 0 0,G1 3 0 0,G1 3 1 0"},
		{"then", "IF [1 EQ 1] THEN #1=5.\nIF [#1 EQ 4] THEN #1=6.\nG1 X#1", "G1 5 0 0"},
		{"steps of a tenth", "#1=0\nWHILE[#1LT1.]DO1\n#1=#1+.1\nEND1\nG1 X#1", "G1 1 0 0"},
		{"subprogram", "M98 P2000 L2\nG1 X0.\nM30\nO2000 (STEP)\nG91 G1 X1.\nG90\nM99", "G1 1 0 0,G1 2 0 0,G1 0 0 0"},
		{"older call", "M98 P00032000\nM30\nO2000\nG91 G1 X1.\nM99", "G1 1 0 0,G1 2 0 0,G1 3 0 0"},
		{"call in a call", "M98 P1\nM30\nO1\nM98 P2\nG1 X5.\nM99\nO2\nG1 X1.\nM99", "G1 1 0 0,G1 5 0 0"},
		{"call with a move", "G1 X3. M98 P1\nM30\nO1\nX1.\nM99", "G1 3 0 0,G1 1 0 0"},
		{"call of a block", "M97 P100\nG1 X5.\nM30\nN100 G1 X1.\nM99", "G1 1 0 0,G1 5 0 0"},
		{"return to a block", "M98 P1\nG1 X9.\nN50 G1 X2.\nM30\nO1\nG1 X1.\nM99 P50", "G1 1 0 0,G1 2 0 0"},
		{"macro in the file", "#1=3.\nG65 P9 A1. X7.\nG1 Y#1\nM30\nO9\nG1 X[#1+#24]\n#1=99.\nM99", "G1 8 0 0,G1 8 3 0"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := must(t, start+c.text)
			if d := cmp.Diff(strings.Split(c.want, ","), short(p)[1:]); d != "" {
				t.Errorf("moves (-want +got):\n%s\nnotes: %+v", d, p.Notes)
			}
		})
	}
}

// The examples of the report NIST IR 6556 (T. R. Kramer, F. M. Proctor, E.
// Messina, The NIST RS274NGC Interpreter, version 3, 2000), with the moves that
// it says they make. It counts in whatever unit is in force; here in mm.
func TestPublished(t *testing.T) {
	at123 := "G21 G17 G90 G94 F100.\nG0 X1. Y2. Z3.\n"
	for _, c := range []struct{ name, text, want string }{
		{"3.5.16.3, first", at123 + "G90 G81 G98 X4 Y5 Z1.5 R2.8", "G0 4 5 3,G0 4 5 2.8,G1 4 5 1.5,G0 4 5 3"},
		{"3.5.16.3, second", at123 + "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3",
			"G0 1 2 4.8,G0 5 7 4.8,G1 5 7 4.2,G0 5 7 4.8,G0 9 12 4.8,G1 9 12 4.2,G0 9 12 4.8,G0 13 17 4.8,G1 13 17 4.2,G0 13 17 4.8"},
	} {
		if d := cmp.Diff(strings.Split(c.want, ","), short(must(t, c.text))[1:]); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
	// 3.5.3.2: from X7 Y7 the centre is at X10 Y11 and the radius 5.
	p := must(t, "G21 G90\nG0 X7 Y7 Z9 F100\nG17 G2 x 10 y 16 i 3 j 4 z 9\nM30")
	a := p.Arcs[0]
	if a.Centre != [3]float64{10, 11, 9} || a.Radius != 5 || a.MissMM != 0 || a.Turn >= 0 {
		t.Errorf("%+v", a)
	}
	// 3.3.2.3: a value of 0.5 by the order in which operators bind.
	if got := short(must(t, start+"G1 X[2.0 / 3 * 1.5 - 5.5 / 11.0]"))[1]; got != "G1 0.5 0 0" {
		t.Errorf("%s", got)
	}
	if got := short(must(t, start+"#3=3\nG1 X[1 + acos[0] - [#3 ** [4.0/2]]]"))[1]; got != "G1 82 0 0" {
		t.Errorf("%s", got)
	}
}

// Each cycle, written out by hand.
func TestCycles(t *testing.T) {
	in := "G21 G90 G17 G94 F100.\nG0 X0. Y0. Z10.\n"
	for _, c := range []struct{ name, text, want string }{
		{"spot", "G99 G82 X1. Y2. Z-1. R2. P500", "G0 1 2 10,G0 1 2 2,G1 1 2 -1,G4 0.5s,G0 1 2 2"},
		{"here", "G81 Z-1. R2.", "G0 0 0 2,G1 0 0 -1,G0 0 0 10"},
		{"row", "G99 G81 X1. Z-1. R2.\nX2.\nG98 X3.\nG80 X4.",
			"G0 1 0 10,G0 1 0 2,G1 1 0 -1,G0 1 0 2,G0 2 0 2,G1 2 0 -1,G0 2 0 2,G0 3 0 2,G1 3 0 -1,G0 3 0 10,G0 4 0 10"},
		{"not yet", "G99 G81 X1. Z-1. R2. L0\nX2.", "G0 2 0 10,G0 2 0 2,G1 2 0 -1,G0 2 0 2"},
		{"pecks", "G99 G83 Z-3. R1. Q2.", "G0 0 0 1,G1 0 0 -1,G0 0 0 1,G0 0 0 -0.75,G1 0 0 -3,G0 0 0 1"},
		{"short last peck", "G99 G83 Z-1.5 R1. Q2.", "G0 0 0 1,G1 0 0 -1,G0 0 0 1,G0 0 0 -0.75,G1 0 0 -1.5,G0 0 0 1"},
		{"chips", "G98 G73 Z-3. R1. Q2.", "G0 0 0 1,G1 0 0 -1,G0 0 0 -0.75,G1 0 0 -3,G0 0 0 10"},
		{"tap", "G98 G84 Z-3. R1.", "G0 0 0 1,G1 0 0 -3,G1 0 0 1,G0 0 0 10"},
		{"bore", "G99 G85 Z-3. R1.", "G0 0 0 1,G1 0 0 -3,G1 0 0 1"},
		{"bore and stop", "G99 G86 Z-3. R1.", "G0 0 0 1,G1 0 0 -3,G0 0 0 1"},
		{"bore and wait", "G99 G89 Z-3. R1. P100", "G0 0 0 1,G1 0 0 -3,G4 0.1s,G1 0 0 1"},
		{"fine bore", "G98 G76 Z-3. R1. Q.2", "G0 0 0 1,G1 0 0 -3,G0 0 0 10"},
		{"steps", "G91 G99 G81 X5. Z-3. R-8. K2", "G0 5 0 10,G0 5 0 2,G1 5 0 -1,G0 5 0 2,G0 10 0 2,G1 10 0 -1,G0 10 0 2"},
		{"shifted", "G52 X1. Z1.\nG99 G81 X0. Z-1. R1.", "G0 1 0 10,G0 1 0 2,G1 1 0 0,G0 1 0 2"},
		{"along Y", "G18 G0 Y9.\nG99 G81 X1. Z2. Y-1. R3.", "G0 0 9 10,G0 1 9 2,G0 1 3 2,G1 1 -1 2,G0 1 3 2"},
		{"along X", "G19 G0 X9.\nG98 G81 Y1. Z2. X-1. R3.", "G0 9 0 10,G0 9 1 2,G0 3 1 2,G1 -1 1 2,G0 9 1 2"},
		{"ended by a move", "G99 G81 Z-1. R2.\nG1 X1.", "G0 0 0 2,G1 0 0 -1,G0 0 0 2,G1 1 0 2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := must(t, in+c.text)
			if d := cmp.Diff(strings.Split(c.want, ","), short(p)[1:]); d != "" {
				t.Errorf("moves (-want +got):\n%s\nnotes: %+v", d, p.Notes)
			}
			for _, n := range p.Notes {
				if n.Weight == Broken {
					t.Errorf("%+v", n)
				}
			}
		})
	}
	p := must(t, in+"M3 S500\nG98 G84 Z-3. R1.")
	turning := []int8{}
	for _, m := range p.Moves[1:] {
		turning = append(turning, p.Modes[m.Mode].Turning)
	}
	if d := cmp.Diff([]int8{1, 1, -1, 1}, turning); d != "" {
		t.Errorf("a tap comes out turning the other way: %s", d)
	}
}
