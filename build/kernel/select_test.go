package main

import (
	"bytes"
	"context"
	"math"
	"slices"
	"testing"

	"github.com/tetratelabs/wazero/api"
	"pgregory.net/rapid"
)

// Bits that floating point treats in a way of its own: zeros of both signs, the
// smallest, infinities, quiet and signalling NaNs with something in them.
var (
	odd64 = []uint64{0, 1 << 63, 1, 0x7ff0000000000000, 0xfff0000000000000, 0x7ff8000000000000,
		0x7ff4000000abcdef, 0xfff8dead0000beef, math.Float64bits(1.5), math.Float64bits(-math.MaxFloat64)}
	odd32 = []uint64{0, 1 << 31, 1, 0x7f800000, 0xff800000, 0x7fc00000, 0x7fa0abcd, 0xffc0beef,
		uint64(math.Float32bits(1.5)), uint64(math.Float32bits(-math.MaxFloat32))}
)

// Locals of the function under test: eight parameters, two of each type in the
// order of "ilfd", and one more of each.
func local(t *rapid.T, typ valType) leb {
	n := slices.Index(letters("ilfd"), typ)
	return leb(n + 4*rapid.IntRange(0, 2).Draw(t, "local"))
}

func own(typ valType) leb { return leb(8 + slices.Index(letters("ilfd"), typ)) }

// Helpers that the function under test calls: one result, two of one type, two
// of two types.
func selectProgram(body []byte) *program {
	p := &program{}
	p.fns = []fn{
		{typ: sig("d", "d"), code: code(opLocalGet, 0, 0x9a)}, // f64.neg
		{typ: sig("f", "f"), code: code(opLocalGet, 0, 0x8c)},
		{typ: sig("d", "dd"), code: code(opLocalGet, 0, opLocalGet, 0, 0x9a)},
		{typ: sig("f", "ff"), code: code(opLocalGet, 0, opLocalGet, 0, 0x8c)},
		{typ: sig("d", "df"), code: code(opLocalGet, 0, float32(2.5))},
		{typ: sig("f", "fd"), code: code(opLocalGet, 0, 2.5)},
		{typ: sig("ilfdilfd", "dfl"), locals: letters("ilfd"), code: body, export: "main"},
	}
	return p
}

// expr draws code that leaves one value of a type.
func expr(t *rapid.T, typ valType, depth int) []byte {
	most := 5
	if depth > 0 {
		most = 15
	}
	sub := func(v valType) []byte { return expr(t, v, depth-1) }
	k := rapid.IntRange(0, most).Draw(t, "form")
	switch {
	case k <= 2:
		return code(opLocalGet, local(t, typ))
	case k <= 5:
		return literal(t, typ)
	case !typ.float():
		switch k % 4 {
		case 0:
			return code(sub(typ), sub(typ), sub(i32), opSelect)
		case 1:
			if typ == i64 {
				return code(sub(f64), opI64OfF64)
			}
			return code(sub(f64), sub(f64), 0x63) // f64.lt
		case 2:
			if typ == i64 {
				return code(sub(i32), 0xad)
			}
			return code(sub(f32), sub(f32), 0x5b) // f32.eq
		}
		return code(sub(typ), opLocalTee, own(typ))
	}
	one, two, mixed := 0, 2, 4 // helpers
	if typ == f32 {
		one, two, mixed = 1, 3, 5
	}
	switch k {
	case 6:
		return code(sub(typ), sub(typ), sub(i32), opSelectTyped, 1, typ)
	case 7:
		return code(opBlock, typ, sub(typ), opEnd)
	case 8:
		return code(sub(i32), opIf, typ, sub(typ), opElse, sub(typ), opEnd)
	case 9:
		return code(opLoop, typ, sub(typ), opEnd)
	case 10:
		return code(sub(typ), opCall, one)
	case 11: // both operands from one call, which leaves no place between them
		return code(sub(typ), opCall, two, sub(i32), opSelect)
	case 12:
		return code(sub(typ), opCall, mixed, opDrop)
	case 13: // a branch that takes the value or leaves it
		return code(opBlock, typ, sub(typ), sub(i32), opBrIf, 0, sub(typ), sub(i32), opSelect, opEnd)
	case 14: // code that is never come to, with operands of no type and of one
		return code(opBlock, typ, sub(typ), opBr, 0, opSelect, literal(t, typ), constant(1), opSelect, opEnd)
	}
	return code(sub(typ), opLocalTee, own(typ), sub(typ), sub(i32), opSelect)
}

func literal(t *rapid.T, typ valType) []byte {
	switch typ {
	case i32:
		return constant(int64(rapid.Int32().Draw(t, "i32")))
	case i64:
		return code(opI64Const, leb(rapid.Int64().Draw(t, "i64")))
	case f32:
		return code(opF32Const, appendBits(nil, rapid.SampledFrom(odd32).Draw(t, "f32"), 4))
	}
	return code(opF64Const, appendBits(nil, rapid.SampledFrom(odd64).Draw(t, "f64"), 8))
}

// The meaning is the interpreter's, which has no fault with selects, on the
// module as it was.
func TestSelectsMeanTheSame(t *testing.T) {
	total := 0
	rapid.Check(t, func(rt *rapid.T) {
		before := selectProgram(code(expr(rt, f64, 4), expr(rt, f32, 4), expr(rt, i64, 3))).bytes()
		m := mustParse(rt, before)
		n, err := floatSelects(m)
		if err != nil {
			rt.Fatal(err)
		}
		after := m.bytes()
		total += n
		again := mustParse(rt, after)
		if n, err := floatSelects(again); n != 0 || err != nil || !bytes.Equal(again.bytes(), after) {
			rt.Fatalf("a second run changes %d (%v)", n, err)
		}
		runs := []api.Module{load(rt, engines[0].config, before), load(rt, engines[0].config, after), load(rt, engines[1].config, after)}
		for range 8 {
			var args []uint64
			for range 2 {
				args = append(args, uint64(rapid.Uint32Range(0, 1).Draw(rt, "i32")), rapid.Uint64().Draw(rt, "i64"),
					rapid.SampledFrom(odd32).Draw(rt, "f32"), rapid.SampledFrom(odd64).Draw(rt, "f64"))
			}
			var want []uint64
			for i, r := range runs {
				got, err := r.ExportedFunction("main").Call(context.Background(), args...)
				if err != nil {
					rt.Fatal(err)
				}
				got[1] &= math.MaxUint32 // above a single stands what is there
				if i == 0 {
					want = got
				} else if !slices.Equal(got, want) {
					rt.Fatalf("run %d: %x, was %x", i, got, want)
				}
			}
		}
	})
	if total < 10 {
		t.Errorf("only %d selects were written", total)
	}
}

// A case that the compiler of wazero 1.12.0 gets wrong as it was, found by the test
// above: the condition is 0, so that the answer is what was kept, negated: −0.
func TestSelectThatTheCompilerMistakes(t *testing.T) {
	body := code(
		0.0, opCall, 2, float32(0), opLocalGet, 2, 0x5b, opSelect, opLocalTee, own(f64),
		opLocalGet, own(f64), opCall, 0,
		opLocalGet, 0, opSelect,
		opLocalGet, 2, opLocalGet, 1)
	before := selectProgram(body).bytes()
	m := mustParse(t, before)
	if _, err := floatSelects(m); err != nil {
		t.Fatal(err)
	}
	for i, wasm := range [][]byte{before, m.bytes()} {
		for _, e := range engines {
			got, err := load(t, e.config, wasm).ExportedFunction("main").Call(context.Background(), make([]uint64, 8)...)
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("written again %d times, %s: %x", i, e.name, got[0])
			if i == 1 && got[0] != 1<<63 {
				t.Errorf("%s gives %x", e.name, got[0])
			}
		}
	}
}

// The bytes of the smallest cases, worked out by hand from sections 5.4 and 5.5
// of the specification.
func TestSelectBytes(t *testing.T) {
	tests := []struct {
		name           string
		typ            funcType
		body           []byte
		want, wantHead []byte
		n              int
	}{
		{"of doubles", sig("ddi", "d"), code(opLocalGet, 0, opLocalGet, 1, opLocalGet, 2, opSelect),
			code(opLocalGet, 0, opLocalGet, 1, opLocalGet, 2, opLocalSet, 3, 0xbd, opLocalSet, 4,
				0xbd, opLocalGet, 4, opLocalGet, 3, opSelect, 0xbf), code(2, 1, i32, 1, i64), 1},
		{"of singles, typed", sig("ffi", "f"), code(opLocalGet, 0, opLocalGet, 1, opLocalGet, 2, opSelectTyped, 1, f32),
			code(opLocalGet, 0, opLocalGet, 1, opLocalGet, 2, opLocalSet, 3, 0xbc, opLocalSet, 4,
				0xbc, opLocalGet, 4, opLocalGet, 3, opSelect, 0xbe), code(2, 1, i32, 1, i32), 1},
		{"of integers", sig("iii", "i"), code(opLocalGet, 0, opLocalGet, 1, opLocalGet, 2, opSelect),
			code(opLocalGet, 0, opLocalGet, 1, opLocalGet, 2, opSelect), code(0), 0},
		{"of nothing known", sig("", "d"), code(opUnreachable, opSelect),
			code(opUnreachable, opSelect), code(0), 0},
	}
	for _, test := range tests {
		p := &program{fns: []fn{{typ: test.typ, code: test.body, export: "f"}}}
		m := mustParse(t, p.bytes())
		n, err := floatSelects(m)
		want := code(test.wantHead, test.want, opEnd)
		if err != nil || n != test.n || !bytes.Equal(m.bodies[0], want) {
			t.Errorf("a select %s: %x, %d written, %v; want %x", test.name, m.bodies[0], n, err, want)
		}
	}
}

// What is no valid function is refused and named, never passed on.
func TestSelectRefuses(t *testing.T) {
	for name, body := range map[string][]byte{
		"an empty stack":          code(opSelect),
		"a wrong type":            code(1.5, opLocalSet, 0),
		"a vector instruction":    code(0xfd, 0),
		"a tail call":             code(0x12, 0),
		"exceptions of 3.0":       code(0x1f, 0x40, 0, opEnd),
		"a local that is missing": code(opLocalGet, 9, opDrop),
		"a label that is missing": code(opBr, 9),
		"values left over":        code(1.5, 2.5),
		"an end too many":         code(opEnd),
		"an end too few":          code(opBlock, 0x40),
	} {
		p := &program{fns: []fn{{typ: sig("i", ""), code: body, export: "f"}}}
		m := mustParse(t, p.bytes())
		if _, err := floatSelects(m); err == nil {
			t.Errorf("%s passes", name)
		}
	}
}
