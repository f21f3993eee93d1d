package fettle

import "time"

// Calendar is when somebody is in the shop, and what may run when nobody is. Without a
// week it stands for the usual one: see [Calendar.Usual].
type Calendar struct {
	// Zone is an IANA time zone; empty means UTC.
	Zone string    `json:"zone,omitempty"`
	Week []WorkDay `json:"week,omitempty"`
	// Closed are days and spans of days without work: "2026-12-25",
	// "2026-12-24/2027-01-02", both ends in it.
	Closed []string `json:"closed,omitempty"`
	// Nights lets vessels run on from one working day to the next, Weekends over days
	// without work as well: it does nothing without Nights.
	Nights   bool   `json:"nights"`
	Weekends bool   `json:"weekends"`
	Basis    string `json:"basis,omitempty"`
}

// WorkDay is one stretch of a day of the week at which somebody is in.
type WorkDay struct {
	Day  string `json:"day"`  // "mon" to "sun"
	From string `json:"from"` // "08:00"
	To   string `json:"to"`   // "16:30"
}

// Booking is a stretch of time that something of the shop's is taken.
type Booking struct {
	Job   string `json:"job,omitempty"` // the job's id
	Title string `json:"title"`
	// Resource is "person", "mill NAME" or "vessel NAME"; Number tells vessels of one
	// name apart, from 0.
	Resource string    `json:"resource"`
	Number   int       `json:"number,omitempty"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	What     string    `json:"what"`
}

// Promise is when a lot can be ready, and why not sooner.
type Promise struct {
	From time.Time `json:"from"` // when work may begin
	// Likely is when it is ready if all takes its median, Safe if all takes its upper
	// bound. Day is the day to promise: that of Safe, RFC 3339 full-date.
	Likely time.Time `json:"likely"`
	Safe   time.Time `json:"safe"`
	Day    string    `json:"day"`
	// Steps are those of the safe reckoning, by when they begin.
	Steps []PromiseStep `json:"steps"`
	// Chain are the reasons for the day, first to last: what each step that decides it
	// waits for.
	Chain []string `json:"chain"`
	// Moves are what would make it sooner or later, the largest gain first.
	Moves    []Move    `json:"moves"`
	Bookings []Booking `json:"bookings"` // what the safe reckoning takes
	Basis    string    `json:"basis"`
}

// PromiseStep is one piece of work on the calendar.
type PromiseStep struct {
	Step     int         `json:"step"` // index into the route; -1 for what comes before it
	Key      string      `json:"key"`
	Name     string      `json:"name"`
	Resource string      `json:"resource"`
	Number   int         `json:"number,omitempty"`
	Load     int         `json:"load,omitempty"` // of a charge, from 1
	From     time.Time   `json:"from"`
	To       time.Time   `json:"to"`
	Looks    []time.Time `json:"looks"` // when to look into it
	Waits    string      `json:"waits"` // what it waited for
}

// Move is what would move a promise.
type Move struct {
	What  string    `json:"what"`
	Ready time.Time `json:"ready"`
	Days  float64   `json:"days"` // sooner; below 0 for later
	Says  string    `json:"says"`
}
