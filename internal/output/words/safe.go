package words

import (
	"fmt"

	"fettle"
)

// size is a number of bytes for a person.
func (v voice) size(n int64) string {
	switch {
	case n < 1e3:
		return v.Count(int(n), "%d byte", "%d bytes")
	case n < 1e6:
		return fmt.Sprintf("%.0f kB", float64(n)/1e3)
	case n < 1e9:
		return fmt.Sprintf("%.1f MB", float64(n)/1e6)
	}
	return fmt.Sprintf("%.1f GB", float64(n)/1e9)
}

// rows is how many records of a shop stand in its tables.
func rows(ts []fettle.TableRows, table string) int {
	for _, t := range ts {
		if t.Table == table {
			return int(t.Rows)
		}
	}
	return 0
}

// kept counts records, revisions and files.
func (v voice) kept(ts []fettle.TableRows, files int, bytes int64) string {
	return v.Say("%s with %s and %s (%s)", v.Count(rows(ts, "record"), "1 record", "%d records"), v.Count(rows(ts, "revision"), "1 revision", "%d revisions"),
		v.Count(files, "1 file", "%d files"), v.size(bytes))
}

// second is how the moment of a backup is shown.
const second = "2006-01-02 15:04:05"

// Backup says what a backup holds.
func (l Voice) Backup(r fettle.BackupReport) string {
	v := l.in("")
	var b lines
	b.put("", v.Say("%s: %s, as of %s; read back and found whole.", r.Path, v.kept(r.Tables, r.Files, r.FileBytes), r.Made.Format(second)))
	v.lost(&b, r.Lost)
	return b.String()
}

func (v voice) lost(b *lines, files []string) {
	for _, f := range files {
		b.put("", v.Say("Not in it, because the shop no longer has it as it came: file %s; fettle check says more.", f))
	}
}

// Restored says what came back.
func (l Voice) Restored(r fettle.RestoreReport) string {
	v := l.in("")
	var b lines
	b.put("", v.Say("%s are back, as of %s.", v.kept(r.Tables, r.Files, r.FileBytes), r.Made.Format(second)))
	if r.Before != "" {
		b.put("", v.Say("What was there before is kept in %s.", r.Before))
	}
	if r.Waiting > 0 {
		b.put("", v.Count(r.Waiting, "1 task waits for the queue again.", "%d tasks wait for the queue again."))
	}
	v.lost(&b, r.Lost)
	for _, n := range r.Notes {
		b.put("", n)
	}
	return b.String()
}

// Checked says whether a workspace is sound.
func (l Voice) Checked(r fettle.CheckReport) string {
	v := l.in("")
	var b lines
	b.put("", v.Say("%s, %s, %s, %s, %s (%s) read.", v.Count(int(r.Records), "1 record", "%d records"), v.Count(int(r.Revisions), "1 revision", "%d revisions"),
		v.Count(int(r.Links), "1 link", "%d links"), v.Count(int(r.Tasks), "1 task", "%d tasks"), v.Count(int(r.Files), "1 file", "%d files"), v.size(r.FileBytes)))
	if n := len(r.Leftovers); n > 0 {
		b.put("", v.Count(n, "1 file that nothing refers to, which does no harm.", "%d files that nothing refers to, which does no harm."))
	}
	if r.Sound {
		b.put("", v.Say("All of it is as it was stored."))
		return b.String()
	}
	for _, f := range r.Findings {
		b.put("", v.Say("%s: %s", f.About, f.Says))
	}
	if r.More > 0 {
		b.put("", v.Count(r.More, "and 1 more", "and %d more"))
	}
	return b.String()
}

// Mapping says how a partner's recipe lies on this shop's shelf.
func (l Voice) Mapping(m fettle.Mapping, sys fettle.System) string {
	v := l.in(sys)
	var b lines
	b.put("", v.Say("%s on this shelf", m.Recipe))
	for _, st := range m.Steps {
		switch {
		case st.Now == "":
			b.put("  ", v.Say("%s: nothing here does it", st.Was))
		case st.Now == st.Was:
			b.put("  ", st.Was)
		default:
			b.put("  ", v.Say("%s: here %s", st.Was, st.Now))
		}
		if st.HoursWas != nil && st.HoursNow != nil {
			b.put("      ", v.Say("%s h there, %s h here", hoursOf(*st.HoursWas), hoursOf(*st.HoursNow)))
		}
		for _, u := range st.Uses {
			if u.Grade != fettle.SameThing {
				b.put("      ", v.Reword(u.Says))
			}
		}
		for _, s := range st.Says {
			b.put("      ", v.Reword(s))
		}
	}
	for i, s := range m.Missing {
		if i == 0 {
			b.put("", v.Say("What does not match"))
		}
		b.put("  ", v.Reword(s))
	}
	if m.Ready {
		b.put("", v.Say("Every step has something on this shelf that will do."))
	}
	return b.String()
}

// hoursOf is an estimate with its bounds, to two figures.
func hoursOf(e fettle.Estimate) string {
	return fmt.Sprintf("%.2g (%.2g–%.2g)", e.Value, e.Low, e.High)
}

// Unpacked says what came of a partner's pack.
func (l Voice) Unpacked(job, title, from string, m fettle.Mapping, notOurs []fettle.Refusal, sys fettle.System) string {
	v := l.in(sys)
	var b lines
	if from != "" {
		b.put("", v.Say("%s is now job %s, from %s.", title, job, from))
	} else {
		b.put("", v.Say("%s is now job %s.", title, job))
	}
	for i, r := range notOurs {
		if i == 0 {
			b.put("", v.Say("It is beyond what this shop takes:"))
		}
		b.put("  ", v.Reword(r.Says))
	}
	b.WriteString("\n" + l.Mapping(m, sys))
	return b.String()
}
