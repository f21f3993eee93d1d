// Package promise says when a lot can be ready, and why not sooner.
//
// [Of] lays the steps of a plan on the shop's calendar, one after the other for the
// whole lot: a person who is in at certain hours, a mill that runs while somebody is
// in, and vessels that may run on at night. It does so twice, once with the medians and
// once with the upper bounds, and promises the day of the second. Time goes in whole
// minutes.
//
// Each piece of work begins at the first minute at which all that it needs is free.
// For one load, one vessel and all work by hand nothing sooner is possible: every later
// moment is a rising function of the one before it. Several vessels side by side share
// one person, and there loads are placed one by one, each where it is out first; see
// [Of] for what that leaves open.
package promise

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"fettle"
)

// Input is what a promise is reckoned from.
type Input struct {
	Plan     *fettle.Plan
	Rates    fettle.Rates
	Vessels  []fettle.Vessel
	Machines []fettle.Machine
	// Booked is what is taken already. Bookings of Job itself are passed over, so that
	// a job can be promised anew.
	Booked []fettle.Booking
	From   time.Time // when work may begin
	Job    string    // id that the bookings bear
	Title  string
}

const (
	// horizonYears is how far ahead anything is looked for.
	horizonYears = 3
	// nearDays is how far it is looked for at first, because most lots are ready by
	// then and a calendar takes longer to lay out than they do.
	nearDays = 100
)

// Of reckons a promise. The error is Invalid for a calendar or minutes that cannot be
// reckoned with, NotFound for a vessel that is not there, and No where the lot would not
// be ready within three years.
//
// A vessel more never makes the safe day later. More bookings never make it sooner where
// no step has several loads in several vessels; with those, loads that want the person
// at the same minute may fall out better by chance.
func Of(ctx context.Context, in Input) (*fettle.Promise, error) {
	if in.Plan == nil {
		panic("promise: no plan")
	}
	s, err := newShop(in)
	if err != nil {
		return nil, err
	}
	likely, err := s.best(ctx, medians)
	if err != nil {
		return nil, err
	}
	safe, err := s.best(ctx, uppers)
	if err != nil {
		return nil, err
	}
	p := &fettle.Promise{
		From:     s.at(s.from),
		Likely:   s.at(min(likely.end, safe.end)), // the safe plan does for shorter work too
		Safe:     s.at(safe.end),
		Day:      s.at(safe.end).Format(time.DateOnly),
		Bookings: safe.bookings(),
		Basis:    s.basis(),
	}
	p.Steps = safe.steps()
	p.Chain = safe.chain()
	if p.Moves, err = s.moves(ctx, safe); err != nil {
		return nil, err
	}
	return p, nil
}

// shop is what a schedule is made in.
type shop struct {
	in      Input
	hours   fettle.Hours
	from    int  // minutes since 1970
	now     int  // what the shelf counts hours from
	far     bool // the calendar is laid out to the horizon
	open    []span
	run     []span // when a vessel may run
	ran     []int  // minutes of run before each
	stretch float64
	labels  []label
	vessels []vessel
	notes   []string
	lot     int
	half    bool // half of the lot
	// lines as they are before the job: the person, the mill, each vessel by kind and
	// number.
	person, mill line
	millName     string
}

type vessel struct {
	name, title string
	lines       []line // by number
}

func newShop(in Input) (*shop, error) {
	h, err := in.Rates.Calendar.Hours()
	if err != nil {
		return nil, err
	}
	s := &shop{in: in, hours: h, lot: max(in.Plan.Brief.Lot, 1)}
	s.from = ceilMinute(in.From)
	s.now = s.from
	s.takeHours()
	// The longest day, so that nobody works faster on a short one.
	if s.stretch = float64(h.LongestDayMin()) / 60 / in.Rates.Day(); !(s.stretch > 1) {
		s.stretch = 1
	}
	s.millName = in.Plan.Mill.Name
	if s.millName == "" && len(in.Machines) > 0 {
		s.millName = in.Machines[0].Name
	}
	s.takeLines()
	return s, nil
}

// takeHours lays the calendar out.
func (s *shop) takeHours() {
	s.open, s.run = spans(s.hours, s.from, s.horizon())
	s.ran = make([]int, len(s.run))
	for i := 1; i < len(s.run); i++ {
		s.ran[i] = s.ran[i-1] + s.run[i-1].to - s.run[i-1].from
	}
}

// takeLines reads what is booked.
func (s *shop) takeLines() {
	s.labels, s.vessels = []label{{}}, nil
	var person, mill []busy
	byVessel := map[string]map[int][]busy{}
	for _, b := range s.in.Booked {
		if s.in.Job != "" && b.Job == s.in.Job {
			continue
		}
		from, to := floorMinute(b.From), ceilMinute(b.To)
		if to <= from || to <= s.from {
			continue
		}
		piece := busy{max(from, s.from), to, s.label(label{job: b.Job, title: b.Title})}
		kind, name, _ := strings.Cut(b.Resource, " ")
		switch {
		case kind == "person":
			person = append(person, piece)
		case kind == "mill" && fettle.FoldName(name) == fettle.FoldName(s.millName):
			mill = append(mill, piece)
		case kind == "vessel":
			n := fettle.FoldName(name)
			if byVessel[n] == nil {
				byVessel[n] = map[int][]busy{}
			}
			byVessel[n][b.Number] = append(byVessel[n][b.Number], piece)
		}
	}
	s.person, s.mill = newLine(person), newLine(mill)
	for _, v := range s.in.Vessels {
		w := vessel{name: v.Name, title: v.Title}
		if w.title == "" {
			w.title = v.Name
		}
		for n := range max(v.Count, 1) {
			taken := byVessel[fettle.FoldName(v.Name)][n]
			if v.FreeInH > 0 {
				until := s.now + int(math.Ceil(math.Min(v.FreeInH, 1e5)*60-1e-6))
				taken = append(taken, busy{s.now, until, s.label(label{shelf: true})})
			}
			w.lines = append(w.lines, newLine(taken))
		}
		s.vessels = append(s.vessels, w)
	}
}

// vessel finds one by name; -1 for none.
func (s *shop) vessel(name string) int {
	for i, v := range s.vessels {
		if fettle.FoldName(v.name) == fettle.FoldName(name) {
			return i
		}
	}
	return -1
}

func (s *shop) label(l label) int32 {
	for i, m := range s.labels[1:] {
		if m == l || l.job != "" && m.job == l.job {
			return int32(i + 1)
		}
	}
	s.labels = append(s.labels, l)
	return int32(len(s.labels) - 1)
}

// basis says what the days rest on.
func (s *shop) basis() string {
	say := []string{
		"The likely time takes the median of all work, the safe one the upper bound (90 %) of every step; as hardly ever all bounds come true together, the safe day is cautious.",
		"There is one person, and each step is done with the whole lot before the next is begun.",
	}
	if s.hours.Assumed {
		zone := s.hours.Zone.String()
		say = append(say, fmt.Sprintf("The shelf has no calendar: Monday to Friday from 08:00 to 16:00 in %s is taken, with vessels that run on through nights and not over weekends.", zone))
	}
	if s.stretch > 1 {
		say = append(say, fmt.Sprintf("Of a day of %s a person is at it for %s, so that a minute of work takes %.2f by the clock.",
			fettle.Minutes(float64(s.hours.LongestDayMin())), fettle.Minutes(s.in.Rates.Day()*60), s.stretch))
	}
	for _, o := range s.in.Plan.Route {
		if o.Charge != nil {
			say = append(say, "A look that falls when nobody is in is taken when somebody is, and the timer stops the charge until then; past the last look of the plan a charge runs to its end.")
			break
		}
	}
	for _, l := range s.in.Plan.Price.Lines {
		if l.Key == fettle.LineSamples {
			say = append(say, "Rounds of samples with the customer are not in it.")
			break
		}
	}
	return strings.Join(append(say, s.notes...), " ")
}

func floorMinute(t time.Time) int {
	u := t.Unix()
	m := u / 60
	if u%60 < 0 {
		m--
	}
	return int(m)
}

func ceilMinute(t time.Time) int {
	m := floorMinute(t)
	if time.Unix(int64(m)*60, 0).Before(t) {
		m++
	}
	return m
}

// at is a minute as a moment in the shop's zone.
func (s *shop) at(minute int) time.Time { return time.Unix(int64(minute)*60, 0).In(s.hours.Zone) }
