package main

import (
	"fmt"
	"slices"
)

// Names of the globals that say what was thrown: 0 for nothing or 1 and the
// number of the tag, and the value that the exception carries. A host that called
// in and gets an answer back looks at the first: where it is not 0 the answer
// means nothing, an exception has left the module, and the instance is spent.
const (
	exportThrown = "__exception_tag"
	exportValue  = "__exception_value"
)

// lowerExceptions takes the exception instructions out of a module and puts in
// their place what old compilers did for processors that know none: a thrown
// exception stands in globals, every call that may throw is followed by a look
// at them and a branch to the catch clauses of the try round it or, where there
// is none, out of the function with any result.
//
// Engines with exceptions of their own would need none of this. wazero 1.12 is
// slow at them (it copies its stack at every try), and its compiler forgets what
// a try block wrote to locals before the exception.
func lowerExceptions(m *module) (stats exceptionStats, err error) {
	if !m.has(secTag) {
		return stats, nil
	}
	tries := make([][]*try, len(m.bodies))
	for i, body := range m.bodies {
		if tries[i], err = m.tries(body); err != nil {
			return stats, fmt.Errorf("function %d: %w", m.imported+i, err)
		}
	}
	for _, body := range m.bodies {
		if err := m.checkCalls(body); err != nil {
			return stats, err
		}
	}
	l := &lowering{m: m, flow: newFlow(m, tries), stats: &stats}
	if err := l.addGlobals(); err != nil {
		return stats, err
	}
	for i, body := range m.bodies {
		stats.tries += len(tries[i])
		m.lands(body, tries[i], func(in instr, into []*try, _ bool) {
			if l.flow.can(in) {
				for _, t := range into {
					t.hit = true
				}
			}
		})
		if m.bodies[i], err = l.body(m.imported+i, body, tries[i]); err != nil {
			return stats, fmt.Errorf("function %d: %w", m.imported+i, err)
		}
	}
	m.sections = slices.DeleteFunc(m.sections, func(s section) bool { return s.id == secTag })
	m.exports = slices.DeleteFunc(m.exports, func(e entity) bool { return e.kind == kindTag })
	m.tags = nil
	return stats, nil
}

type exceptionStats struct{ tries, calls, checks int }

func (m *module) checkCalls(body []byte) error {
	c := &cursor{b: body}
	c.localGroups()
	for c.more() {
		if in := m.next(c); in.op == opCall {
			at(c, "function", m.funcs, in.index)
		}
	}
	return c.err
}

// A lowering is the state shared by all functions.
type lowering struct {
	m      *module
	flow   *flow
	thrown uint32     // global
	values [][]uint32 // globals, by tag and parameter
	stats  *exceptionStats
}

// addGlobals makes the globals and exports them.
func (l *lowering) addGlobals() error {
	l.thrown = l.m.addGlobal(i32)
	if err := l.m.export(exportThrown, l.thrown); err != nil {
		return err
	}
	for i, t := range l.m.tags {
		l.values = append(l.values, nil)
		for j, v := range l.m.types[t].params {
			l.values[i] = append(l.values[i], l.m.addGlobal(v))
			if i == 0 && j == 0 {
				if err := l.m.export(exportValue, l.values[i][j]); err != nil {
					return err
				}
			}
		}
	}
	return nil
}
