package words

import (
	"strings"
	"testing"
	"unicode/utf8"

	"fettle"
	"fettle/internal/output/draw/drawtest"
)

// sampleBlocks are a patch that a block can follow and one that none can.
func sampleBlocks() []fettle.Block {
	return []fettle.Block{
		{
			Part: "cover.3mf", Zone: "show", Patch: "show-1", Surface: "cylinder", AreaMM2: 1840, Stiff: true, Grit: "P240",
			PaperMM: fettle.Guess(0.38, 0.30, 0.46, fettle.BasisGuess), LimitUM: 20,
			Strokes: []fettle.Stroke{
				{Kind: "straight", Axis: [3]float64{1, 0, 0}, ReachMM: 12, ErrorUM: 0.4, Errors: []fettle.StrokeError{{AtMM: 6, MaxUM: 0.2, RMSUM: 0.1, Share: 1}, {AtMM: 18, MaxUM: 0.5, RMSUM: 0.2, Share: 0.42}}},
				{Kind: "round an axis", Axis: [3]float64{-1, 0, 0}, At: [3]float64{0, 0, -38}, RadiusMM: 45, ReachMM: 9, ErrorUM: 3.1},
				{Kind: "screw", Axis: [3]float64{0.6, 0.8, 0}, At: [3]float64{1, 2, 3}, RadiusMM: 45, PitchMM: 120, ReachMM: 5, ErrorUM: 14},
			},
			FaceMM: [2]float64{40, 22}, SizeMM: [3]float64{52, 26, 18}, Covered: 0.94,
			Fit:   fettle.BlockFit{OffsetMM: 0.38, WorstUM: 6, MaxUM: 11, RMSUM: 2.4, FacetUM: 5, BridgedShare: 0.07, ClearMM: 0.8},
			Sheet: fettle.PaperCut{LongMM: 84, WideMM: 22, TuckMM: 12, StripMM: 8, Says: "cut it along the sheet's length"}, VolumeMM3: 15200, Closed: true,
			Warnings: []string{"the paper's thickness is a starting guess"},
		},
		{Part: "cover.3mf", Zone: "show", Patch: "show-2", Surface: "free-form", AreaMM2: 410, Says: "its two curvatures change along every stroke: a block of 12 mm would stand off by 140 µm"},
	}
}

func samplePlug() fettle.PlugFit {
	return fettle.PlugFit{
		Part: "cover.3mf", Opening: "slot-1", Soft: "flex-95a", Form: "keyhole", Through: true,
		Steps:          []fettle.PlugStep{{Name: "head", LongMM: 2, WideMM: [2]float64{7, 7}, AcrossMM: [2]float64{22, 22}}, {Name: "shank", LongMM: 5, WideMM: [2]float64{4.12, 3.9}, AcrossMM: [2]float64{19.6, 19.4}}},
		MouthSqueezeMM: 0.12, TipPlayMM: 0.1, SizeMM: [3]float64{22, 7, 7}, TaperDeg: 1.3, VolumeMM3: 710, Closed: true,
		Do: "press it in from the show side until the head lies on the face; pull it out by the tab", Says: "a keyhole plug that closes 19.50 mm of slot-1",
		Warnings: []string{"the head covers 1.5 mm round the opening, which stays as it was cut"},
	}
}

func flatten(s string) string { return strings.Join(strings.Fields(s), " ") }

// What the answers know, their pages say, in sentences a machinist can act on.
func TestPagesOfThingsToMake(t *testing.T) {
	loose := drawtest.Pocket()
	h := *loose.Holding
	h.OK, h.Factor = false, fettle.Guess(1.6, 0.7, 3.9, "test")
	loose.Holding, loose.LoadsClear, loose.Loads = &h, false, "the rim catches on the fixed jaw 0.40 mm before it is down"
	loose.Room[1] = fettle.JawRoom{To: "mounting hole 2", Jaw: fettle.FixedJaw, MM: -1.4, WantsMM: 2}
	loose.Pose.Swapped = true
	twin := drawtest.Pocket()
	twin.Room = append(twin.Room, fettle.JawRoom{To: "the end of the jaw", Jaw: fettle.MovingJaw, MM: 15.95, WantsMM: 3, OK: true})
	for name, c := range map[string]struct {
		page string
		want []string
	}{
		"pocket": {Jaw(drawtest.Pocket(), drawtest.Jaws(), fettle.Metric), []string{
			"LATCH PLATE, BACK: a pocket for latch-plate.3mf in pair of soft jaws (soft-100, 6061-T6).",
			"It fits what is left of soft-100: the fixed jaw mounted as new, the moving jaw end for end.",
			"likely holds against roughing the show face, but not surely: 4.7 (1.9–11) times what pulls, and 2.5 is wanted",
			"CAUTION: A part that comes loose is thrown",
			"so that the faces stand 10.00 mm apart",
			// The jaws' left end is 50 mm from their middle.
			"begins 31.95 mm from their left end and ends 84.05 mm from it: X -18.05 to 34.05 mm, its middle 8.00 mm to the right of the jaws' middle",
			"reaches 12.05 mm into the fixed jaw and 12.05 mm into the moving one", "Cut it with flat-4, 4.00 mm across, to 8.00 mm at the deepest",
			"4 corners are cut past the outline with radius 2.00 mm, because the part's are tighter than the cutter",
			"with the model's +Z side down, turned 90° anticlockwise as seen from above, 4.00 mm deep",
			"Push the part to the left before the vise is closed", "4.60 mm 3.03 cm² relief for the burr",
			"The moving jaw bears on 1.71 cm²", "with 47 MPa; 0.350 cm² more of the part would bear",
			`4.25 mm is left to pocket "knob, stem", in the moving jaw; 2.00 mm is wanted`,
			"Tips over the jaws' edge: holds 4.7 (1.9–11) times what pulls, the likeliest to come loose; 5.2 N·m (2.3–11) against 1.1 N·m (0.78–1.6)",
			"Taken for granted: the cutter is sharp.", "soft-150, both jaws mounted as new: will not do: it cuts 1.40 mm into mounting hole 1.",
			"advice, never permission",
		}},
		"pocket that will not do": {Jaw(loose, drawtest.Jaws(), fettle.Metric), []string{
			"Do not cut it like this: it cuts 1.40 mm into mounting hole 2, in the jaw in the moving place.", "The part does not go in freely from above: the rim catches",
			"it does not hold well enough", "TOO LITTLE: It cuts 1.40 mm into mounting hole 2", "the jaws change places",
		}},
		"pocket alike in both jaws": {Jaw(twin, drawtest.Jaws(), fettle.Metric), []string{"15.95 mm is left to the end of the jaw, in both jaws; 3.00 mm is wanted."}},
		"blocks": {Block(sampleBlocks(), fettle.Metric), []string{
			"cover.3mf, show: 2 patches.", "Stiff blocks can follow 1 patch of 2, 82 % of the area: 1 block to make.",
			"show-1, a cylinder, 18.4 cm²", "Stroke it straight along the model's X, at most 12.00 mm to either side of the middle: its face then stands off by at most 0.40 µm; 18.00 mm out by at most 0.50 µm, with 42 % of the face over the patch.",
			"It may also be stroked round an axis along the model's X through X 0.00, Y 0.00, Z -38.00 mm, on a radius of 45.00 mm", "120.00 mm forward a turn",
			"Cut the paper (P240) 84.00 mm long by 22.00 mm wide and tuck 12.00 mm of each end into its slot; one sheet would wrinkle here, so slit it into 3 strips no wider than 8.00 mm.",
			"paper 0.380 mm thick (0.300–0.460 mm)", "99 % of its face lies within 6.0 µm", "over openings with 7 % of its face", "stays 0.80 mm clear",
			"NO BLOCK: Its two curvatures change along every stroke",
		}},
		"no block": {Block(sampleBlocks()[1:], fettle.Metric), []string{"No stiff block can follow any of it."}},
		"plug": {Plug(samplePlug(), fettle.Metric), []string{
			"a plug for slot-1 (keyhole, through), of flex-95a", "At the mouth it is 0.12 mm wider", "Press it in from the show side", "shank 5.00 mm 4.12 to 3.90 mm 19.60 to 19.40 mm",
			"Count the plugs", "a taper of 1.3°",
		}},
	} {
		for _, w := range c.want {
			if !strings.Contains(flatten(c.page), w) {
				t.Errorf("the page of the %s does not say %q:\n%s", name, w, c.page)
			}
		}
	}
}

// The pages fit a terminal, hold no broken sentences, and in inches no metric
// lengths.
func TestThingsToMakeAreClean(t *testing.T) {
	for _, sys := range []fettle.System{fettle.Metric, fettle.Inch} {
		many := drawtest.Pocket()
		many.Stepped, many.Holding = false, nil
		for len(many.Levels) < 30 {
			many.Levels = append(many.Levels, many.Levels[0])
		}
		open := samplePlug()
		open.Closed = false
		for name, page := range map[string]string{
			"jaw": Jaw(drawtest.Pocket(), drawtest.Jaws(), sys), "curved": Jaw(many, drawtest.Jaws(), sys), "empty": Jaw(fettle.JawPocket{}, fettle.Jaws{}, sys),
			"block": Block(sampleBlocks(), sys), "none": Block(nil, sys), "plug": Plug(open, sys),
		} {
			for i, line := range strings.Split(page, "\n") {
				if n := utf8.RuneCountInString(line); n > 80 {
					t.Errorf("%s, line %d has %d columns: %s", name, i+1, n, line)
				}
				for _, bad := range []string{"..", "%!", "NaN", "Inf", " ,", "  .", "()", ": .", ";."} {
					if strings.Contains(strings.ReplaceAll(line, "...", ""), bad) {
						t.Errorf("%s, line %d has %q: %s", name, i+1, bad, line)
					}
				}
			}
			if sys == fettle.Inch {
				for _, bad := range []string{" mm", "µm", "cm²", "cm³"} {
					if strings.Contains(page, bad) {
						t.Errorf("in inches the page of the %s still has %q:\n%s", name, bad, page)
					}
				}
			}
		}
	}
}
