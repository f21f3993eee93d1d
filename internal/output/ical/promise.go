package ical

import (
	"fmt"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/tongue"
)

const (
	// lookMinutes is how long a look stands in the calendar.
	lookMinutes = 10
	lookAlarm   = 5 * time.Minute
)

// Promise is what a promise puts in a calendar: its steps, the looks as short events
// with an alarm, and the promised day. id is the job's: with it an event keeps its UID
// when the job is promised anew.
func Promise(p *fettle.Promise, title, id string, t *tongue.Tongue) []Event {
	uid := func(form string, args ...any) string {
		return fmt.Sprintf(form, args...) + "@" + safe(id) + ".fettle"
	}
	var out []Event
	var zone *time.Location
	for i, s := range p.Steps {
		zone = s.From.Location()
		name := s.Name
		if s.Load > 0 {
			name = t.Say("%s, load %d", s.Name, s.Load)
		}
		own := uid("step-%d-%s-%d", s.Step+1, safe(s.Key), s.Load)
		out = append(out, Event{
			UID: own, Summary: t.Say("%s: %s", title, name), Description: s.Waits, Location: place(p.Steps[i], t), From: s.From, To: s.To,
		})
		for k, at := range s.Looks {
			alarm := lookAlarm
			out = append(out, Event{
				UID: "look-" + fmt.Sprint(k+1) + "-" + own, Summary: t.Say("%s: look into %s", title, name), Location: place(p.Steps[i], t),
				From: at, To: at.Add(lookMinutes * time.Minute), AlarmBefore: &alarm,
			})
		}
	}
	day, err := time.Parse(time.DateOnly, p.Day)
	if err != nil {
		day = p.Safe
	}
	says := []string{}
	if zone != nil {
		says = append(says, t.Say("Likely ready %s.", p.Likely.In(zone).Format("2006-01-02 15:04")))
	}
	says = append(says, p.Chain...)
	return append(out, Event{
		UID: uid("promised"), Summary: t.Say("%s: promised", title), Description: strings.Join(says, "\n"), From: day, To: day, AllDay: true,
	})
}

// place is what a step needs, as a location.
func place(s fettle.PromiseStep, t *tongue.Tongue) string {
	kind, name, _ := strings.Cut(s.Resource, " ")
	switch {
	case kind == "person":
		return ""
	case s.Number > 0:
		return t.Say("%s no. %d", name, s.Number+1)
	}
	return name
}

// safe keeps what any reader takes in a UID.
func safe(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '-'
	}, s)
	if s == "" {
		return "job"
	}
	return s
}
