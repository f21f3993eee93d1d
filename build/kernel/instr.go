package main

// Opcodes that the rewrites have to know by name: WebAssembly Core 2.0, section
// 5.4, and of the older exception proposal try, catch, throw, rethrow, delegate
// and catch_all, which is what the module was compiled to.
const (
	opUnreachable  = 0x00
	opNop          = 0x01
	opBlock        = 0x02
	opLoop         = 0x03
	opIf           = 0x04
	opElse         = 0x05
	opTry          = 0x06
	opCatch        = 0x07
	opThrow        = 0x08
	opRethrow      = 0x09
	opEnd          = 0x0b
	opBr           = 0x0c
	opBrIf         = 0x0d
	opBrTable      = 0x0e
	opReturn       = 0x0f
	opCall         = 0x10
	opCallIndirect = 0x11
	opDelegate     = 0x18
	opCatchAll     = 0x19
	opDrop         = 0x1a
	opSelect       = 0x1b
	opSelectTyped  = 0x1c
	opLocalGet     = 0x20
	opLocalSet     = 0x21
	opLocalTee     = 0x22
	opGlobalGet    = 0x23
	opGlobalSet    = 0x24
	opTableGet     = 0x25
	opTableSet     = 0x26
	opMemorySize   = 0x3f
	opMemoryGrow   = 0x40
	opI32Const     = 0x41
	opI64Const     = 0x42
	opF32Const     = 0x43
	opF64Const     = 0x44
	opI32Ne        = 0x47
	opI32OfF32     = 0xbc // i32.reinterpret_f32
	opI64OfF64     = 0xbd
	opF32OfI32     = 0xbe
	opF64OfI64     = 0xbf
	opRefNull      = 0xd0
	opRefIsNull    = 0xd1
	opRefFunc      = 0xd2
	opMore         = 0xfc // a second number follows
	more           = 0x100
	opMemoryInit   = more + 8
	opDataDrop     = more + 9
	opMemoryCopy   = more + 10
	opMemoryFill   = more + 11
	opTableInit    = more + 12
	opElemDrop     = more + 13
	opTableCopy    = more + 14
	opTableGrow    = more + 15
	opTableSize    = more + 16
	opTableFill    = more + 17
)

// emptyBlock is the type of a block that takes and gives nothing.
const emptyBlock = 0x40

// An instr is one instruction with what the rewrites look at of its immediates.
type instr struct {
	op     int
	at     int      // its first byte
	index  uint32   // of a label, function, local, global, table, tag or type
	labels []uint32 // of br_table, the default last
	block  funcType
	typ    valType // of ref.null and the typed select
}

// next reads one instruction. What it does not know it refuses: nothing that is
// not understood is passed on.
func (m *module) next(c *cursor) instr {
	in := instr{at: c.at}
	in.op = int(c.byte())
	switch op := in.op; {
	case op == opBlock, op == opLoop, op == opIf, op == opTry:
		in.block = m.blockType(c)
	case op == opCallIndirect:
		in.index = c.u32()
		c.u32() // table
		if int(in.index) >= len(m.types) {
			c.fail("byte %d: type %d is not there", in.at, in.index)
		}
	case op == opBrTable:
		n := c.count()
		for i := 0; i <= n && c.err == nil; i++ {
			in.labels = append(in.labels, c.u32())
		}
	case op == opBr, op == opBrIf, op == opCall, op >= opLocalGet && op <= opTableSet,
		op == opRefFunc, op == opCatch, op == opThrow, op == opRethrow, op == opDelegate:
		in.index = c.u32()
	case op == opSelectTyped:
		t := c.valTypes()
		if len(t) != 1 {
			c.fail("byte %d: a select of %d types", in.at, len(t))
			break
		}
		in.typ = t[0]
	case op == opRefNull:
		in.typ = c.valType()
	case op >= 0x28 && op <= 0x3e:
		if c.u32() >= 64 {
			c.fail("byte %d: an alignment that is not known here", in.at)
		}
		c.u32()
	case op == opMemorySize, op == opMemoryGrow:
		c.byte()
	case op == opI32Const:
		c.signed(32)
	case op == opI64Const:
		c.signed(64)
	case op == opF32Const:
		c.bytes(4)
	case op == opF64Const:
		c.bytes(8)
	case op == opMore:
		in.op = m.nextMore(c, &in)
	case op == opUnreachable, op == opNop, op == opElse, op == opEnd, op == opReturn,
		op == opCatchAll, op == opDrop, op == opSelect, op == opRefIsNull, simple[op] != nil:
	default:
		c.fail("byte %d: opcode %#x is not known here", in.at, op)
	}
	return in
}

func (m *module) nextMore(c *cursor, in *instr) int {
	n := c.u32()
	op := more + int(n)
	switch op {
	case opMemoryInit, opTableInit, opTableCopy, opMemoryCopy:
		in.index = c.u32()
		c.u32()
	case opDataDrop, opMemoryFill, opElemDrop, opTableGrow, opTableSize, opTableFill:
		in.index = c.u32()
	default:
		if n > 7 {
			c.fail("byte %d: opcode 0xfc %d is not known here", in.at, n)
			return opNop
		}
	}
	return op
}

// blockType is nothing, one value, or a function type by its number.
func (m *module) blockType(c *cursor) funcType {
	if c.err != nil || c.at >= len(c.b) {
		c.fail("%w", errShort)
		return funcType{}
	}
	switch b := c.b[c.at]; {
	case b == emptyBlock:
		c.at++
		return funcType{}
	case b&0xc0 == 0x40:
		return funcType{results: []valType{c.valType()}}
	}
	t := c.signed(33)
	if t < 0 || t >= int64(len(m.types)) {
		c.fail("byte %d: block type %d is not there", c.at, t)
		return funcType{}
	}
	return m.types[t]
}

// appendBlockType is its counterpart.
func (m *module) appendBlockType(b []byte, t funcType) []byte {
	switch {
	case len(t.params) == 0 && len(t.results) == 0:
		return append(b, emptyBlock)
	case len(t.params) == 0 && len(t.results) == 1:
		return append(b, byte(t.results[0]))
	}
	return appendS32(b, int32(m.typeOf(t)))
}

// simple has the type of every instruction that takes and gives the same
// whatever stands round it.
var simple = func() (t [more + 18]*funcType) {
	add := func(first, last int, params, results string) {
		for op := first; op <= last; op++ {
			t[op] = &funcType{letters(params), letters(results)}
		}
	}
	add(0x28, 0x28, "i", "i") // loads
	add(0x29, 0x29, "i", "l")
	add(0x2a, 0x2a, "i", "f")
	add(0x2b, 0x2b, "i", "d")
	add(0x2c, 0x2f, "i", "i")
	add(0x30, 0x35, "i", "l")
	add(0x36, 0x36, "ii", "") // stores
	add(0x37, 0x37, "il", "")
	add(0x38, 0x38, "if", "")
	add(0x39, 0x39, "id", "")
	add(0x3a, 0x3b, "ii", "")
	add(0x3c, 0x3e, "il", "")
	add(opMemorySize, opMemorySize, "", "i")
	add(opMemoryGrow, opMemoryGrow, "i", "i")
	add(opI32Const, opI32Const, "", "i")
	add(opI64Const, opI64Const, "", "l")
	add(opF32Const, opF32Const, "", "f")
	add(opF64Const, opF64Const, "", "d")
	add(0x45, 0x45, "i", "i") // comparisons
	add(0x46, 0x4f, "ii", "i")
	add(0x50, 0x50, "l", "i")
	add(0x51, 0x5a, "ll", "i")
	add(0x5b, 0x60, "ff", "i")
	add(0x61, 0x66, "dd", "i")
	add(0x67, 0x69, "i", "i") // arithmetic
	add(0x6a, 0x78, "ii", "i")
	add(0x79, 0x7b, "l", "l")
	add(0x7c, 0x8a, "ll", "l")
	add(0x8b, 0x91, "f", "f")
	add(0x92, 0x98, "ff", "f")
	add(0x99, 0x9f, "d", "d")
	add(0xa0, 0xa6, "dd", "d")
	add(0xa7, 0xa7, "l", "i") // conversions
	add(0xa8, 0xa9, "f", "i")
	add(0xaa, 0xab, "d", "i")
	add(0xac, 0xad, "i", "l")
	add(0xae, 0xaf, "f", "l")
	add(0xb0, 0xb1, "d", "l")
	add(0xb2, 0xb3, "i", "f")
	add(0xb4, 0xb5, "l", "f")
	add(0xb6, 0xb6, "d", "f")
	add(0xb7, 0xb8, "i", "d")
	add(0xb9, 0xba, "l", "d")
	add(0xbb, 0xbb, "f", "d")
	add(opI32OfF32, opI32OfF32, "f", "i")
	add(opI64OfF64, opI64OfF64, "d", "l")
	add(opF32OfI32, opF32OfI32, "i", "f")
	add(opF64OfI64, opF64OfI64, "l", "d")
	add(0xc0, 0xc1, "i", "i") // sign extension
	add(0xc2, 0xc4, "l", "l")
	add(more+0, more+1, "f", "i") // conversions that saturate
	add(more+2, more+3, "d", "i")
	add(more+4, more+5, "f", "l")
	add(more+6, more+7, "d", "l")
	add(opMemoryInit, opMemoryInit, "iii", "")
	add(opDataDrop, opDataDrop, "", "")
	add(opMemoryCopy, opMemoryFill, "iii", "")
	add(opTableInit, opTableInit, "iii", "")
	add(opElemDrop, opElemDrop, "", "")
	add(opTableCopy, opTableCopy, "iii", "")
	add(opTableSize, opTableSize, "", "i")
	return t
}()

func letters(s string) []valType {
	var t []valType
	for _, r := range s {
		t = append(t, map[rune]valType{'i': i32, 'l': i64, 'f': f32, 'd': f64}[r])
	}
	return t
}
