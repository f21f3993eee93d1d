package shop

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fettle"
	"fettle/internal/trade/jam"
)

// ShelfWear is how the media on the shelf wear, and what they will wear into.
type ShelfWear struct {
	At    time.Time   `json:"at"`
	Media []MediaWear `json:"media"`
	// LeftOut are open jobs whose openings are not known yet.
	LeftOut []NotJudged `json:"left_out"`
}

// NotJudged is an open job without openings to hold media to.
type NotJudged struct {
	Job   string `json:"job"`
	Title string `json:"title"`
	Says  string `json:"says"`
}

// MediaWear is one kind of media on its way from new to discarded.
type MediaWear struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	// HoursAWeek is how much it has been used lately; null where it was not.
	HoursAWeek *float64 `json:"hours_a_week"`
	Uses       string   `json:"uses"` // where that number comes from, in words
	// NowShare is its size now as a share of that when new, NowMM the size at the
	// median.
	NowShare fettle.Estimate `json:"now_share"`
	NowMM    [2]float64      `json:"now_mm"`
	// Discard is when it is worn to where it is thrown out.
	Discard WearWhen `json:"discard"`
	// Into are the openings of open jobs that it goes into before it is thrown out:
	// first those that it will, the soonest first, then those that it does already.
	Into []WearInto `json:"into"`
}

// WearWhen is a time in hours of use, and on the calendar where the use is known.
type WearWhen struct {
	When string `json:"when" enum:"already,later,never"`
	// Hours of running from now on; left out unless it is later.
	Hours *fettle.Estimate `json:"hours,omitempty"`
	// Day is today and those hours at the use of late, RFC 3339 full-date; Early and
	// Late go with the interval. Empty where there is no use or more than twenty years.
	Day   string `json:"day,omitempty"`
	Early string `json:"early,omitempty"`
	Late  string `json:"late,omitempty"`
}

// WearInto is an opening that media go into.
type WearInto struct {
	WearWhen
	Job     string             `json:"job"`
	Title   string             `json:"title"`
	Opening string             `json:"opening"`
	Kind    fettle.OpeningKind `json:"kind"`
	// WidthMM is the clear width that it goes into: a keyhole's round end is wider than
	// its slot.
	WidthMM float64 `json:"width_mm"`
	// Chance that it stays there, at the size of now or of when it first goes in.
	Chance fettle.Chance `json:"chance"`
	Why    string        `json:"why"`
}

// lately is how far back use is counted.
const lately = 8 * 7 * 24 * time.Hour

// openPart is an open job with its openings.
type openPart struct {
	id, title string
	openings  []fettle.Opening
}

// Wear says of all media on the shelf how large they are now and when they will have
// worn into which opening of which open job. Openings are judged by clear width and the
// least width of a piece, without trying poses: that takes no time, and the basis says it.
func (s *Shop) Wear(ctx context.Context) (*ShelfWear, error) {
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return nil, err
	}
	log, err := s.Logbook(ctx)
	if err != nil {
		return nil, err
	}
	w := &ShelfWear{At: s.now().UTC(), Media: []MediaWear{}, LeftOut: []NotJudged{}}
	parts, err := s.openParts(ctx, w)
	if err != nil {
		return nil, err
	}
	for _, m := range shelf.Media {
		w.Media = append(w.Media, wearOf(m, useOf(m, log.Runs, shelf.Vessels, w.At), parts, w.At))
	}
	return w, nil
}

// openParts are the jobs that are not shipped or refused, with the openings of their
// newest plan or else of the survey of their model.
func (s *Shop) openParts(ctx context.Context, w *ShelfWear) ([]openPart, error) {
	jobs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptJob})
	if err != nil {
		return nil, err
	}
	var out []openPart
	for _, r := range jobs {
		j, err := bodyOf[fettle.Job](r)
		if err != nil {
			return nil, err
		}
		if j.State == fettle.JobShipped || j.State == fettle.JobNo {
			continue
		}
		sv, err := s.surveyOf(ctx, r, j)
		if err != nil {
			if c := fettle.CodeOf(err); c == fettle.Internal {
				return nil, err
			}
			w.LeftOut = append(w.LeftOut, NotJudged{r.ID, j.Title, err.Error()})
			continue
		}
		out = append(out, openPart{r.ID, j.Title, sv.Openings})
	}
	return out, nil
}

// use is how media were used, as far as the log knows.
type use struct {
	aWeek  *float64
	barrel bool // lately mostly in one
	says   string
	// Hours that they have run since the size that is known, in a barrel and in any
	// other vessel.
	inBarrel, inBowl float64
	share            float64 // of the new size, at which those hours begin
	basis            string
}

// useOf reads the log for one kind of media.
func useOf(m fettle.Media, runs []fettle.Run, vessels []fettle.Vessel, now time.Time) use {
	kind := map[string]fettle.VesselKind{}
	for _, v := range vessels {
		kind[fettle.FoldName(v.Name)] = v.Kind
	}
	u := use{share: 1, basis: "hours run on the shelf"}
	since := ""
	if l, ok := measured(m); ok {
		u.share, since = l.share, l.day
		u.basis = fmt.Sprintf("lot %s, measured on %s, and the runs since", l.name, l.day)
	}
	today, from := now.Format(time.DateOnly), now.Add(-lately).Format(time.DateOnly)
	first := "" // the log's first day within the window, where it has none before
	var recent, recentBarrel, logged, loggedBarrel float64
	where := map[string]bool{}
	for _, r := range runs {
		if r.Day != "" && r.Day <= today && (first == "" || r.Day < first) {
			first = r.Day
		}
		h := hoursOf(r)
		if r.Kind != fettle.StepTumble || h == 0 || fettle.FoldName(r.Media) != fettle.FoldName(m.Name) {
			continue
		}
		barrel := kind[fettle.FoldName(r.Vessel)] == fettle.Rotary
		if since == "" || r.Day > since {
			logged += h
			if barrel {
				loggedBarrel += h
			}
		}
		if r.Day >= from && r.Day <= today {
			recent += h
			if barrel {
				recentBarrel += h
			}
			if !where[r.Vessel] {
				where[r.Vessel] = true
				u.says += ", " + r.Vessel
			}
		}
	}
	// Hours that the shelf knows and the log does not are taken as in a bowl, which wears
	// more; without a measurement the shelf's hours are all there were.
	u.inBarrel, u.inBowl = loggedBarrel, logged-loggedBarrel
	if since == "" {
		u.inBarrel = math.Min(loggedBarrel, m.HoursRun)
		u.inBowl = m.HoursRun - u.inBarrel
	}
	u.barrel = recent > 0 && recentBarrel > recent/2
	if recent == 0 {
		u.says = "not used in the last 8 weeks"
		return u
	}
	weeks := 8.0
	if first > from {
		if t, err := time.Parse(time.DateOnly, first); err == nil {
			weeks = math.Min(8, math.Max(1, now.Sub(t).Hours()/(7*24)))
		}
	}
	per := recent / weeks
	u.aWeek = &per
	u.says = fmt.Sprintf("%.3g h in the last %.2g weeks, in %s", recent, weeks, strings.TrimPrefix(u.says, ", "))
	return u
}

// hoursOf is how long a run took, or at least was read at.
func hoursOf(r fettle.Run) float64 {
	h := r.HoursRun
	if h == 0 {
		for _, rd := range r.Readings {
			h = math.Max(h, rd.AtH)
		}
	}
	return h
}

type lotSize struct {
	name, day string
	share     float64
}

// measured is the newest measurement of a lot; of two on one day the smaller counts.
func measured(m fettle.Media) (lotSize, bool) {
	var best lotSize
	for _, l := range m.Lots {
		if !(l.MeasuredMM[0] > 0) || !(m.SizeMM[0] > 0) || l.MeasuredOn == "" {
			continue
		}
		share := l.MeasuredMM[0] / m.SizeMM[0]
		if l.MeasuredMM[1] > 0 && m.SizeMM[1] > 0 {
			share = math.Min(share, l.MeasuredMM[1]/m.SizeMM[1])
		}
		if best.day == "" || l.MeasuredOn > best.day || l.MeasuredOn == best.day && share < best.share {
			best = lotSize{l.Name, l.MeasuredOn, share}
		}
	}
	best.share = math.Min(best.share, 1)
	return best, best.day != ""
}

// wearOf holds one kind of media to all openings.
func wearOf(m fettle.Media, u use, parts []openPart, now time.Time) MediaWear {
	w := MediaWear{Name: m.Name, Title: m.Title, HoursAWeek: u.aWeek, Uses: u.says, Into: []WearInto{}}
	// Size falls by the same length in every hour (tumble.MediaHours). What it was and
	// what it will be are wrong together, by one rate.
	lost := func(bowl, barrel float64) float64 { return (u.inBowl*bowl + u.inBarrel*barrel) / 300 }
	share := func(bowl, barrel float64) float64 { return math.Max(m.WornShare(), u.share-lost(bowl, barrel)) }
	bowl, barrel := m.WearBowlPctH, m.WearBarrelPctH
	w.NowShare = fettle.Guess(share(bowl.Value, barrel.Value), share(bowl.High, barrel.High), share(bowl.Low, barrel.Low), u.basis)
	k := w.NowShare.Value
	w.NowMM = [2]float64{k * m.SizeMM[0], k * m.SizeMM[1]}

	vessel, rate := "a bowl", bowl
	if u.barrel {
		vessel, rate = "a barrel", barrel
	}
	until := func(fit float64, basis string) WearWhen {
		if fit >= u.share-lost(bowl.Value, barrel.Value) {
			return WearWhen{When: "already"}
		}
		if !(rate.Low > 0) {
			return WearWhen{When: "never"}
		}
		at := func(bowl, barrel, rate float64) float64 {
			return math.Max(0, 300*(u.share-lost(bowl, barrel)-fit)/rate)
		}
		h := fettle.Guess(at(bowl.Value, barrel.Value, rate.Value), at(bowl.High, barrel.High, rate.High), at(bowl.Low, barrel.Low, rate.Low),
			fmt.Sprintf("%s; wear in %s: %s%s", u.basis, vessel, rate.Basis, basis))
		when := WearWhen{When: "later", Hours: &h}
		if u.aWeek != nil {
			when.Day, when.Early, when.Late = dayAfter(now, h.Value / *u.aWeek), dayAfter(now, h.Low / *u.aWeek), dayAfter(now, h.High / *u.aWeek)
		}
		return when
	}
	w.Discard = until(m.WornShare(), "")

	size := m // as large as now, and no longer wearing
	size.SizeMM, size.HoursRun, size.Worn = w.NowMM, 0, 1
	for _, p := range parts {
		for _, o := range p.openings {
			fit := jam.FitShare(o, m)
			if fit == 0 || fit < m.WornShare() {
				continue // thrown out before, or not known
			}
			into := WearInto{Job: p.id, Title: p.title, Opening: o.ID, Kind: o.Kind, WidthMM: fit * jam.Calipers(m)[0]}
			into.WearWhen = until(fit, "; by clear width and the least width of a piece, poses were not tried")
			then := size
			if into.When == "never" {
				continue
			}
			if into.When == "later" {
				then.SizeMM = [2]float64{fit * m.SizeMM[0], fit * m.SizeMM[1]}
			}
			j := jam.Jams([]fettle.Opening{o}, then)[0]
			into.Chance, into.Why = j.Chance, j.Why
			w.Into = append(w.Into, into)
		}
	}
	slices.SortStableFunc(w.Into, func(a, b WearInto) int {
		switch {
		case (a.Hours == nil) != (b.Hours == nil):
			if a.Hours == nil {
				return 1
			}
			return -1
		case a.Hours == nil || a.Hours.Value == b.Hours.Value:
			return 0
		case a.Hours.Value < b.Hours.Value:
			return -1
		}
		return 1
	})
	return w
}

// dayAfter is the day so many weeks from now; empty past twenty years.
func dayAfter(now time.Time, weeks float64) string {
	if !(weeks <= 20*52) {
		return ""
	}
	return now.Add(time.Duration(weeks * 7 * 24 * float64(time.Hour))).Format(time.DateOnly)
}
