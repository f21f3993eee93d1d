package main

import "slices"

// A part is a control frame of the code as it was, with where it stands in the
// code as it becomes. Labels count the blocks that are open there, from the
// function's own, 0.
type part struct {
	op      int
	t       *try
	typ     funcType
	label   int // where a branch to the frame goes
	land    int // where exceptions thrown in a try's body go
	landing int // label for exceptions in this part of it, unwind where none is round it
	outer   int // the same for those that its catch clauses let pass
	open    bool
	final   bool // the catch clause that stands takes all that is left
	seen    map[uint32]bool
	cut     int // where code begins that is never come to, -1
	place   int // of its scratch locals
}

// A writer writes one body.
type writer struct {
	*lowering
	c       *cursor
	out     []byte
	depth   int // blocks open in out
	unwind  int // label for exceptions that leave the function
	parts   []part
	scratch *scratch
}

func (l *lowering) body(index int, body []byte, tries []*try) ([]byte, error) {
	m := l.m
	typ := m.types[m.funcs[index]]
	c := &cursor{b: body}
	groups := c.localGroups()
	w := &writer{lowering: l, c: c, scratch: newScratch(typ.params, groups)}
	leaves := l.flow.throws[index]
	if leaves {
		w.block(opBlock, funcType{})
		w.unwind = w.depth
	}
	w.parts = []part{{op: opBlock, typ: typ, landing: w.unwind, cut: -1}}
	for c.more() && len(w.parts) > 0 {
		in := m.next(c)
		if c.err != nil {
			break
		}
		switch in.op {
		case opBlock, opLoop, opIf:
			p := part{op: in.op, typ: in.block, landing: w.top().landing, cut: -1}
			w.block(in.op, in.block)
			p.label = w.depth
			w.parts = append(w.parts, p)
		case opTry:
			w.try(tries[0], in.block)
			tries = tries[1:]
		case opCatch:
			w.catch(in.index, true)
		case opCatchAll:
			w.catch(0, false)
		case opDelegate:
			w.end()
			w.parts = w.parts[:len(w.parts)-1]
		case opEnd:
			w.endPart(leaves)
		case opBr, opBrIf:
			w.out = append(w.out, byte(in.op))
			w.to(in.index)
		case opBrTable:
			w.out = appendU32(append(w.out, opBrTable), uint32(len(in.labels)-1))
			for _, k := range in.labels {
				w.to(k)
			}
		case opThrow:
			w.throw(in.index)
		case opRethrow:
			w.rethrow(in.index)
		default:
			w.out = append(w.out, c.b[in.at:c.at]...)
			w.check(in)
		}
	}
	if c.err != nil {
		return nil, c.err
	}
	return slices.Concat(w.scratch.header(), w.out), nil
}

func (w *writer) top() *part { return &w.parts[len(w.parts)-1] }

func (w *writer) block(op int, t funcType) {
	w.out = w.m.appendBlockType(append(w.out, byte(op)), t)
	w.depth++
}

func (w *writer) end() {
	w.out = append(w.out, opEnd)
	w.depth--
}

func (w *writer) br(op byte, label int) {
	w.out = appendU32(append(w.out, op), uint32(w.depth-label))
}

// to writes the label of a branch.
func (w *writer) to(label uint32) {
	p := at(w.c, "label", w.parts, uint32(len(w.parts)-1)-label)
	w.out = appendU32(w.out, uint32(w.depth-p.label))
}

// check follows an instruction that can throw.
func (w *writer) check(in instr) {
	if in.op != opCall && in.op != opCallIndirect {
		return
	}
	w.stats.calls++
	if w.flow.can(in) {
		w.stats.checks++
		w.get(w.thrown)
		w.br(opBrIf, w.top().landing)
	}
}

func (w *writer) get(global uint32) { w.out = appendU32(append(w.out, opGlobalGet), global) }
func (w *writer) set(global uint32) { w.out = appendU32(append(w.out, opGlobalSet), global) }

// try begins a try as
//
//	block T            ;; what follows it
//	  block            ;; its catch clauses
//	    body
//	    br 1
//	  end
//	  catch clauses
//	end
//
// and as a plain block where nothing lands in its catch clauses.
func (w *writer) try(t *try, typ funcType) {
	outer := w.top().landing
	p := part{op: opTry, t: t, typ: typ, landing: outer, outer: outer, cut: -1, seen: map[uint32]bool{}}
	if t.delegate >= 0 {
		p.landing = w.parts[len(w.parts)-1-t.delegate].landing
	}
	w.block(opBlock, typ)
	p.label = w.depth
	if t.hit {
		w.block(opBlock, funcType{params: typ.params})
		p.land, p.landing = w.depth, w.depth
	}
	for _, q := range w.parts {
		if q.op == opCatch {
			p.place++
		}
	}
	w.parts = append(w.parts, p)
}

// leave ends the body of a try or one of its catch clauses.
func (w *writer) leave(p *part) {
	switch {
	case p.op == opTry && p.t.hit, p.open:
		w.br(opBr, p.label)
		w.end()
	case p.cut < 0:
		p.cut = len(w.out)
	}
	p.open = false
}

func (w *writer) catch(tag uint32, one bool) {
	p := w.top()
	w.leave(p)
	p.op, p.landing = opCatch, p.outer
	if one {
		p.seen[tag] = true
	}
	p.final = !one || len(p.seen) == len(w.m.tags)
	if p.cut < 0 && !p.final {
		w.block(opBlock, funcType{})
		p.open = true
		w.get(w.thrown)
		w.out = append(appendS32(append(w.out, opI32Const), int32(tag)+1), opI32Ne)
		w.br(opBrIf, w.depth)
	}
	if p.t.rethrown {
		w.saved(p, func(global, local uint32) {
			w.get(global)
			w.out = appendU32(append(w.out, opLocalSet), local)
		})
	}
	w.out = append(w.out, opI32Const, 0)
	w.set(w.thrown)
	if one {
		for _, g := range w.values[tag] {
			w.get(g)
		}
	}
}

// saved goes through what a rethrow needs again, and the locals it is kept in.
func (w *writer) saved(p *part, each func(global, local uint32)) {
	all := slices.Concat([]uint32{w.thrown}, slices.Concat(w.values...))
	for i, g := range all {
		each(g, w.scratch.take(w.m.globals[g], p.place*len(all)+i))
	}
}

func (w *writer) throw(tag uint32) {
	for _, g := range slices.Backward(at(w.c, "tag", w.values, tag)) {
		w.set(g)
	}
	w.out = appendS32(append(w.out, opI32Const), int32(tag)+1)
	w.set(w.thrown)
	w.br(opBr, w.top().landing)
}

func (w *writer) rethrow(label uint32) {
	p := at(w.c, "label", w.parts, uint32(len(w.parts)-1)-label)
	if p.op != opCatch {
		w.c.fail("byte %d: a rethrow outside a catch", w.c.at)
		return
	}
	w.saved(&p, func(global, local uint32) {
		w.out = appendU32(append(w.out, opLocalGet), local)
		w.set(global)
	})
	w.br(opBr, w.top().landing)
}

// endPart ends a frame; of the last one it makes the function's end.
func (w *writer) endPart(leaves bool) {
	p := w.top()
	if len(w.parts) == 1 {
		if leaves {
			if len(p.typ.results) > 0 {
				w.out = append(w.out, opReturn)
			}
			w.end()
			for _, t := range p.typ.results {
				w.out = appendZero(w.out, t)
			}
		}
		w.out = append(w.out, opEnd)
		w.parts = nil
		return
	}
	if p.t != nil {
		if p.t.hit && !p.final || p.op == opCatch && p.cut >= 0 {
			w.leave(p)
		}
		if p.cut >= 0 {
			w.out = w.out[:p.cut]
		} else if p.t.hit && !p.final {
			w.br(opBr, p.outer)
		}
	}
	w.end()
	w.parts = w.parts[:len(w.parts)-1]
}
