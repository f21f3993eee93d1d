package fettle

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata"
)

func TestUsualCalendar(t *testing.T) {
	h, err := Calendar{Zone: "Europe/Berlin", Closed: []string{"2026-12-25"}}.Hours()
	if err != nil {
		t.Fatal(err)
	}
	if !h.Assumed || !h.Nights || h.Weekends || h.LongestDayMin() != 480 || h.Zone.String() != "Europe/Berlin" || len(h.Closed) != 1 {
		t.Errorf("%+v", h)
	}
	for d, want := range map[int]int{4: 1, 5: 0, 6: 0, 7: 1} { // Friday to Monday
		if got := h.Day(time.Date(2026, 12, d, 0, 0, 0, 0, time.UTC)); len(got) != want || want == 1 && got[0] != (Stretch{480, 960}) {
			t.Errorf("2026-12-%02d: %v", d, got)
		}
	}
}

func TestClosedSpans(t *testing.T) {
	h, err := Calendar{Week: []WorkDay{{"thu", "08:00", "12:00"}, {"fri", "13:00", "16:00"}, {"fri", "08:00", "12:00"}}, Closed: []string{"2026-12-24/2027-01-02", "2026-12-11"}}.Hours()
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[string]int{
		"2026-12-10": 1, "2026-12-11": 0, "2026-12-18": 2, "2026-12-24": 0, "2026-12-31": 0, "2027-01-01": 0, "2027-01-02": 0, "2027-01-07": 1,
	} {
		at, _ := time.Parse(time.DateOnly, day)
		got := h.Day(at)
		if len(got) != want {
			t.Errorf("%s: %v", day, got)
		}
		if want == 2 && (got[0] != Stretch{480, 720} || got[1] != Stretch{780, 960}) {
			t.Errorf("%s: %v are out of order", day, got)
		}
	}
}

// The clocks of Berlin go from 02:00 to 03:00 on 2026-03-29 and from 03:00 to 02:00 on
// 2026-10-25, at 01:00 UTC (Directive 2000/84/EC); those of New York from 02:00 to 03:00
// on 2026-03-08 and from 02:00 to 01:00 on 2026-11-01 (15 U.S.C. 260a).
func TestClocksThatChange(t *testing.T) {
	for _, c := range []struct{ zone, day, wall, want string }{
		{"Europe/Berlin", "2026-03-29", "01:59", "2026-03-29T00:59:00Z"},
		{"Europe/Berlin", "2026-03-29", "02:00", "2026-03-29T01:00:00Z"},
		{"Europe/Berlin", "2026-03-29", "02:30", "2026-03-29T01:00:00Z"}, // is not shown
		{"Europe/Berlin", "2026-03-29", "03:00", "2026-03-29T01:00:00Z"},
		{"Europe/Berlin", "2026-03-29", "08:00", "2026-03-29T06:00:00Z"},
		{"Europe/Berlin", "2026-03-28", "24:00", "2026-03-28T23:00:00Z"},
		{"Europe/Berlin", "2026-03-29", "24:00", "2026-03-29T22:00:00Z"},
		{"Europe/Berlin", "2026-10-25", "02:30", "2026-10-25T00:30:00Z"}, // the first of two
		{"Europe/Berlin", "2026-10-25", "03:00", "2026-10-25T02:00:00Z"},
		{"Europe/Berlin", "2026-10-26", "08:00", "2026-10-26T07:00:00Z"},
		{"America/New_York", "2026-03-08", "02:15", "2026-03-08T07:00:00Z"},
		{"America/New_York", "2026-03-08", "08:00", "2026-03-08T12:00:00Z"},
		{"America/New_York", "2026-11-01", "01:30", "2026-11-01T05:30:00Z"},
		{"America/New_York", "2026-11-01", "02:00", "2026-11-01T07:00:00Z"},
		{"", "2026-11-01", "02:00", "2026-11-01T02:00:00Z"},
	} {
		h, err := Calendar{Zone: c.zone}.Hours()
		if err != nil {
			t.Fatal(err)
		}
		day, _ := time.Parse(time.DateOnly, c.day)
		if got := h.At(day, clock(c.wall)).UTC().Format(time.RFC3339); got != c.want {
			t.Errorf("%s %s in %s is %s, want %s", c.day, c.wall, c.zone, got, c.want)
		}
	}
}

func TestCalendarsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		cal  Calendar
		want string
	}{
		{Calendar{Zone: "Europe/Atlantis"}, `time zone "Europe/Atlantis"`},
		{Calendar{Zone: "Local"}, `time zone "Local"`},
		{Calendar{Zone: "../passwd"}, "time zone"},
		{Calendar{Week: []WorkDay{{"monday", "08:00", "16:00"}}}, `day "monday"`},
		{Calendar{Week: []WorkDay{{"mon", "8 am", "16:00"}}}, `"8 am"`},
		{Calendar{Week: []WorkDay{{"mon", "08:00", "25:00"}}}, `"25:00"`},
		{Calendar{Week: []WorkDay{{"mon", "22:00", "06:00"}}}, "24:00"},
		{Calendar{Week: []WorkDay{{"mon", "08:00", "08:00"}}}, "not after it begins"},
		{Calendar{Week: []WorkDay{{"mon", "08:00", "12:00"}, {"Mon", "11:00", "16:00"}}}, "overlaps"},
		{Calendar{Closed: []string{"2026-02-30"}}, `"2026-02-30"`},
		{Calendar{Closed: []string{"2026-12-24/2026-12-20"}}, "before it begins"},
		{Calendar{Closed: []string{"2026-12-24/2062-12-31"}}, "five years"},
		{Calendar{Closed: []string{"25.12.2026"}}, "neither a day"},
	} {
		err := c.cal.Validate()
		if CodeOf(err) != Invalid || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%+v: %v, want %q in it", c.cal, err, c.want)
		}
	}
	for _, c := range []Calendar{{}, {Week: []WorkDay{{"sun", "00:00", "24:00"}}}, {Week: []WorkDay{{"FRI", "08:00", "12:00"}, {"fri", "12:00", "16:00"}}}} {
		if err := c.Validate(); err != nil {
			t.Errorf("%+v: %v", c, err)
		}
	}
}
