package tongue

import "time"

// months are dates by their month: the day of the month and the year are set in.
var months = [...]Key{
	"%d January %d", "%d February %d", "%d March %d", "%d April %d", "%d May %d", "%d June %d",
	"%d July %d", "%d August %d", "%d September %d", "%d October %d", "%d November %d", "%d December %d",
}

// weekdays stand before a date.
var weekdays = [...]Key{"Sunday %s", "Monday %s", "Tuesday %s", "Wednesday %s", "Thursday %s", "Friday %s", "Saturday %s"}

// Date is a day: "4 December 2026".
func (t *Tongue) Date(d time.Time) string { return months[d.Month()-1].In(t, d.Day(), d.Year()) }

// Day is a day with its name: "Friday 4 December 2026".
func (t *Tongue) Day(d time.Time) string { return weekdays[d.Weekday()].In(t, t.Date(d)) }

// Moment is a day with the time by the clock: "Friday 4 December 2026, 14:30".
func (t *Tongue) Moment(d time.Time) string { return t.Say("%s, %s", t.Day(d), d.Format("15:04")) }
