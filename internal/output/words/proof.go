package words

import (
	"fmt"
	"math"
	"strings"

	"fettle"
)

// Proof says what a program will do and leave.
func Proof(pr fettle.Proof, sys fettle.System) string {
	var p page
	p.say("", "%s", proofVerdict(pr))
	for _, group := range []struct {
		sev   fettle.Severity
		title string
	}{{fettle.Wrong, "Wrong"}, {fettle.Check, "Check before running"}, {fettle.Note, "Good to know"}} {
		var these []fettle.Finding
		for _, f := range pr.Findings {
			if f.Severity == group.sev {
				these = append(these, f)
			}
		}
		section(&p, group.title, these, findingText)
	}
	p.head("What it does")
	motion(&p, pr, sys)
	for _, t := range pr.Tools {
		p.item("%s", proofTool(t, sys))
	}
	if f := pr.FirstCut; f != nil {
		p.item("%s", firstCut(*f, sys))
	}
	p.item("It takes about %s: %s cutting, %s at rapid, %s waiting and changing tools (%s).", fettle.Minutes(pr.TimeS/60), fettle.Minutes(pr.CutS/60),
		fettle.Minutes(pr.RapidS/60), fettle.Minutes((pr.DwellS+pr.ToolChangeS)/60), pr.TimeBasis)
	section(&p, "Passes", withPasses(pr.Regions), func(r fettle.ProofRegion) string { return proofRegion(r, sys) })
	proofSurface(&p, pr, sys)
	section(&p, "Not understood", firstOf(pr.NotUnderstood, 12), func(n fettle.NotUnderstood) string {
		return sentence(fmt.Sprintf("line %d, %q: %s", n.Line, n.Text, n.Consequence))
	})
	if more := len(pr.NotUnderstood) - 12; more > 0 {
		p.item("and %d more.", more)
	}
	p.head("Caution")
	p.item("%s", pr.Advice)
	return p.String()
}

func firstOf[T any](v []T, n int) []T { return v[:min(n, len(v))] }

// proofVerdict is the answer in one sentence.
func proofVerdict(pr fettle.Proof) string {
	wrong, check := 0, 0
	for _, f := range pr.Findings {
		switch f.Severity {
		case fettle.Wrong:
			wrong++
		case fettle.Check:
			check++
		}
	}
	name := pr.File
	if pr.Number != "" {
		name += " (" + pr.Number + ")"
	}
	switch {
	case wrong > 0:
		return fmt.Sprintf("%s: do not run it like this. %s wrong.", name, things(wrong))
	case check > 0:
		return fmt.Sprintf("%s: nothing wrong was found. %s to check.", name, strings.TrimSuffix(strings.TrimSuffix(things(check), " are"), " is"))
	}
	return fmt.Sprintf("%s: nothing was found against it.", name)
}

func things(n int) string {
	if n == 1 {
		return "One thing is"
	}
	return fmt.Sprintf("%d things are", n)
}

func findingText(f fettle.Finding) string {
	t := sentence(f.Says)
	if f.Try != "" {
		t += " " + sentence(f.Try)
	}
	return t
}

// motion says units, boxes and offsets.
func motion(p *page, pr fettle.Proof, sys fettle.System) {
	unit := map[string]string{"mm": "mm", "inch": "inches", "mixed": "both mm and inches"}[pr.Units]
	offset := ""
	if pr.Offset != "" {
		offset = ", in " + pr.Offset
	}
	arcs := ""
	if pr.Arcs > 0 {
		arcs = fmt.Sprintf(" (%s)", count(pr.Arcs, "arc"))
	}
	p.item("Written in %s%s: %s%s, %s of feed and %s of rapid.", unit, offset, count(pr.MotionBlocks, "move"), arcs, sys.About(pr.FeedLengthMM), sys.About(pr.RapidLengthMM))
	if b := pr.FeedBox; b != nil {
		p.item("It cuts from X %s to %s, Y %s to %s, Z %s to %s.", number(b.X[0], sys), sys.Length(b.X[1]), number(b.Y[0], sys), sys.Length(b.Y[1]), number(b.Z[0], sys), sys.Length(b.Z[1]))
	}
}

func proofTool(t fettle.ProofTool, sys fettle.System) string {
	s := fmt.Sprintf("T%d", t.Number)
	if t.Cutter != "" {
		s += ", " + t.Cutter
	}
	s += fmt.Sprintf(": %s, %s of feed", fettle.Minutes(t.Minutes), sys.About(t.FeedMM))
	if n := len(t.SpindleRPM); n > 0 {
		s += ", " + between(t.SpindleRPM[0], t.SpindleRPM[n-1], func(v float64) string { return fmt.Sprintf("%.0f", v) }) + " rpm"
	}
	if n := len(t.Feeds); n > 0 {
		s += ", F " + between(t.Feeds[0], t.Feeds[n-1], sys.Feed)
	}
	if t.MeanFeed > 0 {
		s += fmt.Sprintf(", of which the mill makes %s on average", sys.Feed(t.MeanFeed))
	}
	return s + "."
}

// between says a range, or the one value that both ends are.
func between(lo, hi float64, say func(float64) string) string {
	if a, b := say(lo), say(hi); a != b {
		return a + " to " + b
	}
	return say(lo)
}

func firstCut(f fettle.FirstCut, sys fettle.System) string {
	s := fmt.Sprintf("The first cut (T%d, line %d) is %s deep and %s wide", f.Tool, f.Line, sys.Length(f.DepthMM), sys.Length(f.WidthMM))
	if math.Abs(f.NominalDepthMM-f.DepthMM) > 0.05 || math.Abs(f.NominalWidthMM-f.WidthMM) > 0.05 {
		s += fmt.Sprintf("; on the blank as ordered %s and %s", sys.Length(f.NominalDepthMM), sys.Length(f.NominalWidthMM))
	}
	if e := f.ForceN; e != nil {
		s += fmt.Sprintf("; about %.0f N on a tooth (%.0f–%.0f, %s)", e.Value, e.Low, e.High, e.Basis)
	}
	return s + "."
}

// withPasses are the regions in which passes lie side by side.
func withPasses(rs []fettle.ProofRegion) (out []fettle.ProofRegion) {
	for _, r := range rs {
		if len(r.Passes) > 0 {
			out = append(out, r)
		}
	}
	return firstOf(out, 8)
}

func proofRegion(r fettle.ProofRegion, sys fettle.System) string {
	s := fmt.Sprintf("T%d, lines %d to %d, F %s", r.Tool, r.FirstLine, r.LastLine, sys.Feed(r.Feed))
	for i, set := range r.Passes {
		join := ": "
		if i > 0 {
			join = "; crossed by "
		}
		s += fmt.Sprintf("%spasses at %.0f°, %s apart", join, set.DirectionDeg, sys.Small(set.SpacingMM.P50))
		if set.SpacingMM.P95 > 1.1*set.SpacingMM.P50 {
			s += fmt.Sprintf(" (95 %% under %s)", sys.Small(set.SpacingMM.P95))
		}
		if set.CuspUM > 0 {
			s += fmt.Sprintf(", %s on a flat", sys.Height(set.CuspUM))
		}
	}
	return s + "."
}

// proofSurface says what is left on the part.
func proofSurface(p *page, pr fettle.Proof, sys fettle.System) {
	if pr.CuspUM == nil && pr.GougeMM == nil {
		return
	}
	p.head("The surface it leaves")
	if q := pr.CuspUM; q != nil {
		p.item("Cusps on the %s zone: %s, 95 %% under %s, %s at most; Sa %s, Sq %s.", list(pr.Zones), sys.Height(q.P50), sys.Height(q.P95), sys.Height(q.Max), sys.Height(*pr.SaUM), sys.Height(*pr.SqUM))
	}
	switch {
	case pr.Lay == "crossed":
		p.item("The passes cross, so it has no lay of its own.")
	case pr.LayDeg != nil:
		p.item("The lay runs at %.0f° from the program's X.", *pr.LayDeg)
	}
	if f := pr.Facets; f != nil {
		p.item("The path is made of chords of %s that turn by %.2f° each (95 %% under %.2f°).", sys.Small(f.LengthMM.P50), f.TurnDeg.P50, f.TurnDeg.P95)
	}
	if pr.GougeMM != nil && pr.LeftMM != nil && pr.LeftP95MM != nil {
		below := "Nowhere below the part"
		if *pr.GougeMM > 1e-4 {
			below = fmt.Sprintf("At most %s below the part", sys.Small(*pr.GougeMM))
		}
		p.item("%s; at most %s left on it, under %s on 95 %% of it.", below, sys.Small(*pr.LeftMM), sys.Small(*pr.LeftP95MM))
	}
	p.item("Worked out on cells of %s, for ideal cutters without runout, wear or deflection.", sys.Fine(pr.CellUM))
}
