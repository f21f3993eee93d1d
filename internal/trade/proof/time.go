package proof

import (
	"fmt"
	"math"

	"fettle/internal/format/nc"
	"fettle/internal/trade/cusp"
)

const (
	cornerMM  = 0.01   // how far a control is taken to round a corner of the path
	changeS   = 15.0   // a tool change
	plainFeed = 5000.0 // mm/min of a rapid where no mill is known
)

// pace is what limits one move.
type pace struct {
	length float32 // mm; 0: takes no time
	cap    float32 // mm/s
	accel  float32 // mm/s²
	entry  float32 // mm/s, the most its start allows
}

// time runs the moves as a control with endless look-ahead does: each move is
// held to its feed, to what its bend allows (v² = a·r), to the blocks that the
// control can read in a second, and each joint to the speed that its corner
// allows; then a pass backwards and one forwards keep every change of speed
// within the axes' acceleration. Rapids start and end at rest. Time and memory
// grow with the moves.
func (j *job) time() error {
	p := j.Program
	paces := make([]pace, len(p.Moves))
	var held, cut float64
	var heldLine int32
	prev := -1 // the last move that the next may join without a stop
	var prevEnd [3]float64
	for i := range p.Moves {
		m := &p.Moves[i]
		if m.Kind == nc.Dwell || !m.Known || m.Home {
			prev = -1
			continue
		}
		length := j.lengthOf(m)
		if length == 0 {
			continue
		}
		start, end := j.ends(m)
		feed, accel := j.limits(m, start)
		if !(feed > 0) { // no feed given: there is a finding already
			prev = -1
			continue
		}
		q := &paces[i]
		q.length, q.accel = float32(length), float32(accel)
		if m.Kind != nc.Rapid {
			cut += length
			if m.Arc >= 0 {
				feed = cusp.CurveFeed(feed, p.Arcs[m.Arc].Radius, accel, 0, 0)
			} else if slow := cusp.CurveFeed(feed, 0, 0, length, j.Mill.BlocksPerS.Value); slow < 0.9*feed {
				held += length
				if heldLine == 0 {
					heldLine = m.Line
				}
				feed = slow
			} else {
				feed = slow
			}
		}
		q.cap = float32(feed / 60)
		if prev >= 0 && j.runsOn(prev, i) {
			corner := cusp.CornerFeed(turnOf(prevEnd, start), cornerMM, math.Min(accel, float64(paces[prev].accel)))
			q.entry = min(float32(math.Min(corner/60, 1e6)), q.cap, paces[prev].cap)
		}
		prev, prevEnd = i, end
	}
	j.runPaces(paces)
	if cut > 0 && held > 0.2*cut {
		j.note(int(heldLine), "blocks", "post with a wider tolerance or with arcs, or slow F so that the feed stays even",
			"%.0f %% of the cutting, from line %d, runs slower than its F: the control reads %.0f blocks a second and they are too short for that",
			100*held/cut, heldLine, j.Mill.BlocksPerS.Value)
	}
	return nil
}

// limits are the feed in mm/min and the acceleration in mm/s² of a move that
// starts in a direction.
func (j *job) limits(m *nc.Move, start [3]float64) (feed, accel float64) {
	const rigid = 1e9 // no acceleration is known: none is needed
	accel = cusp.SlopeAccel(j.Mill.AccelXY.Value*1000, j.Mill.AccelZ.Value*1000, math.Asin(math.Min(1, math.Abs(start[2]))))
	accel = math.Min(accel, rigid)
	top := j.Mill.MaxFeedMMMin
	if m.Kind == nc.Rapid {
		if top > 0 {
			return top, accel
		}
		return plainFeed, accel
	}
	feed = j.Program.Modes[m.Mode].Feed
	if top > 0 {
		feed = math.Min(feed, top)
	}
	return feed, accel
}

// runsOn reports whether a move may follow another without a stop.
func (j *job) runsOn(prev, i int) bool {
	a, b := &j.Program.Moves[prev], &j.Program.Moves[i]
	if a.Kind == nc.Rapid || b.Kind == nc.Rapid {
		return false
	}
	ma, mb := &j.Program.Modes[a.Mode], &j.Program.Modes[b.Mode]
	return !ma.Exact && ma.Tool == mb.Tool && ma.Offset == mb.Offset
}

// runPaces adds up the times of moves that follow each other.
func (j *job) runPaces(paces []pace) {
	// Backwards: no move may start faster than it can slow down to the next.
	next := float32(0)
	for i := len(paces) - 1; i >= 0; i-- {
		q := &paces[i]
		if q.length == 0 {
			if j.Program.Moves[i].Kind == nc.Dwell {
				next = 0
			}
			continue
		}
		q.entry = min(q.entry, sqrt32(next*next+2*q.accel*q.length))
		next = q.entry
	}
	// Forwards, with the entry of the next move as the way out.
	speed := 0.0
	for i := range paces {
		m := &j.Program.Moves[i]
		t := j.toolOf[m.Mode]
		if m.Kind == nc.Dwell {
			j.out.DwellS += m.Seconds
			t.seconds += m.Seconds
			speed = 0
			continue
		}
		q := paces[i]
		if q.length == 0 {
			continue
		}
		out := 0.0
		for k := i + 1; k < len(paces); k++ {
			if paces[k].length != 0 {
				out = float64(paces[k].entry)
				break
			}
		}
		l, a, v := float64(q.length), float64(q.accel), float64(q.cap)
		in := math.Min(speed, float64(q.entry))
		out = math.Min(out, math.Sqrt(in*in+2*a*l))
		peak := math.Min(v, math.Sqrt((2*a*l+in*in+out*out)/2))
		s := (peak-in)/a + (peak-out)/a
		if flat := l - (2*peak*peak-in*in-out*out)/(2*a); flat > 0 {
			s += flat / peak
		}
		speed = out
		t.seconds += s
		if m.Kind == nc.Rapid {
			j.out.RapidS += s
		} else {
			j.out.CutS += s
			t.cutS += s
		}
	}
	for _, e := range j.Program.Order {
		if e.What == nc.ToolChange {
			j.out.ToolChangeS += changeS
			j.tool(int(e.Value)).seconds += changeS
		}
	}
	j.out.TimeS = j.out.CutS + j.out.RapidS + j.out.DwellS + j.out.ToolChangeS
	name := j.Mill.Title
	if name == "" {
		name = fmt.Sprintf("no mill: feeds as programmed, rapids at %.0f mm/min", plainFeed)
	}
	j.out.TimeBasis = fmt.Sprintf("%s; acceleration and blocks a second from the shelf, corners rounded by %g mm, %.0f s a tool change, rapids at the largest feed", name, cornerMM, changeS)
}

func sqrt32(v float32) float32 { return float32(math.Sqrt(float64(v))) }
