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
//
// Where strict is set they are not carried anywhere: what throws traps.
func lowerExceptions(m *module, strict bool) (stats exceptionStats, err error) {
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
	l := &lowering{m: m, strict: strict, flow: &flow{m: m, throws: make([]bool, len(m.funcs))}, stats: &stats}
	if !strict {
		l.flow = newFlow(m, tries)
		l.addGlobals()
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
	strict bool
	flow   *flow
	thrown uint32     // global
	values [][]uint32 // globals, by tag and parameter
	stats  *exceptionStats
}

// addGlobals makes the globals and exports them.
func (l *lowering) addGlobals() {
	m := l.m
	var extra []byte
	add := func(t valType) uint32 {
		m.globals = append(m.globals, t)
		extra = append(extra, byte(t), 1)
		extra = append(appendZero(extra, t), opEnd)
		return uint32(len(m.globals) - 1)
	}
	export := func(name string, i uint32) {
		m.exports = append(m.exports, entity{name: name, kind: kindGlobal, rest: appendU32(nil, i)})
	}
	l.thrown = add(i32)
	export(exportThrown, l.thrown)
	n := uint32(1)
	for i, t := range m.tags {
		l.values = append(l.values, nil)
		for j, v := range m.types[t].params {
			l.values[i] = append(l.values[i], add(v))
			if n++; i == 0 && j == 0 {
				export(exportValue, l.values[i][j])
			}
		}
	}
	s := m.section(secGlobal)
	c := &cursor{b: s.body}
	have := uint32(0)
	if len(s.body) > 0 {
		have = c.u32()
	}
	s.body = slices.Concat(appendU32(nil, have+n), s.body[c.at:], extra)
	m.section(secExport)
}

// section finds a section and makes it, at its place, where there is none.
func (m *module) section(id byte) *section {
	place := func(id byte) int {
		return slices.Index([]byte{secType, secImport, secFunction, secTable, secMemory, secTag, secGlobal,
			secExport, secStart, secElement, secDataCount, secCode, secData}, id)
	}
	i := slices.IndexFunc(m.sections, func(s section) bool { return s.id != secCustom && place(s.id) >= place(id) })
	if i < 0 {
		i = len(m.sections)
	}
	if i == len(m.sections) || m.sections[i].id != id {
		m.sections = slices.Insert(m.sections, i, section{id: id})
	}
	return &m.sections[i]
}

// appendZero appends the instruction for a value of a type, whichever.
func appendZero(b []byte, t valType) []byte {
	switch t {
	case i32:
		return append(b, opI32Const, 0)
	case i64:
		return append(b, opI64Const, 0)
	case f32:
		return append(b, opF32Const, 0, 0, 0, 0)
	case f64:
		return append(b, opF64Const, 0, 0, 0, 0, 0, 0, 0, 0)
	}
	return append(b, opRefNull, byte(t))
}
