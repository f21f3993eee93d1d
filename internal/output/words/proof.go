package words

import (
	"fmt"
	"math"

	"fettle"
)

// Proof says what a program will do and leave.
func (l Voice) Proof(pr fettle.Proof, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	p.say("", "%s", v.proofVerdict(pr))
	of := func(sev fettle.Severity) (these []fettle.Finding) {
		for _, f := range pr.Findings {
			if f.Severity == sev {
				these = append(these, f)
			}
		}
		return these
	}
	section(p, "Wrong", of(fettle.Wrong), v.finding)
	section(p, "Check before running", of(fettle.Check), v.finding)
	section(p, "Good to know", of(fettle.Note), v.finding)
	p.head("What it does")
	p.motion(pr)
	for _, t := range pr.Tools {
		p.item("%s", v.proofTool(t))
	}
	if f := pr.FirstCut; f != nil {
		p.item("%s", v.firstCut(*f))
	}
	p.item("It takes about %s: %s cutting, %s at rapid, %s waiting and changing tools (%s).", fettle.Minutes(pr.TimeS/60), fettle.Minutes(pr.CutS/60),
		fettle.Minutes(pr.RapidS/60), fettle.Minutes((pr.DwellS+pr.ToolChangeS)/60), pr.TimeBasis)
	section(p, "Passes", withPasses(pr.Regions), v.proofRegion)
	p.proofSurface(pr)
	section(p, "Not understood", firstOf(pr.NotUnderstood, 12), func(n fettle.NotUnderstood) string {
		return v.Sentence(v.Say("line %d, %q: %s", n.Line, n.Text, n.Consequence))
	})
	if more := len(pr.NotUnderstood) - 12; more > 0 {
		p.item("%s", v.more(more))
	}
	p.head("Caution")
	p.item("%s", pr.Advice)
	return p.String()
}

func firstOf[T any](v []T, n int) []T { return v[:min(n, len(v))] }

// proofVerdict is the answer in one sentence.
func (v voice) proofVerdict(pr fettle.Proof) string {
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
		return v.Count(wrong, "%[2]s: do not run it like this. One thing is wrong.", "%[2]s: do not run it like this. %[1]d things are wrong.", name)
	case check > 0:
		return v.Count(check, "%[2]s: nothing wrong was found. One thing to check.", "%[2]s: nothing wrong was found. %[1]d things to check.", name)
	}
	return v.Say("%s: nothing was found against it.", name)
}

func (v voice) finding(f fettle.Finding) string {
	try := ""
	if f.Try != "" {
		try = v.Sentence(f.Try)
	}
	return sentences(v.Sentence(f.Says), try)
}

// motion says units, boxes and offsets.
func (p *page) motion(pr fettle.Proof) {
	v := p.v
	in := pr.Units
	switch pr.Units {
	case "inch":
		in = v.Say("inches")
	case "mixed":
		in = v.Say("both mm and inches")
	}
	if pr.Offset != "" {
		in = v.Say("%s, in %s", in, pr.Offset)
	}
	moves := v.Count(pr.MotionBlocks, "1 move", "%d moves")
	if pr.MotionBlocks == 0 {
		moves = v.Say("no moves")
	}
	if pr.Arcs > 0 {
		moves = v.Count(pr.Arcs, "%[2]s (1 arc)", "%[2]s (%[1]d arcs)", moves)
	}
	p.item("Written in %s: %s, %s of feed and %s of rapid.", in, moves, v.About(pr.FeedLengthMM), v.About(pr.RapidLengthMM))
	if b := pr.FeedBox; b != nil {
		p.item("It cuts from X %s to %s, Y %s to %s, Z %s to %s.", v.number(b.X[0]), v.Length(b.X[1]), v.number(b.Y[0]), v.Length(b.Y[1]), v.number(b.Z[0]), v.Length(b.Z[1]))
	}
}

func (v voice) proofTool(t fettle.ProofTool) string {
	name := fmt.Sprintf("T%d", t.Number)
	if t.Cutter != "" {
		name = v.Say("%s, %s", name, t.Cutter)
	}
	said := []string{fettle.Minutes(t.Minutes), v.Say("%s of feed", v.About(t.FeedMM))}
	if n := len(t.SpindleRPM); n > 0 {
		said = append(said, v.Say("%s rpm", v.between(t.SpindleRPM[0], t.SpindleRPM[n-1], func(r float64) string { return fmt.Sprintf("%.0f", r) })))
	}
	if n := len(t.Feeds); n > 0 {
		said = append(said, "F "+v.between(t.Feeds[0], t.Feeds[n-1], v.Feed))
	}
	if t.MeanFeed > 0 {
		said = append(said, v.Say("of which the mill makes %s on average", v.Feed(t.MeanFeed)))
	}
	return v.Say("%s: %s.", name, commas(said...))
}

func (v voice) firstCut(f fettle.FirstCut) string {
	s := v.Say("The first cut (T%d, line %d) is %s deep and %s wide", f.Tool, f.Line, v.Length(f.DepthMM), v.Length(f.WidthMM))
	if math.Abs(f.NominalDepthMM-f.DepthMM) > 0.05 || math.Abs(f.NominalWidthMM-f.WidthMM) > 0.05 {
		s = v.Say("%s; on the blank as ordered %s and %s", s, v.Length(f.NominalDepthMM), v.Length(f.NominalWidthMM))
	}
	if e := f.ForceN; e != nil {
		s = v.Say("%s; about %.0f N on a tooth (%.0f–%.0f, %s)", s, e.Value, e.Low, e.High, e.Basis)
	}
	return v.Stop(s)
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

func (v voice) proofRegion(r fettle.ProofRegion) string {
	var sets string
	for i, set := range r.Passes {
		said := []string{v.Say("passes at %.0f°, %s apart", set.DirectionDeg, v.Small(set.SpacingMM.P50))}
		if set.SpacingMM.P95 > 1.1*set.SpacingMM.P50 {
			said[0] = v.Say("passes at %.0f°, %s apart (95 %% under %s)", set.DirectionDeg, v.Small(set.SpacingMM.P50), v.Small(set.SpacingMM.P95))
		}
		if set.CuspUM > 0 {
			said = append(said, v.Say("%s on a flat", v.Height(set.CuspUM)))
		}
		if one := commas(said...); i == 0 {
			sets = one
		} else {
			sets = v.Say("%s; crossed by %s", sets, one)
		}
	}
	return v.Say("T%d, lines %d to %d, F %s: %s.", r.Tool, r.FirstLine, r.LastLine, v.Feed(r.Feed), sets)
}

// proofSurface says what is left on the part.
func (p *page) proofSurface(pr fettle.Proof) {
	if pr.CuspUM == nil && pr.GougeMM == nil {
		return
	}
	v := p.v
	p.head("The surface it leaves")
	if q := pr.CuspUM; q != nil {
		p.item("Cusps on the %s zone: %s, 95 %% under %s, %s at most; Sa %s, Sq %s.", v.List(pr.Zones), v.Height(q.P50), v.Height(q.P95), v.Height(q.Max), v.Height(*pr.SaUM), v.Height(*pr.SqUM))
	}
	switch {
	case pr.Lay == "crossed":
		p.item("The passes cross, so it has no lay of its own.")
	case pr.LayDeg != nil:
		p.item("The lay runs at %.0f° from the program's X.", *pr.LayDeg)
	}
	if f := pr.Facets; f != nil {
		p.item("The path is made of chords of %s that turn by %.2f° each (95 %% under %.2f°).", v.Small(f.LengthMM.P50), f.TurnDeg.P50, f.TurnDeg.P95)
	}
	if pr.GougeMM != nil && pr.LeftMM != nil && pr.LeftP95MM != nil {
		left, most := v.Small(*pr.LeftMM), v.Small(*pr.LeftP95MM)
		if *pr.GougeMM > 1e-4 {
			p.item("At most %s below the part; at most %s left on it, under %s on 95 %% of it.", v.Small(*pr.GougeMM), left, most)
		} else {
			p.item("Nowhere below the part; at most %s left on it, under %s on 95 %% of it.", left, most)
		}
	}
	p.item("Worked out on cells of %s, for ideal cutters without runout, wear or deflection.", v.Fine(pr.CellUM))
}
