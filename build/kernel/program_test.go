package main

import (
	"slices"

	"pgregory.net/rapid"
)

// A scene is where a drawn statement stands.
type scene struct {
	t      *rapid.T
	p      *program
	self   int
	labels []int // opcode of every block round it, the function's first; 0 where no branch may go
	depth  int
}

// drawProgram draws a program of functions that call those after them, throw,
// catch and leave a trace. Every function takes an i32, which decides what throws;
// results are i32, none, or f64 and i32. Locals: 1 an i32 to remember things in,
// 2 to 7 counters of loops, 8 an f64.
func drawProgram(t *rapid.T) *program {
	p := &program{globals: 2, tags: []funcType{tagInt, tagPair}}
	results := []string{"i", "", "i", "di", ""}
	for _, r := range results {
		p.fns = append(p.fns, fn{typ: sig("i", r), locals: letters("iiiiiiid")})
	}
	p.fns[0].export = "main"
	for i := range p.fns {
		s := scene{t: t, p: p, self: i, labels: []int{opBlock}, depth: 4}
		end := map[string][]byte{"": nil, "i": code(opLocalGet, 1), "di": code(1.25, opLocalGet, 1)}[results[i]]
		// Fuel: a function that starts without it does nothing.
		start := code(opGlobalGet, 1, opI32Const, 1, 0x6b, opGlobalSet, 1,
			opGlobalGet, 1, opI32Const, 0, 0x48, opIf, 0x40, end, opReturn, opEnd)
		p.fns[i].code = code(start, s.list(), s.list(), end)
	}
	return p
}

func (s scene) pick(n int) int { return rapid.IntRange(0, n-1).Draw(s.t, "pick") }

func (s scene) in(op int) scene {
	s.labels = append(slices.Clone(s.labels), op)
	s.depth--
	return s
}

func (s scene) list() []byte {
	var b []byte
	for range 1 + s.pick(3) {
		b = append(b, s.statement()...)
	}
	return b
}

// note takes the i32 on the stack into the trace.
func note() []byte {
	return code(opGlobalGet, 0, opI32Const, 31, 0x6c, 0x6a, opGlobalSet, 0)
}

// sometimes does something for half of the arguments.
func (s scene) sometimes(do func(scene) []byte) []byte {
	return code(opLocalGet, 0, constant(int64(s.pick(4))), 0x76, opI32Const, 1, 0x71, opIf, 0x40, do(s.in(opIf)), opEnd)
}

func (s scene) statement() []byte {
	most := 7
	if s.depth > 0 {
		most = 14
	}
	switch s.pick(most) {
	case 0:
		return code(constant(int64(s.pick(50))), note())
	case 1:
		return code(opLocalGet, 1, opI32Const, 7, 0x6c, constant(int64(s.pick(50))), 0x6a, opLocalSet, 1)
	case 2:
		return code(opLocalGet, 1, note())
	case 3:
		return s.sometimes(scene.throw)
	case 4, 5:
		return s.call()
	case 6:
		return s.sometimes(scene.jump)
	case 7:
		in := s.in(opIf)
		return code(opLocalGet, 0, constant(int64(s.pick(4))), 0x76, opI32Const, 1, 0x71, opIf, 0x40, in.list(), opElse, in.list(), opEnd)
	case 8:
		counter := 2 + s.depth
		in := s.in(0)
		return code(opI32Const, 2, opLocalSet, counter, opLoop, 0x40, in.list(),
			opLocalGet, counter, opI32Const, 1, 0x6b, opLocalTee, counter, opBrIf, 0, opEnd)
	case 9:
		return code(opBlock, 0x40, s.in(opBlock).list(), opEnd)
	case 10:
		return code(opTry, 0x40, s.in(opTry).list(), opDelegate, leb(s.pick(len(s.labels))))
	case 11: // with values: one taken, two given
		t := s.p.typ(sig("i", "ii"))
		body := code(s.in(0).list(), constant(int64(s.pick(9))))
		return code(constant(int64(s.pick(9))), opTry, t, body,
			opCatch, 0, s.in(0).list(), constant(3), opCatchAll, constant(4), constant(5), opEnd, note(), note())
	}
	return s.try()
}

// try draws any mix of catch clauses.
func (s scene) try() []byte {
	b := code(opTry, 0x40, s.in(opTry).list())
	in := s.in(opCatch)
	for range s.pick(3) {
		if s.pick(2) == 0 {
			b = append(b, code(opCatch, 0, note(), in.list())...)
		} else {
			b = append(b, code(opCatch, 1, opLocalSet, 8, 0xa7, note(), in.list())...)
		}
	}
	if s.pick(2) == 0 {
		b = append(b, code(opCatchAll, in.list())...)
	}
	return append(b, opEnd)
}

// throw throws, or throws again what a clause round it caught.
func (s scene) throw() []byte {
	var caught []int
	for i, op := range s.labels {
		if op == opCatch {
			caught = append(caught, len(s.labels)-1-i)
		}
	}
	if len(caught) > 0 && s.pick(2) == 0 {
		return code(opRethrow, leb(caught[s.pick(len(caught))]))
	}
	if s.pick(2) == 0 {
		return code(constant(int64(s.pick(40))), opThrow, 0)
	}
	return code(opI64Const, leb(s.pick(40)), 0.5, opThrow, 1)
}

// jump branches to a block that takes no value, or returns.
func (s scene) jump() []byte {
	var to []int
	for i, op := range s.labels {
		if i > 0 && op != 0 {
			to = append(to, len(s.labels)-1-i)
		}
	}
	if len(to) > 0 {
		return code(opBr, leb(to[s.pick(len(to))]))
	}
	results := len(s.p.fns[s.self].typ.results)
	if results == 2 {
		return code(0.5, constant(6), opReturn)
	}
	return code(constant(6), opReturn)
}

// call calls a function further on, with a value below it on the stack, by name
// or through the table.
func (s scene) call() []byte {
	if s.self == len(s.p.fns)-1 {
		return code(opNop)
	}
	to := s.self + 1 + s.pick(len(s.p.fns)-1-s.self)
	typ := s.p.fns[to].typ
	b := code(constant(int64(s.pick(20))), opLocalGet, 0, constant(int64(s.pick(9))), 0x6a)
	if s.pick(3) == 0 {
		b = append(b, code(constant(int64(to)), opCallIndirect, s.p.typ(typ), 0)...)
	} else {
		b = append(b, code(opCall, to)...)
	}
	switch len(typ.results) {
	case 1:
		b = append(b, 0x6a)
	case 2:
		b = append(b, code(opLocalSet, 1, opLocalSet, 8, opLocalGet, 1, 0x6a)...)
	}
	return append(b, note()...)
}
