package words

import (
	"fmt"
	"strings"

	"fettle"
)

// size is a number of bytes for a person.
func size(n int64) string {
	switch {
	case n < 1e3:
		return fmt.Sprintf("%d bytes", n)
	case n < 1e6:
		return fmt.Sprintf("%.0f kB", float64(n)/1e3)
	case n < 1e9:
		return fmt.Sprintf("%.1f MB", float64(n)/1e6)
	}
	return fmt.Sprintf("%.1f GB", float64(n)/1e9)
}

// rows is how many records of a shop stand in its tables.
func rows(ts []fettle.TableRows, table string) int64 {
	for _, t := range ts {
		if t.Table == table {
			return t.Rows
		}
	}
	return 0
}

// Backup says what a backup holds.
func Backup(r fettle.BackupReport) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d records with %d revisions and %d files (%s), as of %s; read back and found whole.\n",
		r.Path, rows(r.Tables, "record"), rows(r.Tables, "revision"), r.Files, size(r.FileBytes), r.Made.Format("2006-01-02 15:04:05"))
	lost(&b, r.Lost)
	return b.String()
}

func lost(b *strings.Builder, files []string) {
	for _, f := range files {
		fmt.Fprintf(b, "Not in it, because the shop no longer has it as it came: file %s; fettle check says more.\n", f)
	}
}

// Restored says what came back.
func Restored(r fettle.RestoreReport) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d records with %d revisions and %d files (%s) are back, as of %s.\n",
		rows(r.Tables, "record"), rows(r.Tables, "revision"), r.Files, size(r.FileBytes), r.Made.Format("2006-01-02 15:04:05"))
	if r.Before != "" {
		fmt.Fprintf(&b, "What was there before is kept in %s.\n", r.Before)
	}
	if r.Waiting > 0 {
		fmt.Fprintf(&b, "%s for the queue again.\n", waits(r.Waiting))
	}
	lost(&b, r.Lost)
	for _, n := range r.Notes {
		b.WriteString(n + "\n")
	}
	return b.String()
}

func waits(n int) string {
	if n == 1 {
		return "1 task waits"
	}
	return fmt.Sprintf("%d tasks wait", n)
}

// Checked says whether a workspace is sound.
func Checked(r fettle.CheckReport) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d records, %d revisions, %d links, %d tasks, %d files (%s) read.\n", r.Records, r.Revisions, r.Links, r.Tasks, r.Files, size(r.FileBytes))
	if n := len(r.Leftovers); n > 0 {
		fmt.Fprintf(&b, "%s that nothing refers to, which does no harm.\n", counted(n, "file"))
	}
	if r.Sound {
		b.WriteString("All of it is as it was stored.\n")
		return b.String()
	}
	for _, f := range r.Findings {
		fmt.Fprintf(&b, "%s: %s\n", f.About, f.Says)
	}
	if r.More > 0 {
		fmt.Fprintf(&b, "and %d more\n", r.More)
	}
	return b.String()
}

// Mapping says how a partner's recipe lies on this shop's shelf.
func Mapping(m fettle.Mapping, sys fettle.System) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on this shelf\n", m.Recipe)
	for _, st := range m.Steps {
		switch {
		case st.Now == "":
			fmt.Fprintf(&b, "  %s: nothing here does it\n", st.Was)
		case st.Now == st.Was:
			fmt.Fprintf(&b, "  %s\n", st.Was)
		default:
			fmt.Fprintf(&b, "  %s: here %s\n", st.Was, st.Now)
		}
		if st.HoursWas != nil && st.HoursNow != nil {
			fmt.Fprintf(&b, "      %s h there, %s h here\n", hoursOf(*st.HoursWas), hoursOf(*st.HoursNow))
		}
		for _, u := range st.Uses {
			if u.Grade != fettle.SameThing {
				fmt.Fprintf(&b, "      %s\n", sys.Reword(u.Says))
			}
		}
		for _, s := range st.Says {
			fmt.Fprintf(&b, "      %s\n", sys.Reword(s))
		}
	}
	for i, s := range m.Missing {
		if i == 0 {
			b.WriteString("What does not match\n")
		}
		fmt.Fprintf(&b, "  %s\n", sys.Reword(s))
	}
	if m.Ready {
		b.WriteString("Every step has something on this shelf that will do.\n")
	}
	return b.String()
}

// hoursOf is an estimate with its bounds, to two figures.
func hoursOf(e fettle.Estimate) string {
	return fmt.Sprintf("%.2g (%.2g–%.2g)", e.Value, e.Low, e.High)
}

// Unpacked says what came of a partner's pack.
func Unpacked(job, title, from string, m fettle.Mapping, notOurs []fettle.Refusal, sys fettle.System) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s is now job %s", title, job)
	if from != "" {
		fmt.Fprintf(&b, ", from %s", from)
	}
	b.WriteString(".\n")
	for i, r := range notOurs {
		if i == 0 {
			b.WriteString("It is beyond what this shop takes:\n")
		}
		fmt.Fprintf(&b, "  %s\n", sys.Reword(r.Says))
	}
	b.WriteString("\n" + Mapping(m, sys))
	return b.String()
}
