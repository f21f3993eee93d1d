package main

import (
	"bytes"
	"fmt"
	"slices"
)

// Section numbers of the binary format, in the order of the file but for tags,
// which stand between memories and globals.
const (
	secCustom = iota
	secType
	secImport
	secFunction
	secTable
	secMemory
	secGlobal
	secExport
	secStart
	secElement
	secCode
	secData
	secDataCount
	secTag
)

// A valType is the byte of a value type; 0 is a type that unreachable code leaves
// open.
type valType byte

const (
	anyType   valType = 0
	i32       valType = 0x7f
	i64       valType = 0x7e
	f32       valType = 0x7d
	f64       valType = 0x7c
	funcRef   valType = 0x70
	externRef valType = 0x6f
)

func (t valType) float() bool { return t == f32 || t == f64 }

type funcType struct{ params, results []valType }

// Kinds of imports and exports.
const (
	kindFunc = iota
	kindTable
	kindMemory
	kindGlobal
	kindTag
)

type section struct {
	id   byte
	body []byte
}

// An entity is an import or an export: what it is called and, for imports, from
// which module.
type entity struct {
	module, name string
	kind         byte
	rest         []byte // an import's description, an export's index
}

// A module is a WebAssembly module taken apart as far as the rewrites need it.
// Sections that no rewrite touches are carried through as bytes.
type module struct {
	sections []section
	types    []funcType
	imports  []entity
	exports  []entity
	funcs    []uint32 // the type of every function, imported ones first
	imported int      // how many of them are
	tables   []valType
	globals  []valType
	tags     []uint32 // the type of every tag
	bodies   [][]byte // locals and code of every function of the module's own
}

var magic = []byte{0, 'a', 's', 'm', 1, 0, 0, 0}

// parse takes a module apart. It checks what it relies on, no more: the engine
// that loads the result validates all of it.
func parse(b []byte) (*module, error) {
	if !bytes.HasPrefix(b, magic) {
		return nil, fmt.Errorf("it is no WebAssembly module of version 1")
	}
	m := &module{}
	c := &cursor{b: b, at: len(magic)}
	for c.more() {
		id := c.byte()
		body := c.bytes(c.u32())
		if c.err != nil {
			break
		}
		if id > secTag {
			return nil, fmt.Errorf("section %d is not known", id)
		}
		if id != secCustom && m.has(id) {
			return nil, fmt.Errorf("section %d stands there twice", id)
		}
		m.sections = append(m.sections, section{id, body})
		s := &cursor{b: body}
		m.read(id, s)
		if s.err != nil {
			return nil, fmt.Errorf("section %d: %w", id, s.err)
		}
		if s.at != len(body) && parsed(id) {
			return nil, fmt.Errorf("section %d: %d bytes are left over", id, len(body)-s.at)
		}
	}
	if c.err != nil {
		return nil, c.err
	}
	if len(m.funcs)-m.imported != len(m.bodies) {
		return nil, fmt.Errorf("%d functions are declared and %d are there", len(m.funcs)-m.imported, len(m.bodies))
	}
	for _, t := range slices.Concat(m.funcs, m.tags) {
		if int(t) >= len(m.types) {
			return nil, fmt.Errorf("type %d is not there", t)
		}
	}
	return m, nil
}

func (m *module) has(id byte) bool {
	return slices.ContainsFunc(m.sections, func(s section) bool { return s.id == id })
}

func parsed(id byte) bool {
	switch id {
	case secType, secImport, secFunction, secTable, secGlobal, secExport, secCode, secTag:
		return true
	}
	return false
}

func (m *module) read(id byte, c *cursor) {
	if !parsed(id) {
		return
	}
	for n := c.count(); n > 0 && c.err == nil; n-- {
		switch id {
		case secType:
			if form := c.byte(); form != 0x60 {
				c.fail("type %d has form %#x, not a function's", len(m.types), form)
			}
			m.types = append(m.types, funcType{c.valTypes(), c.valTypes()})
		case secImport:
			m.readImport(c)
		case secFunction:
			m.funcs = append(m.funcs, c.u32())
		case secTable:
			m.tables = append(m.tables, c.table())
		case secGlobal:
			m.globals = append(m.globals, c.global())
			c.constant()
		case secExport:
			e := entity{name: c.name(), kind: c.byte()}
			at := c.at
			c.u32()
			e.rest = c.b[at:c.at]
			m.exports = append(m.exports, e)
		case secCode:
			m.bodies = append(m.bodies, c.bytes(c.u32()))
		case secTag:
			m.tags = append(m.tags, c.tag())
		}
	}
}

func (m *module) readImport(c *cursor) {
	e := entity{module: c.name(), name: c.name(), kind: c.byte()}
	at := c.at
	switch e.kind {
	case kindFunc:
		m.funcs = append(m.funcs, c.u32())
		m.imported++
	case kindTable:
		m.tables = append(m.tables, c.table())
	case kindMemory:
		c.limits()
	case kindGlobal:
		m.globals = append(m.globals, c.global())
	case kindTag:
		c.fail("the tag %s is imported, and exceptions from outside are not known here", e.name)
	default:
		c.fail("import %s is of kind %d", e.name, e.kind)
	}
	e.rest = c.b[at:c.at]
	m.imports = append(m.imports, e)
}

func (c *cursor) valType() valType {
	switch t := valType(c.byte()); t {
	case i32, i64, f32, f64, funcRef, externRef:
		return t
	default:
		c.fail("byte %d: value type %#x is not known here", c.at, byte(t))
		return anyType
	}
}

func (c *cursor) valTypes() []valType {
	var t []valType
	for n := c.count(); n > 0 && c.err == nil; n-- {
		t = append(t, c.valType())
	}
	return t
}

func (c *cursor) limits() {
	switch flag := c.byte(); flag {
	case 0:
		c.u32()
	case 1:
		c.u32()
		c.u32()
	default:
		c.fail("byte %d: limits of kind %#x are not known here", c.at, flag)
	}
}

func (c *cursor) table() valType {
	t := c.valType()
	c.limits()
	return t
}

func (c *cursor) global() valType {
	t := c.valType()
	c.byte()
	return t
}

func (c *cursor) tag() uint32 {
	c.byte() // its attribute: always an exception
	return c.u32()
}

// constant skips a constant expression.
func (c *cursor) constant() {
	for c.err == nil {
		switch op := c.byte(); op {
		case opEnd:
			return
		case opI32Const:
			c.signed(32)
		case opI64Const:
			c.signed(64)
		case opF32Const:
			c.bytes(4)
		case opF64Const:
			c.bytes(8)
		case opGlobalGet, opRefFunc:
			c.u32()
		case opRefNull:
			c.byte()
		default:
			c.fail("byte %d: opcode %#x stands in a constant", c.at, op)
		}
	}
}

// typeOf is the number of a function type, which is added where it is missing.
func (m *module) typeOf(t funcType) uint32 {
	for i, have := range m.types {
		if slices.Equal(have.params, t.params) && slices.Equal(have.results, t.results) {
			return uint32(i)
		}
	}
	m.types = append(m.types, t)
	return uint32(len(m.types) - 1)
}

// bytes puts the module together again. Names and other custom sections, which
// no engine needs, are left out.
func (m *module) bytes() []byte {
	out := slices.Clone(magic)
	for _, s := range m.sections {
		body := s.body
		switch s.id {
		case secCustom:
			continue
		case secType:
			body = appendU32(nil, uint32(len(m.types)))
			for _, t := range m.types {
				body = append(body, 0x60)
				body = appendTypes(appendTypes(body, t.params), t.results)
			}
		case secImport:
			body = appendU32(nil, uint32(len(m.imports)))
			for _, e := range m.imports {
				body = appendName(appendName(body, e.module), e.name)
				body = append(append(body, e.kind), e.rest...)
			}
		case secExport:
			body = appendU32(nil, uint32(len(m.exports)))
			for _, e := range m.exports {
				body = append(append(appendName(body, e.name), e.kind), e.rest...)
			}
		case secCode:
			body = appendU32(nil, uint32(len(m.bodies)))
			for _, f := range m.bodies {
				body = append(appendU32(body, uint32(len(f))), f...)
			}
		}
		out = append(out, s.id)
		out = append(appendU32(out, uint32(len(body))), body...)
	}
	return out
}

func appendTypes(b []byte, t []valType) []byte {
	b = appendU32(b, uint32(len(t)))
	for _, v := range t {
		b = append(b, byte(v))
	}
	return b
}
