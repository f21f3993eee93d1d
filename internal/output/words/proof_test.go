package words

import (
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"fettle"
)

// proofOf is a proof with something in every place.
func proofOf() fettle.Proof {
	v := func(x float64) *float64 { return &x }
	at := [2]float64{3.2, -1}
	span := &fettle.Span{X: [2]float64{-5, 5}, Y: [2]float64{-3, 3}, Z: [2]float64{-0.15, 2}}
	force := fettle.Guess(132, 105, 158, "Kienzle")
	return fettle.Proof{
		File: "top.nc", Number: "O1001", Units: "mm", MotionBlocks: 120, Arcs: 2, FeedLengthMM: 1234, RapidLengthMM: 60, FeedBox: span, RapidBox: span,
		Offsets: []string{"G54"}, Offset: "G54", TimeS: 95, CutS: 70, RapidS: 10, ToolChangeS: 15, TimeBasis: "Bench mill",
		Tools:    []fettle.ProofTool{{Number: 1, Cutter: "ball-6", Minutes: 1.5, FeedMM: 1234, SpindleRPM: []float64{9000}, Feeds: []float64{300, 1200}, MeanFeed: 1000}},
		FirstCut: &fettle.FirstCut{Tool: 1, Line: 12, DepthMM: 4, WidthMM: 3.5, NominalDepthMM: 4, NominalWidthMM: 0.5, ForceN: &force},
		Regions: []fettle.ProofRegion{{Tool: 1, FirstLine: 12, LastLine: 300, Feed: 1200, Passes: []fettle.PassSet{
			{SpacingMM: fettle.Quantiles{P50: 0.3, P95: 0.4, Max: 0.5}, CuspUM: 3.75}, {DirectionDeg: 90, SpacingMM: fettle.Quantiles{P50: 0.3, P95: 0.3, Max: 0.3}, CuspUM: 3.75},
		}}},
		Facets: &fettle.Facets{Chords: 400, LengthMM: fettle.Quantiles{P50: 0.28}, TurnDeg: fettle.Quantiles{P50: 1.62, P95: 1.7}, Visible: true},
		CellUM: 10, Zones: []string{"show"}, ZoneMM2: 40, CuspUM: &fettle.Quantiles{P50: 3.7, P95: 3.9, Max: 4}, SqUM: v(1.1), SaUM: v(0.9), Lay: "crossed",
		GougeMM: v(0.15), GougeAt: &at, GougeLine: 40, LeftMM: v(0.004), LeftP95MM: v(0.0039), LeftAt: &at, Untouched: v(0),
		NotUnderstood: []fettle.NotUnderstood{{Line: 7, Text: "G187 P3", Consequence: "G187 is not understood"}},
		Findings: []fettle.Finding{
			{Severity: fettle.Wrong, Line: 40, Kind: "gouge", Says: "line 40 cuts 0.150 mm below the part", Try: "check the tool"},
			{Severity: fettle.Check, Line: 12, Kind: "facets", Says: "the path of T1 turns by 1.62°", Try: "post it with a tighter tolerance"},
			{Severity: fettle.Note, Kind: "stock", Says: "no stock is given"},
		},
		Advice: "A proof is advice.",
	}
}

var minusZero = regexp.MustCompile(`-0\.0+( |,|$)`)

func TestProofPage(t *testing.T) {
	bare := fettle.Proof{File: "top.nc", Units: "inch", TimeBasis: "no mill", Advice: "A proof is advice."}
	for _, sys := range []fettle.System{fettle.Metric, fettle.Inch} {
		for _, pr := range []fettle.Proof{proofOf(), bare} {
			text := Proof(pr, sys)
			for i, line := range strings.Split(text, "\n") {
				if n := utf8.RuneCountInString(line); n > 80 {
					t.Errorf("line %d has %d columns: %s", i+1, n, line)
				}
				for _, bad := range []string{"..", "%!", "NaN", "Inf", " ,", "()", ": ."} {
					if strings.Contains(line, bad) {
						t.Errorf("line %d has %q: %s", i+1, bad, line)
					}
				}
				if minusZero.MatchString(line) {
					t.Errorf("line %d has a minus zero: %s", i+1, line)
				}
			}
		}
	}
	text := Proof(proofOf(), fettle.Metric)
	// The answer first, then the worst, then the rest.
	order := []string{"do not run it like this. One thing is wrong.", "Wrong\n", "Line 40 cuts 0.150 mm below the part. Check the tool.",
		"Check before running", "Good to know", "What it does", "9000 rpm, F 300 mm/min to 1200", "on the blank as ordered 4.00 mm and 0.50 mm",
		"Passes\n", "crossed by passes at 90°", "The surface it leaves", "no lay of its own", "Not understood", "A proof is advice."}
	at := 0
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range order {
		i := strings.Index(flat[at:], strings.TrimSpace(want))
		if i < 0 {
			t.Fatalf("%q does not stand where it should in:\n%s", want, text)
		}
		at += i
	}
	if got := Proof(bare, fettle.Metric); !strings.HasPrefix(got, "top.nc: nothing was found against it.") {
		t.Errorf("a program without findings:\n%s", got)
	}
	if got := Proof(proofOf(), fettle.Inch); !strings.Contains(got, "in/min") || !strings.Contains(got, "µin") {
		t.Errorf("in inch units:\n%s", got)
	}
}
