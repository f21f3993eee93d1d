package words

import (
	"fmt"
	"strings"
	"time"

	"fettle"
)

// Jobs is a list of jobs in words.
func Jobs(jobs []fettle.JobLine) string {
	if len(jobs) == 0 {
		return "No job is open; fettle job new PART begins one.\n"
	}
	var b strings.Builder
	for _, j := range jobs {
		fmt.Fprintf(&b, "%s  %-8s %s: %s of %s in %s", end(j.ID), j.State, j.Title, pieces(j.Lot), j.Material, j.Finish)
		if j.Due != "" {
			fmt.Fprintf(&b, ", due %s", j.Due)
		}
		b.WriteString("\n")
	}
	return b.String()
}

// end is what an id is named by.
func end(id string) string { return id[max(0, len(id)-6):] }

func pieces(n int) string {
	if n == 1 {
		return "1 piece"
	}
	return fmt.Sprintf("%d pieces", n)
}

// JobStory is a job with all that hangs on it.
func JobStory(s fettle.JobStory, sys fettle.System) string {
	var b strings.Builder
	j := s.Body
	fmt.Fprintf(&b, "%s (%s), %s\n", j.Title, s.Job.ID, j.State)
	fmt.Fprintf(&b, "%s of %s in %s", pieces(j.Brief.Lot), j.Brief.Material, j.Brief.Finish)
	if s.Customer != nil {
		fmt.Fprintf(&b, ", for %s", s.Customer.Name)
	}
	if j.Due != "" {
		fmt.Fprintf(&b, ", due %s", j.Due)
	}
	b.WriteString("\n")
	if s.File != nil {
		fmt.Fprintf(&b, "Model: %s, version %d\n", s.File.File, s.File.Version)
	}
	if s.Job.Deleted != nil {
		fmt.Fprintf(&b, "Deleted %s; fettle job undo %s brings it back.\n", s.Job.Deleted.Format("2006-01-02 15:04"), end(s.Job.ID))
	}
	for i, p := range s.Plans {
		if i == 0 {
			b.WriteString("\nPlans, the newest first\n")
		}
		fmt.Fprintf(&b, "  %s  %s  %s of %s in %s, %s each\n", end(p.ID), p.Made, pieces(p.Sheet.Lot), p.Sheet.Material, p.Sheet.Finish, p.Sheet.Each)
		fmt.Fprintf(&b, "          %s\n", sys.Reword(p.Sheet.Verdict))
	}
	for i, o := range s.Offers {
		if i == 0 {
			b.WriteString("\nOffers, the newest first\n")
		}
		var looks []string
		for _, f := range o.Offer.Offers {
			if f.Aim == "" || f.Aim == fettle.LeastMoney {
				looks = append(looks, f.Look)
			}
		}
		fmt.Fprintf(&b, "  %s  sent %s: %s", end(o.ID), o.Offer.Sent, strings.Join(looks, ", "))
		switch a := o.Offer.Answer; {
		case a == nil:
			b.WriteString("; no answer yet\n")
		case a.Accepted:
			fmt.Fprintf(&b, "; %s chosen on %s\n", a.Look, a.Day)
		default:
			fmt.Fprintf(&b, "; declined on %s\n", a.Day)
		}
	}
	for i, r := range s.Runs {
		if i == 0 {
			b.WriteString("\nRuns\n")
		}
		b.WriteString(runLine(r))
	}
	fmt.Fprintf(&b, "\n%s, the last by %s on %s\n", counted(len(s.History), "revision"), s.Job.By, s.Job.Changed.Format("2006-01-02 15:04"))
	return b.String()
}

// runLine is one run.
func runLine(r fettle.Run) string {
	what := r.Step
	if what == "" {
		what = string(r.Kind)
		for _, w := range []string{r.Media, r.Grit} {
			if w != "" {
				what += " " + w
			}
		}
		if r.Vessel != "" {
			what += " in " + r.Vessel
		}
	}
	state := "running"
	if r.Started == "" {
		state = r.Day
	} else if at, err := time.Parse(time.RFC3339, r.Started); err == nil {
		state = "since " + at.Format("2006-01-02 15:04")
	}
	if r.HoursRun > 0 {
		state = fmt.Sprintf("%s, %.3g h", r.Day, r.HoursRun)
	}
	return fmt.Sprintf("  %s  %s on %s (%s), %s\n", end(r.ID), what, r.Material, state, counted(len(r.Readings), "reading"))
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Runs is the logbook, the newest run first.
func Runs(log fettle.Logbook) string {
	if len(log.Runs) == 0 {
		return "Nothing has been logged; fettle run start begins a run.\n"
	}
	var b strings.Builder
	for i := len(log.Runs) - 1; i >= 0; i-- {
		b.WriteString(runLine(log.Runs[i]))
	}
	return b.String()
}

// Taken says what was taken from a logbook file.
func Taken(runs, readings, known int) string {
	s := fmt.Sprintf("%s with %s taken", counted(runs, "run"), counted(readings, "reading"))
	if known > 0 {
		s += fmt.Sprintf("; %d had been taken before", known)
	}
	return s + ".\n"
}

// Fit says whether a job is the shop's own.
func Fit(f fettle.Fit, sys fettle.System) string {
	var b strings.Builder
	if f.Ours {
		b.WriteString("It is ours: beyond nothing that the shop has set.\n")
	} else {
		b.WriteString("Not ours, because\n")
	}
	for _, r := range f.Because {
		fmt.Fprintf(&b, "  %s\n", sys.Reword(r.Says))
	}
	for _, r := range f.Open {
		fmt.Fprintf(&b, "  Not judged: %s\n", sys.Reword(r.Says))
	}
	return b.String()
}

// Envelope is what the shop takes.
func Envelope(e fettle.Envelope, sys fettle.System) string {
	var b strings.Builder
	if e.MaxMM != [3]float64{} {
		fmt.Fprintf(&b, "Up to %s × %s × %s\n", number(e.MaxMM[0], sys), number(e.MaxMM[1], sys), sys.Length(e.MaxMM[2]))
	}
	if e.MinMM > 0 {
		fmt.Fprintf(&b, "From %s on the longest side\n", sys.Length(e.MinMM))
	}
	if e.MaxKg > 0 {
		fmt.Fprintf(&b, "Up to %s\n", sys.Mass(e.MaxKg*1000))
	}
	if e.HolesUnderMM > 0 {
		fmt.Fprintf(&b, "No through hole or slot under %s\n", sys.Length(e.HolesUnderMM))
	}
	switch {
	case e.MinLot > 0 && e.MaxLot > 0:
		fmt.Fprintf(&b, "Lots of %d to %d\n", e.MinLot, e.MaxLot)
	case e.MinLot > 0:
		fmt.Fprintf(&b, "Lots of %d and more\n", e.MinLot)
	case e.MaxLot > 0:
		fmt.Fprintf(&b, "Lots of up to %d\n", e.MaxLot)
	}
	for _, l := range []struct {
		what  string
		names []string
	}{{"Materials", e.Materials}, {"Finishes", e.Finishes}} {
		if len(l.names) > 0 {
			fmt.Fprintf(&b, "%s: %s\n", l.what, strings.Join(l.names, ", "))
		}
	}
	if e.Notes != "" {
		b.WriteString(e.Notes + "\n")
	}
	if b.Len() == 0 {
		return "Everything: no limit has been stated; fettle envelope --propose shows what the shelf would allow.\n"
	}
	return b.String()
}
