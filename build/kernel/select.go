package main

import (
	"fmt"
	"slices"
)

// floatSelects writes every select between two floats as one between their bits.
// The amd64 compiler of the engine that the module is made for (wazero 1.12) can
// give the wrong one of two floats: it tells its register allocator that a float's
// conditional move only writes its target, which in truth keeps what it had where
// the condition does not hold. For integers it tells the truth.
//
//	a b cond select
//
// becomes, with scratch locals k for the condition and y for the bits of b,
//
//	a b cond; local.set k; reinterpret; local.set y
//	reinterpret; local.get y; local.get k; select; reinterpret back
//
// Scratch locals rather than a reinterpretation where each operand was made: an
// operand may be one of several results of a call or block, which cannot be
// turned there. A compiler makes nothing of the locals. It returns how many
// selects it wrote.
func floatSelects(m *module) (int, error) {
	total := 0
	for i, body := range m.bodies {
		out, n, err := m.bodySelects(m.imported+i, body)
		if err != nil {
			return 0, fmt.Errorf("function %d: %w", m.imported+i, err)
		}
		m.bodies[i] = out
		total += n
	}
	return total, nil
}

func (m *module) bodySelects(index int, body []byte) ([]byte, int, error) {
	c := &cursor{b: body}
	typ := m.types[m.funcs[index]]
	groups := c.localGroups()
	start := c.at
	l := newScratch(typ.params, groups)
	t := &typer{m: m, c: c, locals: l.types}
	t.open(opBlock, funcType{results: typ.results})

	var out []byte
	done, n := start, 0 // body[start:done] is in out
	for c.more() && len(t.frames) > 0 {
		in := m.next(c)
		if c.err != nil {
			break
		}
		t.step(in)
		if in.op != opSelect && in.op != opSelectTyped || len(t.stack) == 0 {
			continue
		}
		v := t.stack[len(t.stack)-1]
		if !v.float() {
			continue
		}
		there, back, bits := byte(opI32OfF32), byte(opF32OfI32), i32
		if v == f64 {
			there, back, bits = opI64OfF64, opF64OfI64, i64
		}
		k, y := l.take(i32, 0), l.take(bits, 1)
		out = append(out, body[done:in.at]...)
		out = appendU32(append(out, opLocalSet), k)
		out = appendU32(append(out, there, opLocalSet), y)
		out = appendU32(append(out, there, opLocalGet), y)
		out = appendU32(append(out, opLocalGet), k)
		out = append(out, opSelect, back)
		done = c.at
		n++
	}
	if c.err == nil && (c.more() || len(t.frames) > 0) {
		c.fail("byte %d: the code does not end where the function does", c.at)
	}
	if c.err != nil || n == 0 {
		return body, 0, c.err
	}
	return slices.Concat(l.header(), out, body[done:]), n, nil
}

// A localGroup is so many locals of one type.
type localGroup struct {
	n   uint32
	typ valType
}

// maxLocals is what engines take in one function.
const maxLocals = 50000

func (c *cursor) localGroups() []localGroup {
	var g []localGroup
	total := uint64(0)
	for n := c.count(); n > 0 && c.err == nil; n-- {
		g = append(g, localGroup{c.u32(), c.valType()})
		if total += uint64(g[len(g)-1].n); total > maxLocals {
			c.fail("it has more than %d locals", maxLocals)
		}
	}
	return g
}

// A scratch hands out locals behind those that a function has.
type scratch struct {
	types  []valType // of parameters and locals
	groups []localGroup
	taken  map[slot]uint32
}

// A slot names a scratch local: locals of one type that are needed at once have
// different places.
type slot struct {
	typ   valType
	place int
}

func newScratch(params []valType, groups []localGroup) *scratch {
	s := &scratch{types: slices.Clone(params), groups: groups, taken: map[slot]uint32{}}
	for _, g := range groups {
		for range g.n {
			s.types = append(s.types, g.typ)
		}
	}
	return s
}

func (s *scratch) take(typ valType, place int) uint32 {
	k := slot{typ, place}
	i, ok := s.taken[k]
	if !ok {
		i = uint32(len(s.types))
		s.types = append(s.types, typ)
		s.groups = append(s.groups, localGroup{1, typ})
		s.taken[k] = i
	}
	return i
}

// header is the list of locals that a function's body begins with.
func (s *scratch) header() []byte {
	b := appendU32(nil, uint32(len(s.groups)))
	for _, g := range s.groups {
		b = append(appendU32(b, g.n), byte(g.typ))
	}
	return b
}
