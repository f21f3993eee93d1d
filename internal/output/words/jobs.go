package words

import (
	"fmt"
	"strings"
	"time"

	"fettle"
)

// lines are said one below the other, without wrapping.
type lines struct{ strings.Builder }

// put writes a line behind its indent.
func (b *lines) put(indent, text string) { b.WriteString(indent + text + "\n") }

// minute is how a moment is shown.
const minute = "2006-01-02 15:04"

// Jobs is a list of jobs in words.
func (l Voice) Jobs(jobs []fettle.JobLine) string {
	v := l.in("")
	var b lines
	if len(jobs) == 0 {
		b.put("", v.Say("No job is open; fettle job new PART begins one."))
	}
	for _, j := range jobs {
		what := v.Say("%s: %s of %s in %s", j.Title, v.pieces(j.Lot), j.Material, j.Finish)
		if j.Due != "" {
			what = v.Say("%s, due %s", what, j.Due)
		}
		b.put("", fmt.Sprintf("%s  %s %s", end(j.ID), pad(v.state(j.State), 8), what))
	}
	return b.String()
}

// state is where a job stands, in a word.
func (v voice) state(s fettle.JobState) string {
	switch s {
	case fettle.JobAsked:
		return v.Say("asked")
	case fettle.JobOffered:
		return v.Say("offered")
	case fettle.JobAgreed:
		return v.Say("agreed")
	case fettle.JobShipped:
		return v.Say("shipped")
	case fettle.JobNo:
		return v.Say("no")
	}
	return string(s)
}

// end is what an id is named by.
func end(id string) string { return id[max(0, len(id)-6):] }

// JobStory is a job with all that hangs on it.
func (l Voice) JobStory(s fettle.JobStory, sys fettle.System) string {
	v := l.in(sys)
	var b lines
	j := s.Body
	b.put("", v.Say("%s (%s), %s", j.Title, s.Job.ID, v.state(j.State)))
	what := v.Say("%s of %s in %s", v.pieces(j.Brief.Lot), j.Brief.Material, j.Brief.Finish)
	if s.Customer != nil {
		what = v.Say("%s, for %s", what, s.Customer.Name)
	}
	if j.Due != "" {
		what = v.Say("%s, due %s", what, j.Due)
	}
	b.put("", what)
	if s.File != nil {
		b.put("", v.Say("Model: %s, version %d", s.File.File, s.File.Version))
	}
	if s.Job.Deleted != nil {
		b.put("", v.Say("Deleted %s; fettle job undo %s brings it back.", s.Job.Deleted.Format(minute), end(s.Job.ID)))
	}
	for i, p := range s.Plans {
		if i == 0 {
			b.put("\n", v.Say("Plans, the newest first"))
		}
		b.put("  ", fmt.Sprintf("%s  %s  %s", end(p.ID), p.Made, v.Say("%s of %s in %s, %s each", v.pieces(p.Sheet.Lot), p.Sheet.Material, p.Sheet.Finish, p.Sheet.Each)))
		b.put("          ", v.Reword(p.Sheet.Verdict))
	}
	for i, o := range s.Offers {
		if i == 0 {
			b.put("\n", v.Say("Offers, the newest first"))
		}
		b.put("  ", end(o.ID)+"  "+v.offerLine(o.Offer))
	}
	if a := j.Acceptance; a != nil {
		b.put("\n", v.Say("What is right"))
		if a.Sample == "" {
			b.put("  ", v.Say("%s, without a sample that was signed off", a.Look))
		} else {
			b.put("  ", v.Say("%s, as the sample of run %s that was signed off on %s", a.Look, end(a.Sample), a.Day))
		}
		for _, lim := range a.Limits {
			b.put("  ", v.Reword(v.Sentence(lim.Says)))
		}
		b.put("  ", v.Sentence(a.Sampling.Says))
		for _, c := range j.Checks {
			b.put("  ", c.Day+"  "+v.Sentence(c.Says))
		}
	}
	for i, r := range s.Runs {
		if i == 0 {
			b.put("\n", v.Say("Runs"))
		}
		b.put("  ", v.runLine(r))
	}
	b.put("\n", v.Count(len(s.History), "1 revision, the last by %[2]s on %[3]s", "%d revisions, the last by %s on %s", s.Job.By, s.Job.Changed.Format(minute)))
	return b.String()
}

// offerLine is an offer in a line: what was sent and what was answered.
func (v voice) offerLine(o fettle.Proposal) string {
	var looks []string
	for _, f := range o.Offers {
		if f.Aim == "" || f.Aim == fettle.LeastMoney {
			looks = append(looks, f.Look)
		}
	}
	sent := v.Say("sent %s: %s", o.Sent, commas(looks...))
	switch a := o.Answer; {
	case a == nil:
		return v.Say("%s; no answer yet", sent)
	case a.Accepted:
		return v.Say("%s; %s chosen on %s", sent, a.Look, a.Day)
	default:
		return v.Say("%s; declined on %s", sent, a.Day)
	}
}

// runLine is one run.
func (v voice) runLine(r fettle.Run) string {
	what := r.Step
	if what == "" {
		what = string(r.Kind)
		for _, w := range []string{r.Media, r.Grit} {
			if w != "" {
				what += " " + w
			}
		}
		if r.Vessel != "" {
			what = v.Say("%s in %s", what, r.Vessel)
		}
	}
	state := v.Say("running")
	if r.Started == "" {
		state = r.Day
	} else if at, err := time.Parse(time.RFC3339, r.Started); err == nil {
		state = v.Say("since %s", at.Format(minute))
	}
	if r.HoursRun > 0 {
		state = fmt.Sprintf("%s, %.3g h", r.Day, r.HoursRun)
	}
	return end(r.ID) + "  " + v.Say("%s on %s (%s), %s", what, r.Material, state, v.Count(len(r.Readings), "1 reading", "%d readings"))
}

// Runs is the logbook, the newest run first.
func (l Voice) Runs(log fettle.Logbook) string {
	v := l.in("")
	var b lines
	if len(log.Runs) == 0 {
		b.put("", v.Say("Nothing has been logged; fettle run start begins a run."))
	}
	for i := len(log.Runs) - 1; i >= 0; i-- {
		b.put("  ", v.runLine(log.Runs[i]))
	}
	return b.String()
}

// Taken says what was taken from a logbook file.
func (l Voice) Taken(runs, readings, known int) string {
	v := l.in("")
	found := v.Count(readings, "1 reading", "%d readings")
	said := v.Count(runs, "1 run with %[2]s taken", "%d runs with %s taken", found)
	if known > 0 {
		said = v.Count(known, "%[2]s; %[1]d had been taken before", "%[2]s; %[1]d had been taken before", said)
	}
	return v.Stop(said) + "\n"
}

// Fit says whether a job is the shop's own.
func (l Voice) Fit(f fettle.Fit, sys fettle.System) string {
	v := l.in(sys)
	var b lines
	if f.Ours {
		b.put("", v.Say("It is ours: beyond nothing that the shop has set."))
	} else {
		b.put("", v.Say("Not ours, because"))
	}
	for _, r := range f.Because {
		b.put("  ", v.Reword(r.Says))
	}
	for _, r := range f.Open {
		b.put("  ", v.Say("Not judged: %s", v.Reword(r.Says)))
	}
	return b.String()
}

// Envelope is what the shop takes.
func (l Voice) Envelope(e fettle.Envelope, sys fettle.System) string {
	v := l.in(sys)
	var b lines
	if e.MaxMM != [3]float64{} {
		b.put("", v.Say("Up to %s", v.box(e.MaxMM)))
	}
	if e.MinMM > 0 {
		b.put("", v.Say("From %s on the longest side", v.Length(e.MinMM)))
	}
	if e.MaxKg > 0 {
		b.put("", v.Say("Up to %s", v.Mass(e.MaxKg*1000)))
	}
	if e.HolesUnderMM > 0 {
		b.put("", v.Say("No through hole or slot under %s", v.Length(e.HolesUnderMM)))
	}
	switch {
	case e.MinLot > 0 && e.MaxLot > 0:
		b.put("", v.Say("Lots of %d to %d", e.MinLot, e.MaxLot))
	case e.MinLot > 0:
		b.put("", v.Say("Lots of %d and more", e.MinLot))
	case e.MaxLot > 0:
		b.put("", v.Say("Lots of up to %d", e.MaxLot))
	}
	if len(e.Materials) > 0 {
		b.put("", v.Say("Materials: %s", commas(e.Materials...)))
	}
	if len(e.Finishes) > 0 {
		b.put("", v.Say("Finishes: %s", commas(e.Finishes...)))
	}
	if e.Notes != "" {
		b.put("", e.Notes)
	}
	if b.Len() == 0 {
		b.put("", v.Say("Everything: no limit has been stated; fettle envelope --propose shows what the shelf would allow."))
	}
	return b.String()
}
