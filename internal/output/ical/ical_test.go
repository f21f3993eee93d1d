package ical

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"fettle"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func alarm(d time.Duration) *time.Duration { return &d }

func written(t testing.TB, events ...Event) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, "Escutcheon plates", time.Date(2026, 11, 30, 7, 5, 9, 0, time.UTC), events); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Checked by hand against RFC 5545: lines of at most 75 octets without their CRLF, cut
// anywhere and gone on with a space (3.1); backslash, semicolon, comma and newline
// escaped (3.3.11); UTC times with a Z (3.3.5); UID and DTSTAMP in every event and a
// DTEND that is not in it, for days the day after the last (3.6.1, whose own example has
// a festival from 28 June to 8 July end on 20070709); action, trigger and description in
// an alarm that is shown (3.6.6, whose own example triggers at -PT30M); PRODID and
// VERSION once (3.6).
func TestFileByHand(t *testing.T) {
	zone := time.FixedZone("CET", 3600)
	got := written(t,
		Event{
			UID: "step-1@J7.fettle", Summary: "Cob; load 1, dry barrel", Location: `shelf C:\2`,
			Description: "It waits until Tue 1 Dec 11:30, because “Brass knobs” has the barrel until then.\nThen it runs.",
			From:        time.Date(2026, 12, 1, 11, 30, 0, 0, zone), To: time.Date(2026, 12, 2, 8, 9, 0, 0, zone),
		},
		Event{
			UID: "look-1@J7.fettle", Summary: "Look into the dry barrel", AlarmBefore: alarm(30 * time.Minute),
			From: time.Date(2026, 12, 1, 15, 36, 0, 0, zone), To: time.Date(2026, 12, 1, 15, 46, 0, 0, zone),
		},
		Event{UID: "promised@J7.fettle", Summary: "Promised", AllDay: true, From: time.Date(2027, 6, 28, 0, 0, 0, 0, zone), To: time.Date(2027, 7, 8, 0, 0, 0, 0, zone)},
	)
	want := strings.Join([]string{
		"BEGIN:VCALENDAR",
		"VERSION:2.0",
		"PRODID:-//Fettle//EN",
		"CALSCALE:GREGORIAN",
		"METHOD:PUBLISH",
		"X-WR-CALNAME:Escutcheon plates",
		"BEGIN:VEVENT",
		"UID:step-1@J7.fettle",
		"DTSTAMP:20261130T070509Z",
		"DTSTART:20261201T103000Z",
		"DTEND:20261202T070900Z",
		`SUMMARY:Cob\; load 1\, dry barrel`,
		// 75 octets: “ and ” are three each
		`DESCRIPTION:It waits until Tue 1 Dec 11:30\, because “Brass knobs” has `,
		` the barrel until then.\nThen it runs.`,
		`LOCATION:shelf C:\\2`,
		"END:VEVENT",
		"BEGIN:VEVENT",
		"UID:look-1@J7.fettle",
		"DTSTAMP:20261130T070509Z",
		"DTSTART:20261201T143600Z",
		"DTEND:20261201T144600Z",
		"SUMMARY:Look into the dry barrel",
		"BEGIN:VALARM",
		"ACTION:DISPLAY",
		"TRIGGER:-PT30M",
		"DESCRIPTION:Look into the dry barrel",
		"END:VALARM",
		"END:VEVENT",
		"BEGIN:VEVENT",
		"UID:promised@J7.fettle",
		"DTSTAMP:20261130T070509Z",
		"DTSTART;VALUE=DATE:20270628",
		"DTEND;VALUE=DATE:20270709",
		"SUMMARY:Promised",
		"TRANSP:TRANSPARENT",
		"END:VEVENT",
		"END:VCALENDAR",
		"",
	}, "\r\n")
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

// The RFC's own example of TEXT (3.3.11), and durations as its 3.3.6 writes them (15
// days, 5 hours and 20 seconds: P15DT5H0M20S).
func TestExamplesOfTheRFC(t *testing.T) {
	if got, want := text("Project XYZ Final Review\nConference Room - 3B\nCome Prepared."), `Project XYZ Final Review\nConference Room - 3B\nCome Prepared.`; got != want {
		t.Errorf("%s", got)
	}
	day := 24 * time.Hour
	for d, want := range map[time.Duration]string{
		15*day + 5*time.Hour + 20*time.Second: "-P15DT5H0M20S", 7 * day: "-P7D", 15 * time.Minute: "-PT15M", 0: "PT0S",
		-time.Hour: "PT1H", 45 * time.Second: "-PT45S", day + 90*time.Minute: "-P1DT1H30M", time.Millisecond: "PT0S",
	} {
		if got := trigger(d); got != want {
			t.Errorf("%s: %s, want %s", d, got, want)
		}
	}
}

func TestEventsThatCannotBe(t *testing.T) {
	at := time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
	for _, e := range []Event{{Summary: "no UID", From: at, To: at}, {UID: "a", Summary: "backwards", From: at, To: at.Add(-time.Minute)}} {
		if err := Write(&bytes.Buffer{}, "", at, []Event{e}); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v", e.Summary, err)
		}
	}
	// A moment has no DTEND: it would have to be later than DTSTART (3.8.2.2).
	if s := written(t, Event{UID: "a", From: at, To: at.Add(time.Millisecond)}); strings.Contains(s, "DTEND") {
		t.Error(s)
	}
}

// unfold takes the breaks out of content lines as 3.1 says: CRLF and one space or tab.
func unfold(s string) string {
	return strings.NewReplacer("\r\n ", "", "\r\n\t", "").Replace(s)
}

// untext reads a TEXT value as 3.3.11 writes it.
func untext(s string) string {
	return strings.NewReplacer(`\\`, `\`, `\;`, ";", `\,`, ",", `\n`, "\n", `\N`, "\n").Replace(s)
}

func checkText(t interface{ Fatalf(string, ...any) }, s string) {
	line := "DESCRIPTION:" + text(s)
	folded := fold(line)
	if got := unfold(folded); got != line+"\r\n" {
		t.Fatalf("%q comes back as %q", line, got)
	}
	for _, l := range strings.Split(strings.TrimSuffix(folded, "\r\n"), "\r\n") {
		if len(l) > 75 || !utf8.ValidString(l) {
			t.Fatalf("%q: a line of %d octets, or a character cut", l, len(l))
		}
		if strings.ContainsFunc(l, func(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f }) {
			t.Fatalf("%q holds a control character", l)
		}
	}
	clean := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(strings.ToValidUTF8(s, "\uFFFD"))
	clean = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, clean)
	if got := untext(text(s)); got != clean {
		t.Fatalf("%q is read as %q, want %q", s, got, clean)
	}
}

func TestTextComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkText(t, rapid.OneOf(rapid.String(), rapid.StringN(60, 200, -1), rapid.StringMatching(`[a-z,;\\\r\n\t “”µ🙂]{0,200}`)).Draw(t, "text"))
	})
}

func FuzzText(f *testing.F) {
	f.Add("plain")
	f.Add(strings.Repeat("é", 40) + "\r\n;,\\n" + strings.Repeat("🙂", 30))
	f.Add("\xff\x00\x7f\\")
	f.Fuzz(func(t *testing.T, s string) { checkText(t, s) })
}
