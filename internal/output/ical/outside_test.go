//go:build outside

package ical

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fettle/internal/output/tongue"
)

// read prints what another library finds in a file, one event after the other.
const read = `
import sys, json, datetime
from icalendar import Calendar
out = []
cal = Calendar.from_ical(open(sys.argv[1], "rb").read())
assert str(cal["version"]) == "2.0" and str(cal["prodid"]) == "-//Fettle//EN"
def moment(d):
    if not isinstance(d, datetime.datetime):
        return d.isoformat()
    return d.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")
for e in cal.walk("VEVENT"):
    assert moment(e["dtstamp"].dt) == "2026-11-30T07:05:09Z"
    out.append({
        "uid": str(e["uid"]), "summary": str(e["summary"]), "description": str(e.get("description", "")),
        "location": str(e.get("location", "")), "from": moment(e["dtstart"].dt), "to": moment(e["dtend"].dt) if "dtend" in e else "",
        "alarms": [[str(a["action"]), a["trigger"].dt.total_seconds(), str(a["description"])] for a in e.walk("VALARM")],
    })
json.dump(out, sys.stdout)
`

// Another library (Python's icalendar, Debian package python3-icalendar) finds the same
// texts, times and alarms.
func TestAnotherLibraryReadsIt(t *testing.T) {
	events := Promise(promised(), `Knobs, “satin”; 50 µm \ 2 thou`, "J7", tongue.English())
	events[0].Description = strings.Repeat("long, ünd; with \\ and “marks” 🙂\n", 20)
	events = append(events, Event{UID: "moment", Summary: "a moment", From: time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC), To: time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC), AlarmBefore: alarm(26*time.Hour + 5*time.Second)})
	file := filepath.Join(t.TempDir(), "promise.ics")
	if err := os.WriteFile(file, []byte(written(t, events...)), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("/usr/bin/python3", "-c", read, file)
	var says strings.Builder
	cmd.Stderr = &says
	b, err := cmd.Output()
	if err != nil {
		t.Fatalf("python3 with icalendar (Debian package python3-icalendar): %v: %s", err, says.String())
	}
	var got []struct {
		UID, Summary, Description, Location, From, To string
		Alarms                                        [][3]any
	}
	if err := json.Unmarshal(b, &got); err != nil {
		t.Fatal(err)
	}
	if len(got) != len(events) {
		t.Fatalf("%d events, want %d", len(got), len(events))
	}
	for i, e := range events {
		g := got[i]
		from, to := e.From.UTC().Format(time.RFC3339), e.To.UTC().Format(time.RFC3339)
		switch {
		case e.AllDay:
			from, to = e.From.Format(time.DateOnly), e.To.AddDate(0, 0, 1).Format(time.DateOnly)
		case e.To.Equal(e.From):
			to = ""
		}
		if g.UID != e.UID || g.Summary != e.Summary || g.Description != e.Description || g.Location != e.Location || g.From != from || g.To != to {
			t.Errorf("%+v is read as %+v", e, g)
		}
		switch {
		case e.AlarmBefore == nil && len(g.Alarms) == 0:
		case e.AlarmBefore == nil || len(g.Alarms) != 1:
			t.Errorf("%s: alarms %v", e.UID, g.Alarms)
		case g.Alarms[0][0] != "DISPLAY" || g.Alarms[0][1] != -e.AlarmBefore.Seconds() || g.Alarms[0][2] != e.Summary:
			t.Errorf("%s: alarm %v, want %s before", e.UID, g.Alarms[0], e.AlarmBefore)
		}
	}
}
