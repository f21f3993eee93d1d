package main

import (
	"fmt"
	"slices"
)

// addGlobal adds a global that can be written, 0 at first, and gives its number.
func (m *module) addGlobal(t valType) uint32 {
	s := m.section(secGlobal)
	c := &cursor{b: s.body}
	have := uint32(0)
	if len(s.body) > 0 {
		have = c.u32()
	}
	s.body = slices.Concat(appendU32(nil, have+1), s.body[c.at:], []byte{byte(t), 1}, appendZero(nil, t), []byte{opEnd})
	m.globals = append(m.globals, t)
	return uint32(len(m.globals) - 1)
}

// export exports a global.
func (m *module) export(name string, global uint32) error {
	if slices.ContainsFunc(m.exports, func(e entity) bool { return e.name == name }) {
		return fmt.Errorf("it exports %s already: it has been rewritten before", name)
	}
	m.section(secExport)
	m.exports = append(m.exports, entity{name: name, kind: kindGlobal, rest: appendU32(nil, global)})
	return nil
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
