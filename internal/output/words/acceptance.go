package words

import (
	"cmp"
	"strconv"

	"fettle"
	"fettle/internal/trade/sampling"
)

// Acceptance says what "right" means for a lot: what a piece is held to, how many are
// looked at, and the first article line by line. What it holds was written in the units
// of its own; where these are not the ones that are read, lengths are reworded.
func (l Voice) Acceptance(a *fettle.Acceptance, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	if a == nil || len(a.Limits) == 0 && a.Sampling.Size == 0 && len(a.First) == 0 {
		p.say("", "Nothing was agreed on that a lot could be held to.")
		return p.String()
	}
	said := []string{v.Say("What right means for %s.", cmp.Or(a.Look, v.Say("this lot")))}
	switch {
	case a.Sample != "" && a.Day != "":
		said = append(said, v.Say("The customer signed off the sample of run %s on %s.", end(a.Sample), a.Day))
	case a.Sample != "":
		said = append(said, v.Say("The customer signed off the sample of run %s.", end(a.Sample)))
	case a.Day != "":
		said = append(said, v.Say("It was agreed on %s.", a.Day))
	}
	p.text("", sentences(said...))
	section(p, "What a piece is held to", a.Limits, v.acceptLimit)
	if s := a.Sampling; s.Size > 0 {
		p.head("How many to look at")
		p.item("%s", v.samplingPlan(s))
		if s.Says != "" {
			p.item("%s", v.Sentence(s.Says))
		}
		if s.Source != "" {
			p.item("The plan is from %s.", plain(s.Source))
		}
	}
	section(p, "First article", a.First, v.firstArticle)
	section(p, "Notes", a.Notes, v.reworded)
	return p.String()
}

// acceptLimit says one limit with what the sample read and where its width is from.
func (v voice) acceptLimit(a fettle.AcceptLimit) string {
	show := func(x float64) string { return sampling.Limit(a.Kind, x, v.System) }
	said := plain(v.Reword(a.Says))
	if said == "" {
		said = v.bounds(a.Low, a.High, show)
		if name := v.readingName(a.Kind); a.Place != "" {
			said = v.Say("%s on %s: %s", name, a.Place, said)
		} else {
			said = v.Say("%s: %s", name, said)
		}
	}
	read := ""
	if a.N > 0 && a.Kind != fettle.ReadMarkGone && a.Kind != fettle.ReadJammed {
		read = v.Count(a.N, "The sample read %[2]s.", "The sample read %[2]s, the mean of %[1]d readings.", sampling.Value(a.Kind, a.Sample, v.System))
	}
	basis := ""
	if a.Basis != "" {
		basis = v.Say("The width is from %s.", plain(a.Basis))
	}
	return sentences(v.Sentence(said), read, basis)
}

// readingName is what was read, in words.
func (v voice) readingName(k fettle.ReadingKind) string {
	switch k {
	case fettle.ReadRa:
		return "Ra"
	case fettle.ReadRz:
		return "Rz"
	case fettle.ReadSq:
		return "Sq"
	case fettle.ReadGloss:
		return v.Say("gloss at 60°")
	case fettle.ReadGrade:
		return v.Say("grade on the comparison plate")
	case fettle.ReadMarkGone:
		return v.Say("older marks")
	case fettle.ReadJammed:
		return v.Say("pieces that hold media")
	case fettle.ReadGrams:
		return v.Say("loss of weight")
	case fettle.ReadMicron:
		return v.Say("loss across two faces")
	case fettle.ReadMinutes:
		return v.Say("minutes by hand")
	}
	return string(k)
}

// bounds says a pair of bounds, either of which may be missing.
func (v voice) bounds(low, high *float64, show func(float64) string) string {
	switch {
	case low != nil && high != nil:
		return v.Say("from %s to %s", show(*low), show(*high))
	case high != nil:
		return v.Say("at most %s", show(*high))
	case low != nil:
		return v.Say("at least %s", show(*low))
	}
	return v.Say("no limit")
}

// samplingPlan says what to do with a lot.
func (v voice) samplingPlan(s fettle.SamplingPlan) string {
	if s.All || s.Size >= s.Lot && s.Lot > 0 {
		return v.Count(s.Lot, "Look at the one piece.", "Look at all %d pieces of the lot.")
	}
	look := v.Count(s.Size, "Look at 1 piece of the %[2]s, drawn at random.", "Look at %d pieces of the %s, drawn at random.", thousands(s.Lot))
	take := v.Say("Take the lot if none of them fails; refuse it if one does.")
	switch {
	case s.Accept > 0 && s.Reject > s.Accept+1:
		take = v.Say("Take the lot if %d or fewer of them fail, refuse it if %d or more do.", s.Accept, s.Reject)
	case s.Accept > 0:
		take = v.Count(s.Accept, "Take the lot if no more than one of them fails; refuse it if more do.", "Take the lot if %d or fewer of them fail; refuse it if more do.")
	}
	return sentences(look, take)
}

// firstArticle is one line of the record.
func (v voice) firstArticle(f fettle.FirstArticle) string {
	what := v.Reword(f.What)
	if f.Name != "" {
		what = v.Say("%s, %s", what, f.Name)
	}
	wanted := v.Reword(f.Wanted)
	said := v.Say("%d. %s: %s is wanted", f.Number, what, wanted)
	if f.Wanted == "" {
		said = v.Say("%d. %s", f.Number, what)
	}
	switch {
	case f.Measured == nil:
		return v.Say("%s; not measured yet.", said)
	case f.Right == nil:
		return v.Say("%s; it measures %s.", said, v.measuredAs(*f.Measured, f.Unit))
	case *f.Right:
		return v.Say("%s; it measures %s, which is right.", said, v.measuredAs(*f.Measured, f.Unit))
	}
	return v.Say("%s; it measures %s, which is NOT right.", said, v.measuredAs(*f.Measured, f.Unit))
}

// measuredAs shows a measured number in the units that are read.
func (v voice) measuredAs(x float64, unit string) string {
	switch unit {
	case "mm":
		return v.Length(x)
	case "µm":
		return v.Height(x)
	}
	s := strconv.FormatFloat(x, 'g', 4, 64)
	if unit == "" || unit == "1" {
		return s
	}
	return s + " " + unit
}
