package main

import "fmt"

// A try is what is known of a try block before its code is written again.
type try struct {
	delegate int // label that exceptions are handed to, -1 where there is none
	catches  int // catch clauses
	all      bool
	tags     map[uint32]bool
	hit      bool // something in it can throw to its catch clauses
	rethrown bool
}

// handles says whether the try has a catch clause at all. One without, or one
// that delegates, only says where exceptions go.
func (t *try) handles() bool { return t.delegate < 0 && t.catches > 0 }

// covers says whether no exception gets past the catch clauses. Those that a
// module knows no tag of do not occur: hosts in Go do not throw.
func (t *try) covers(tags int) bool { return t.all || len(t.tags) == tags }

// caller stands for the landing of what a function does not catch itself.
const caller = -1

// A flow says of every function whether an exception can leave it.
type flow struct {
	m       *module
	throws  []bool
	typeKey []int // of every type: the first one that is the same
	anyOf   []bool
}

// tries lists the try blocks of a body in the order in which they begin.
func (m *module) tries(body []byte) ([]*try, error) {
	c := &cursor{b: body}
	c.localGroups()
	var list, open []*try // nil for a frame that is no try
	open = append(open, nil)
	for c.more() && len(open) > 0 {
		in := m.next(c)
		top := open[len(open)-1]
		switch in.op {
		case opBlock, opLoop, opIf:
			open = append(open, nil)
		case opTry:
			t := &try{delegate: -1, tags: map[uint32]bool{}}
			list, open = append(list, t), append(open, t)
		case opCatch, opCatchAll, opDelegate:
			if top == nil || top.all {
				c.fail("byte %d: a catch without its try", in.at)
				break
			}
			switch in.op {
			case opCatch:
				top.catches++
				top.tags[in.index] = true
				at(c, "tag", m.tags, in.index)
			case opCatchAll:
				top.catches++
				top.all = true
			case opDelegate:
				if top.catches > 0 || int(in.index) >= len(open)-1 {
					c.fail("byte %d: a delegate that leads nowhere", in.at)
				}
				top.delegate = int(in.index)
				open = open[:len(open)-1]
			}
		case opRethrow:
			if int(in.index) >= len(open) || open[len(open)-1-int(in.index)] == nil {
				c.fail("byte %d: a rethrow outside a catch", in.at)
				break
			}
			open[len(open)-1-int(in.index)].rethrown = true
		case opEnd:
			open = open[:len(open)-1]
		}
	}
	if c.err == nil && (c.more() || len(open) > 0) {
		c.fail("byte %d: the code does not end where the function does", c.at)
	}
	return list, c.err
}

// A span is a frame while a body is read for what lands where.
type span struct {
	t              *try
	landing, outer int // index of a frame, or caller
}

// lands calls event for every instruction of a body that can throw, with the
// try blocks that the exception may land in, inmost first, and whether it may
// leave the function.
func (m *module) lands(body []byte, tries []*try, event func(in instr, into []*try, leaves bool)) {
	c := &cursor{b: body}
	c.localGroups()
	frames := []span{{landing: caller}}
	next := 0
	for c.more() && len(frames) > 0 {
		in := m.next(c)
		top := &frames[len(frames)-1]
		switch in.op {
		case opBlock, opLoop, opIf:
			frames = append(frames, span{landing: top.landing})
		case opTry:
			t := tries[next]
			next++
			s := span{t: t, landing: top.landing, outer: top.landing}
			if t.delegate >= 0 {
				s.landing = frames[len(frames)-1-t.delegate].landing
			} else if t.handles() {
				s.landing = len(frames)
			}
			frames = append(frames, s)
		case opCatch, opCatchAll:
			top.landing = top.outer
		case opDelegate, opEnd:
			frames = frames[:len(frames)-1]
		case opThrow, opRethrow, opCall, opCallIndirect:
			var into []*try
			at := top.landing
			for at != caller {
				into = append(into, frames[at].t)
				if frames[at].t.covers(len(m.tags)) {
					break
				}
				at = frames[at].outer
			}
			event(in, into, at == caller)
		}
	}
}

// newFlow follows exceptions through calls until nothing changes. A call through
// a table may reach any function of its type.
func newFlow(m *module, tries [][]*try) *flow {
	f := &flow{m: m, throws: make([]bool, len(m.funcs)), typeKey: make([]int, len(m.types)), anyOf: make([]bool, len(m.types))}
	first := map[string]int{}
	for i, t := range m.types {
		k := fmt.Sprint(t)
		if _, ok := first[k]; !ok {
			first[k] = i
		}
		f.typeKey[i] = first[k]
	}
	callers := make([][]uint32, len(m.funcs))   // of a function, where its exceptions leave theirs
	callersOf := make([][]uint32, len(m.types)) // the same through a table, by type
	var todo []uint32
	mark := func(i uint32) {
		if !f.throws[i] {
			f.throws[i] = true
			todo = append(todo, i)
		}
	}
	for i, body := range m.bodies {
		self := uint32(m.imported + i)
		m.lands(body, tries[i], func(in instr, _ []*try, leaves bool) {
			switch {
			case !leaves:
			case in.op == opThrow, in.op == opRethrow:
				mark(self)
			case in.op == opCall:
				callers[in.index] = append(callers[in.index], self)
			case in.op == opCallIndirect:
				k := f.typeKey[in.index]
				callersOf[k] = append(callersOf[k], self)
			}
		})
	}
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, c := range callers[i] {
			mark(c)
		}
		k := f.typeKey[m.funcs[i]]
		if !f.anyOf[k] {
			f.anyOf[k] = true
			for _, c := range callersOf[k] {
				mark(c)
			}
		}
	}
	return f
}

// can says whether an instruction can throw.
func (f *flow) can(in instr) bool {
	switch in.op {
	case opThrow, opRethrow:
		return true
	case opCall:
		return f.throws[in.index]
	case opCallIndirect:
		return f.anyOf[f.typeKey[in.index]]
	}
	return false
}
