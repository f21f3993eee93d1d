package nc

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fettle/internal/format/intake"

	"github.com/google/go-cmp/cmp"
)

// Nothing is passed over in silence: each text earns its note.
func TestNotes(t *testing.T) {
	for _, c := range []struct {
		name, text string
		weight     Weight
		word, says string
	}{
		{"radius of the tool, left", "G41 D1 X1.", Broken, "G41", "stored in the control"},
		{"radius of the tool, right", "G42 D1 X1.", Broken, "G42", "stored in the control"},
		{"polar", "G16 X5. Y30.", Broken, "G16", "radius and angle"},
		{"scaling", "G51 X0. Y0. P2.", Broken, "G51", "scales"},
		{"mirror", "G51.1 X0.", Broken, "G51.1", "mirrors"},
		{"rotation", "G68 X0. Y0. R30.", Broken, "G68", "turns the coordinates"},
		{"tilted plane", "G68.2 X0. Y0. Z0. I10.", Broken, "G68.2", "tilts"},
		{"modal macro", "G66 P9100", Broken, "G66", "after every move"},
		{"probe", "G31 Z-10.", Broken, "G31", "signal"},
		{"back boring", "G87 X1. Z-5. R-10. Q1.", Broken, "G87", "from the back"},
		{"unknown G with axes", "G112 X1.", Broken, "G112", "its move is missing"},
		{"unknown G", "G117", Unknown, "G117", "not understood"},
		{"smoothing", "G5.1 Q1", Unknown, "G5.1", "smoothed"},
		{"unknown M", "M77", Unknown, "M77", "a function of this machine"},
		{"rotary axis", "G1 X1. A90.", Broken, "A90.", "turns the part"},
		{"second axis", "G1 W1.", Broken, "W1.", "second axis"},
		{"unused letter", "G1 X1. E5.", Unknown, "E5.", "no meaning"},
		{"unused centre", "G1 X1. I5.", Unknown, "I5.", "no meaning"},
		{"letter twice", "G1 X1. X2.", Unknown, "X1. X2.", "twice"},
		{"two of a group", "G90 G91 G1 X1.", Unknown, "G90 G91", "one group"},
		{"no point", "G1 X10", Plain, "X10", "whole mm"},
		{"digits apart", "G1 X1 0.", Plain, "X1 0.", "one number"},
		{"comma", "G1 X1,5", Broken, "X1,5", "comma"},
		{"two points", "G1 X1.5.2", Broken, "X1.5.2", "number"},
		{"no number", "G1 X Y1.", Broken, "X", "not followed by a number"},
		{"corner", "G1 X1.,R2.", Broken, ",R2.", "corner"},
		{"odd sign", "G1 X1. @ Y2.", Unknown, "@", "does not belong"},
		{"text", "SETVAR foo", Unknown, "SETVAR foo", "not made of words"},
		{"bad expression", "G1 X[1+]", Broken, "[1+]", "cannot be worked out"},
		{"bad assignment", "#100 5", Broken, "#100 5", "cannot be worked out"},
		{"over zero", "#1=1/0\nG1 X1.\nIF [#1 GT 1] GOTO 5\nN5", Broken, "IF", "not known"},
		{"control's own value", "G1 X#5021", Broken, "#5021", "the control itself"},
		{"stored value", "G1 X#501", Broken, "#501", "power off"},
		{"left-over value", "G1 X#101", Broken, "#101", "before the program sets it"},
		{"sets the control", "#5221=10.", Unknown, "#5221=10.", "may move an offset"},
		{"set and read", "#1=2 X#1 G1", Unknown, "#1=2", "set and read in one block"},
		{"alarm", "#3000=1 (NO)", Broken, "#3000", "alarm"},
		{"label missing", "GOTO 77", Broken, "GOTO 77", "N77"},
		{"loop open", "WHILE [0 EQ 1] DO 1\nX1.", Broken, "WHILE", "no END1"},
		{"loop closed twice", "END1", Broken, "END1", "closes no loop"},
		{"macro elsewhere", "G65 P9010 A1.", Broken, "G65 P9010", "O9010"},
		{"subprogram elsewhere", "M98 P9010", Broken, "M98 P9010", "O9010"},
		{"stored elsewhere", "M198 P1", Broken, "M198", "stored elsewhere"},
		{"subprogram by name", "O<pocket> call", Broken, "O<pocket>", "not followed"},
		{"skip", "/G1 X1.", Plain, "/G1", "it is run"},
		{"comment open", "G1 X1. (open", Plain, "(open", "not closed"},
		{"comment in comment", "(a (b))", Plain, "(a (b))", "inside a comment"},
		{"mixed units", "G1 X1.\nG20 X1.", Plain, "G20", "unit changes"},
		{"preset", "G92 X0.", Broken, "G92", "outlives"},
		{"offset written", "G10 L2 P1 X5.", Unknown, "G10 L2", "G54"},
		{"further offset written", "G10 L20 P3 X5.", Unknown, "G10 L20", "G54.1 P3"},
		{"length written", "G10 L10 P1 R50.", Unknown, "G10 L10", "measured"},
		{"taken away", "G44 H1 Z1.", Unknown, "G44", "taken away"},
		{"length without register", "T4 M6\nG43 Z5.", Unknown, "G43", "own number"},
		{"offset without number", "G54.1 X0.", Broken, "G54.1", "without its number"},
		{"change without tool", "M6", Broken, "M6", "no T"},
		{"tool without change", "T5\nX1.", Plain, "T5", "no M6"},
		{"no depth", "G81 X1. R1.", Broken, "G81", "no depth"},
		{"no peck", "G83 X1. Z-5. R1.", Unknown, "G83", "no Q"},
		{"shrinking pecks", "G83 X1. Z-5. R1. I2. J.5 K1.", Unknown, "G83", "one size"},
		{"inverse time without F", "G93\nG1 X1.", Broken, "G1", "its own F"},
		{"per turn, standing", "G95 F.1\nG1 X1.", Broken, "G1", "does not turn"},
		{"no end", "G1 X1.", Plain, "G1 X1.", "without M2 or M30"},
		{"starts over", "G1 X1.\nM99", Plain, "M99", "read once"},
		{"text behind", "M30\nby the second shift", Plain, "by the second", "not run"},
		{"never called", "M30\nO9 X1.\nM99", Plain, "O9", "never calls"},
		{"subprogram first", "M99\nO9 G1 X1.\nM30", Broken, "O9", "main program first"},
		{"home through the part", "G28 Z0.", Plain, "G28", "under G90"},
		{"machine and increments", "G91 G53 Z0.", Broken, "G53", "does not go with"},
		{"far out", "G1 X99999999.", Broken, "X99999999.", "further"},
		{"not a function", "G1.55 X1.", Broken, "G1.55", "number of a function"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := must(t, start+c.text+"\n")
			if !heard(p, c.weight, c.word, c.says) {
				t.Errorf("no note of weight %d on %q says %q:\n%+v", c.weight, c.word, c.says, p.Notes)
			}
			for i, n := range p.Notes {
				if n.Text == "" || n.Says == "" || n.Line < 1 || n.Line > p.Lines || n.Count < 1 {
					t.Errorf("empty or misplaced: %+v", n)
				}
				if i > 0 && p.Notes[i-1].Weight > n.Weight {
					t.Errorf("not worst first: %+v", p.Notes)
				}
			}
		})
	}
	// A plain program earns none.
	if p := must(t, start+"G54\nT1 M6\nS1000 M3\nG43 H1 G0 X0. Y0. Z5. M8\nG1 Z0. F100.\nG2 X5. Y0. I2.5\nM9\nM5\nG91 G28 Z0.\nM30\n%\n"); len(p.Notes) > 0 {
		t.Errorf("%+v", p.Notes)
	}
}

// One note stands for all of its kind, with their number.
func TestCount(t *testing.T) {
	p := must(t, start+strings.Repeat("G1 X1. A5.\n", 1000)+"M30")
	if len(p.Notes) != 1 || p.Notes[0].Count != 1000 || p.Notes[0].Line != 3 {
		t.Errorf("%+v", p.Notes)
	}
	var b strings.Builder
	for i := range 3000 {
		fmt.Fprintf(&b, "M%d\n", 200+i)
	}
	if p = must(t, start+b.String()); len(p.Notes) > maxNotes+2 || !heard(p, Unknown, "M", "more kinds") {
		t.Errorf("%d notes", len(p.Notes))
	}
}

// What is in force at each move, and what happens between them.
func TestModes(t *testing.T) {
	p := must(t, "%\nO0123 (FIRST)\n(second)\nG20 G90\nT2\nM6 T3\nS1000 M3\nG54.1 P7 G0 X0. Y0.\nG43 H2 Z1.\nM8\nG1 Z0. F10.\nG95 F.01\nX1.\nG94 F20. G9 X2.\nX3. M5\nM0\nM6\nM4 S500\nG59 G1 X0. Y0. Z1. F5.\nM1\nM30\n%\n")
	if p.Number != "O0123" || p.Title != "FIRST" || !p.Inch || p.Mixed || p.Lines != 22 {
		t.Errorf("%q %q inch %v mixed %v, %d lines", p.Number, p.Title, p.Inch, p.Mixed, p.Lines)
	}
	m := Mode{Tool: 3, Offset: "G54.1 P7", Inch: true, Speed: 1000, Turning: 1}
	want := []Mode{m}
	m.Length = 2
	want = append(want, m)
	m.Coolant, m.Feed = true, 254
	want = append(want, m)
	m.PerTurn, m.Feed = true, 0.01*25.4*1000
	want = append(want, m)
	m.PerTurn, m.Feed, m.Exact = false, 508, true
	want = append(want, m)
	m.Exact = false
	want = append(want, m)
	want = append(want, Mode{Tool: 3, Length: 2, Offset: "G59", Inch: true, Feed: 127, Speed: 500, Turning: -1, Coolant: true})
	got := []Mode{}
	for _, mv := range p.Moves {
		got = append(got, p.Modes[mv.Mode])
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("modes (-want +got):\n%s", d)
	}
	events := []Event{{6, 0, ToolChange, 3}, {7, 0, SpindleOn, 1000}, {15, 6, SpindleOff, 0}, {16, 6, Stop, 0}, {17, 6, ToolChange, 3},
		{18, 6, SpindleOn, 500}, {20, 7, OptionalStop, 0}, {21, 7, End, 0}}
	if d := cmp.Diff(events, p.Order); d != "" {
		t.Errorf("events (-want +got):\n%s", d)
	}
	// Half a minute for 30 mm is 60 mm a minute.
	p = must(t, "G21 G90 G93\nG0 X0. Y0. Z0.\nG1 X30. F2.\nM30")
	if f := p.Modes[p.Moves[1].Mode].Feed; math.Abs(f-60) > 1e-12 {
		t.Errorf("inverse time: %v mm/min, want 60", f)
	}
}

// What stands around a program is no part of it.
func TestTape(t *testing.T) {
	body := "O7\n" + start + "G1 X1.\nM30\n"
	want := short(must(t, body))
	for _, c := range []string{
		"%\n" + body + "%\n", body + "%", "\xef\xbb\xbf%\n" + body, "\xef\xbb\xbf" + body, "\x00\x00\x00%\r\n" + body, "%O7\n" + body[3:],
		"Job for the\nsecond shift\n%\n" + body + "%\nand more text, X9.", "(head)\n\n%\n" + body, strings.ToLower(body), ":7\n" + body[3:], "%\n" + body + "%\x1a",
	} {
		p := must(t, c)
		if d := cmp.Diff(want, short(p)); d != "" || p.Number != "O7" {
			t.Errorf("%q: number %q, moves %s\n%+v", c, p.Number, d, p.Notes)
		}
	}
	if p := must(t, "Job for the\nsecond shift\n%\n"+body); !heard(p, Plain, "Job for the", "tape mark") {
		t.Errorf("%+v", p.Notes)
	}
	skipped, err := ReadWith(context.Background(), []byte(start+"/G1 X1.\nG1 Y1. / Z5.\nM30"), Options{Skip: true})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff([]string{"G0 0 0 0", "G1 0 1 0"}, short(skipped)); d != "" {
		t.Errorf("with the switch on: %s", d)
	}
	text := []byte("a\r\nb\rc\n\nend")
	for i, want := range []string{"", "a", "b", "c", "", "end", ""} {
		if got := LineText(text, i); got != want {
			t.Errorf("line %d is %q, want %q", i, got, want)
		}
	}
}

// What is no program, or has no end, is refused with a sentence.
func TestRefuses(t *testing.T) {
	for _, c := range []struct{ name, data, want string }{
		{"nothing", "", "empty"},
		{"blanks", " \r\n\x00\x00\n", "empty"},
		{"UTF-16", "\xff\xfeG\x001\x00", "UTF-16"},
		{"bytes", strings.Repeat("\x01\x02\x03\x7f\x80G1", 100), "binary"},
		{"prose", "The quick brown fox jumps over the lazy dog.\nIt does so every day at ten.\n", "no program"},
		{"a table", "1.0,2.0,3.0\n4.0,5.0,6.0\n", "no program"},
		{"a model", "solid plate\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n", "no program"},
		{"a long text", strings.Repeat("no word of it is a program\n", 5000), "no program"},
		{"endless jump", "G21 G1 X1.\nN1 M8\nGOTO 1", "come to an end"},
		{"endless loop", "G21 G1 X1.\nDO1\n#1=#1+1\nEND1", "come to an end"},
		{"calls itself", "O1\nG1 X1.\nM98 P1\nM30", "deep"},
		{"too many repeats", "G21 G90 G81 X1. Z-1. R1. F1. L999999999", "moves come out"},
		{"endless pecks", "G21 G90 G0 X0. Y0. Z0.\nG83 Z-900000. R1. Q.0000001 F1.", "moves come out"},
		{"empty repeats", "G21 G1 X1.\nM98 P2 L999999999\nM30\nO2\nM99", "come to an end"},
		{"stops without end", "G21 G1 X1.\nM98 P2 L999999999\nM30\nO2\nM0 M0 M0 M0 M99", "stops and changes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			from := time.Now()
			p, err := ReadWith(context.Background(), []byte(c.data), Options{MaxMoves: 100_000, MaxBlocks: 200_000})
			var f *intake.Fault
			if !errors.As(err, &f) {
				t.Fatalf("read %v, err %v; want a fault", p, err)
			}
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("%q does not say %q", err, c.want)
			}
			if d := time.Since(from); d > 5*time.Second {
				t.Errorf("it took %v", d)
			}
		})
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := ReadWith(ctx, []byte("G21\nN1 G1 X1.\nGOTO 1"), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
