package main

import "slices"

// A frame is a control frame of the validation algorithm: WebAssembly Core 2.0,
// appendix A.3.
type frame struct {
	op          int
	typ         funcType
	height      int
	unreachable bool
}

func (f *frame) label() []valType {
	if f.op == opLoop {
		return f.typ.params
	}
	return f.typ.results
}

// A typer follows the types on the operand stack through one function. A fault
// goes to the cursor that the function is read from.
type typer struct {
	m      *module
	c      *cursor
	locals []valType
	stack  []valType
	frames []frame
}

func (t *typer) push(v ...valType) { t.stack = append(t.stack, v...) }

func (t *typer) pop(want valType) valType {
	f := &t.frames[len(t.frames)-1]
	if len(t.stack) == f.height {
		if !f.unreachable {
			t.c.fail("byte %d: the operand stack is empty", t.c.at)
		}
		return want
	}
	got := t.stack[len(t.stack)-1]
	t.stack = t.stack[:len(t.stack)-1]
	if got == anyType {
		return want
	}
	if want != anyType && got != want {
		t.c.fail("byte %d: a value of type %#x where %#x is wanted", t.c.at, byte(got), byte(want))
	}
	return got
}

func (t *typer) popAll(want []valType) {
	for _, v := range slices.Backward(want) {
		t.pop(v)
	}
}

func (t *typer) open(op int, typ funcType) {
	t.frames = append(t.frames, frame{op: op, typ: typ, height: len(t.stack)})
	t.push(typ.params...)
}

func (t *typer) close() frame {
	f := t.frames[len(t.frames)-1]
	t.popAll(f.typ.results)
	if len(t.stack) != f.height {
		t.c.fail("byte %d: %d values are left on the stack at the end of a block", t.c.at, len(t.stack)-f.height)
		t.stack = t.stack[:min(f.height, len(t.stack))]
	}
	t.frames = t.frames[:len(t.frames)-1]
	return f
}

// dead marks the rest of the block as out of reach.
func (t *typer) dead() {
	f := &t.frames[len(t.frames)-1]
	t.stack = t.stack[:f.height]
	f.unreachable = true
}

// to is what a branch to a label takes along.
func (t *typer) to(label uint32) []valType {
	if int(label) >= len(t.frames) {
		t.c.fail("byte %d: label %d is not there", t.c.at, label)
		return nil
	}
	return t.frames[len(t.frames)-1-int(label)].label()
}

func at[T any](c *cursor, what string, list []T, i uint32) (v T) {
	if int(i) >= len(list) {
		c.fail("byte %d: %s %d is not there", c.at, what, i)
		return v
	}
	return list[i]
}

func (t *typer) function(i uint32) funcType {
	k := at(t.c, "function", t.m.funcs, i)
	return at(t.c, "type", t.m.types, k)
}

// step takes one instruction. The last end leaves no frame.
func (t *typer) step(in instr) {
	switch in.op {
	case opUnreachable:
		t.dead()
	case opNop:
	case opBlock, opLoop:
		t.popAll(in.block.params)
		t.open(in.op, in.block)
	case opIf:
		t.pop(i32)
		t.popAll(in.block.params)
		t.open(in.op, in.block)
	case opElse:
		f := t.close()
		if f.op != opIf {
			t.c.fail("byte %d: an else without its if", in.at)
		}
		t.open(opElse, f.typ)
	case opEnd:
		f := t.close()
		if f.op == opIf && !slices.Equal(f.typ.params, f.typ.results) {
			t.c.fail("byte %d: an if that gives a value has no else", in.at)
		}
		t.push(f.typ.results...)
	case opBr:
		t.popAll(t.to(in.index))
		t.dead()
	case opBrIf:
		t.pop(i32)
		to := t.to(in.index)
		t.popAll(to)
		t.push(to...)
	case opBrTable:
		t.pop(i32)
		t.popAll(t.to(in.labels[len(in.labels)-1]))
		for _, l := range in.labels {
			t.to(l)
		}
		t.dead()
	case opReturn:
		t.popAll(t.frames[0].typ.results)
		t.dead()
	case opCall:
		t.apply(t.function(in.index))
	case opCallIndirect:
		t.pop(i32)
		t.apply(t.m.types[in.index])
	case opDrop:
		t.pop(anyType)
	case opSelect, opSelectTyped:
		t.pop(i32)
		t.push(t.pop(t.pop(in.typ)))
	default:
		t.stepData(in)
	}
}

func (t *typer) apply(f funcType) {
	t.popAll(f.params)
	t.push(f.results...)
}

// stepData takes the instructions on locals, globals, tables and references, and
// the simple ones.
func (t *typer) stepData(in instr) {
	switch in.op {
	case opLocalGet:
		t.push(at(t.c, "local", t.locals, in.index))
	case opLocalSet:
		t.pop(at(t.c, "local", t.locals, in.index))
	case opLocalTee:
		v := at(t.c, "local", t.locals, in.index)
		t.pop(v)
		t.push(v)
	case opGlobalGet:
		t.push(at(t.c, "global", t.m.globals, in.index))
	case opGlobalSet:
		t.pop(at(t.c, "global", t.m.globals, in.index))
	case opTableGet:
		t.pop(i32)
		t.push(at(t.c, "table", t.m.tables, in.index))
	case opTableSet:
		t.pop(at(t.c, "table", t.m.tables, in.index))
		t.pop(i32)
	case opTableGrow:
		t.pop(i32)
		t.pop(at(t.c, "table", t.m.tables, in.index))
		t.push(i32)
	case opTableFill:
		t.pop(i32)
		t.pop(at(t.c, "table", t.m.tables, in.index))
		t.pop(i32)
	case opRefNull:
		t.push(in.typ)
	case opRefIsNull:
		t.pop(anyType)
		t.push(i32)
	case opRefFunc:
		t.push(funcRef)
	default:
		f := simple[in.op]
		if f == nil {
			t.c.fail("byte %d: opcode %#x is not known here", in.at, in.op)
			return
		}
		t.apply(*f)
	}
}
