package words

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"fettle"
)

// Promise says when a lot can be ready: the day, the chain of reasons for it, what
// would move it, and when to look into what runs. Times are those of the shop's own
// zone, as the promise has them; names of cutters and media keep the sizes that they
// are sold by.
func (l Voice) Promise(pr *fettle.Promise, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	if pr == nil || pr.Safe.IsZero() {
		p.say("", "No day was worked out for this lot.")
		return p.String()
	}
	p.say("", "Promise it for %s.", v.Day(promised(pr)))
	if pr.Likely.Before(pr.Safe) {
		p.say("", "If all goes as it mostly does, it is ready on %s. If every step takes as long as it well may, it is ready on %s.", v.Moment(pr.Likely), v.Moment(pr.Safe))
	} else {
		p.say("", "It is ready on %s.", v.Moment(pr.Safe))
	}
	if !pr.From.IsZero() {
		p.say("", "This holds if work may begin on %s.", v.Moment(pr.From))
	}
	if len(pr.Chain) > 0 {
		p.head("Why not sooner")
		for i, s := range pr.Chain {
			p.text(padLeft(v.Say("%d.", i+1), 4)+" ", v.Sentence(s))
		}
	}
	section(p, "What would move it", pr.Moves, v.move)
	p.looks(pr.Steps)
	section(p, "The work in its order, if all takes long", pr.Steps, v.promiseStep)
	if pr.Basis != "" {
		p.head("How it was reckoned")
		p.item("%s", v.Sentence(pr.Basis))
	}
	return p.String()
}

// promised is the day of a promise.
func promised(pr *fettle.Promise) time.Time {
	if d, err := time.Parse(time.DateOnly, pr.Day); err == nil {
		return d
	}
	return pr.Safe
}

// move says what would move a promise.
func (v voice) move(m fettle.Move) string {
	if m.Says != "" {
		return v.Sentence(m.Says)
	}
	switch days := two(max(m.Days, -m.Days)); {
	case m.Days > 0 && days == "1":
		return v.Say("With %s it is ready on %s, 1 day sooner.", m.What, v.Moment(m.Ready))
	case m.Days > 0:
		return v.Say("With %s it is ready on %s, %s days sooner.", m.What, v.Moment(m.Ready), days)
	case m.Days < 0 && days == "1":
		return v.Say("With %s it is ready on %s, 1 day later.", m.What, v.Moment(m.Ready))
	case m.Days < 0:
		return v.Say("With %s it is ready on %s, %s days later.", m.What, v.Moment(m.Ready), days)
	}
	return v.Say("With %s it is ready on %s, no sooner and no later.", m.What, v.Moment(m.Ready))
}

// looks says when to look into what runs, by time.
func (p *page) looks(steps []fettle.PromiseStep) {
	v := p.v
	type look struct {
		at   time.Time
		step fettle.PromiseStep
	}
	var all []look
	for _, s := range steps {
		for _, at := range s.Looks {
			all = append(all, look{at, s})
		}
	}
	slices.SortStableFunc(all, func(a, b look) int { return a.at.Compare(b.at) })
	section(p, "When to look", all, func(k look) string {
		return v.Say("%s: %s", v.Moment(k.at), v.Sentence(v.loadName(k.step)))
	})
}

// loadName names a step with the load that it is of.
func (v voice) loadName(s fettle.PromiseStep) string {
	name := plain(cmp.Or(s.Name, s.Key))
	if s.Load > 0 {
		return v.Say("%s, load %d", name, s.Load)
	}
	return name
}

// promiseStep is one piece of work with its time, who or what does it and what it
// waited for.
func (v voice) promiseStep(s fettle.PromiseStep) string {
	when := v.Say("%s to %s", v.Moment(s.From), v.Moment(s.To))
	if s.From.Format(time.DateOnly) == s.To.Format(time.DateOnly) {
		when = v.Say("%s to %s", v.Moment(s.From), s.To.Format("15:04"))
	}
	does := v.Say("%s: %s (%s).", when, v.loadName(s), v.resource(s.Resource, s.Number))
	if s.Resource == "" {
		does = v.Say("%s: %s.", when, v.loadName(s))
	}
	waits := ""
	if s.Waits != "" {
		waits = v.Sentence(s.Waits)
	}
	return sentences(does, waits)
}

// resource names what does a piece of work: "person", "mill NAME" or "vessel NAME",
// of which a shop may have several.
func (v voice) resource(r string, number int) string {
	kind, name, _ := strings.Cut(r, " ")
	switch {
	case kind == "person" && name == "":
		return v.Say("a person")
	case kind == "mill" && name == "":
		return v.Say("the mill")
	case kind == "vessel" && number > 0:
		return v.Say("%s, number %d", name, number+1)
	case kind == "mill" || kind == "vessel":
		return name
	}
	return r
}
