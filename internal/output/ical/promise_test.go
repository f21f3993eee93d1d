package ical

import (
	"slices"
	"testing"
	"time"

	"fettle"
	"fettle/internal/output/tongue"
)

// promised is a small promise: two loads of a charge and an inspection.
func promised() *fettle.Promise {
	zone := time.FixedZone("CET", 3600)
	at := func(day, hour, min int) time.Time { return time.Date(2026, 12, day, hour, min, 0, 0, zone) }
	return &fettle.Promise{
		From: at(1, 8, 0), Likely: at(3, 10, 0), Safe: at(4, 9, 30), Day: "2026-12-04",
		Steps: []fettle.PromiseStep{
			{Step: -1, Key: "program", Name: "programming", Resource: "person", From: at(1, 8, 0), To: at(1, 10, 0), Waits: "It begins at once."},
			{Step: 0, Key: "tumble cob-2 in dry barrel", Name: "cob, dry", Resource: "vessel dry barrel", Load: 1, From: at(1, 10, 0), To: at(2, 8, 9), Looks: []time.Time{at(1, 14, 6)}},
			{Step: 0, Key: "tumble cob-2 in dry barrel", Name: "cob, dry", Resource: "vessel dry barrel", Number: 1, Load: 2, From: at(1, 10, 6), To: at(2, 8, 18), Looks: []time.Time{at(1, 14, 12), at(1, 15, 30)}},
			{Step: 1, Key: "inspect", Name: "inspecting", Resource: "person", From: at(4, 8, 0), To: at(4, 9, 30)},
		},
		Chain: []string{"Programming takes 2 h, from Tue 1 Dec 08:00 to 10:00."},
	}
}

func TestPromiseAsEvents(t *testing.T) {
	p := promised()
	events := Promise(p, "Escutcheon plates", "0197-J7", tongue.English())
	// Four steps, three looks, one day.
	if len(events) != 8 {
		t.Fatalf("%d events, want 8", len(events))
	}
	seen := map[string]bool{}
	alarms := 0
	for _, e := range events {
		if seen[e.UID] {
			t.Errorf("%s stands there twice", e.UID)
		}
		seen[e.UID] = true
		if e.AlarmBefore != nil {
			alarms++
			if !slices.ContainsFunc(p.Steps, func(s fettle.PromiseStep) bool { return slices.Contains(s.Looks, e.From) }) || e.To.Sub(e.From) > 15*time.Minute {
				t.Errorf("%s at %s is no look", e.Summary, e.From)
			}
		}
	}
	if alarms != 3 {
		t.Errorf("%d alarms, want 3", alarms)
	}
	last := events[7]
	if !last.AllDay || last.From.Format(time.DateOnly) != "2026-12-04" || last.Summary != "Escutcheon plates: promised" {
		t.Errorf("%+v", last)
	}
	if e := events[3]; e.Summary != "Escutcheon plates: cob, dry, load 2" || e.Location != "dry barrel no. 2" {
		t.Errorf("%+v", e)
	}
	// Promised anew for another day, an event replaces its old self.
	for i := range p.Steps {
		p.Steps[i].From = p.Steps[i].From.Add(24 * time.Hour)
	}
	for i, e := range Promise(p, "Escutcheon plates", "0197-J7", tongue.English()) {
		if e.UID != events[i].UID {
			t.Errorf("%s became %s", events[i].UID, e.UID)
		}
	}
	for _, e := range Promise(p, "Escutcheon plates", "0197-J8", tongue.English()) {
		if seen[e.UID] {
			t.Errorf("%s is another job's", e.UID)
		}
	}
}
