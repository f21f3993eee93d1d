package main

import (
	"context"
	"fmt"
	"math"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// A tiny assembler: enough to write modules down that tests run.

// code joins opcodes (int), LEB128 numbers (leb), constants (float32, float64)
// and finished code.
func code(parts ...any) []byte {
	var b []byte
	for _, p := range parts {
		switch p := p.(type) {
		case int:
			b = append(b, byte(p))
		case valType:
			b = append(b, byte(p))
		case leb:
			b = append(b, p.bytes()...)
		case float32:
			b = append(b, opF32Const)
			b = appendBits(b, uint64(math.Float32bits(p)), 4)
		case float64:
			b = append(b, opF64Const)
			b = appendBits(b, math.Float64bits(p), 8)
		case []byte:
			b = append(b, p...)
		default:
			panic(fmt.Sprintf("code: %T", p))
		}
	}
	return b
}

func appendBits(b []byte, v uint64, n int) []byte {
	for range n {
		b = append(b, byte(v))
		v >>= 8
	}
	return b
}

// leb is a number in signed LEB128, which for those that tests use below 64 is
// the unsigned one too.
type leb int64

func (v leb) bytes() []byte {
	for b := []byte(nil); ; v >>= 7 {
		if v >= -64 && v < 64 {
			return append(b, byte(v)&0x7f)
		}
		b = append(b, byte(v)&0x7f|0x80)
	}
}

func constant(v int64) []byte { return code(opI32Const, leb(v)) }

// fn is a function to assemble; without code it is imported from env.
type fn struct {
	typ    funcType
	locals []valType
	code   []byte
	export string
}

// program is a module to assemble. Its table holds all its functions, its
// globals are mutable i32 and exported as g0, g1 and so on.
type program struct {
	types   []funcType // more than those of the functions, from 0
	fns     []fn
	globals int
	tags    []funcType // exported as t0, t1 and so on
}

// typ is the number of a type in the module, for block types and tags.
func (p *program) typ(t funcType) leb {
	for i, have := range p.types {
		if fmt.Sprint(have) == fmt.Sprint(t) {
			return leb(i)
		}
	}
	p.types = append(p.types, t)
	return leb(len(p.types) - 1)
}

func (p *program) bytes() []byte {
	var imports, funcs, exports, bodies [][]byte
	for i, f := range p.fns {
		t := p.typ(f.typ)
		if f.code == nil {
			imports = append(imports, code(str("env"), str(f.export), 0, t))
			continue
		}
		funcs = append(funcs, code(t))
		if f.export != "" {
			exports = append(exports, code(str(f.export), 0, leb(i)))
		}
		var l [][]byte
		for _, v := range f.locals {
			l = append(l, code(1, v))
		}
		body := code(vec(l), f.code, opEnd)
		bodies = append(bodies, code(appendU32(nil, uint32(len(body))), body))
	}
	var globals, tags, all [][]byte
	for i := range p.globals {
		globals = append(globals, code(i32, 1, opI32Const, 0, opEnd))
		exports = append(exports, code(str(fmt.Sprint("g", i)), 3, leb(i)))
	}
	for i, t := range p.tags {
		tags = append(tags, code(0, p.typ(t)))
		exports = append(exports, code(str(fmt.Sprint("t", i)), 4, leb(i)))
	}
	for i := range p.fns {
		all = append(all, code(leb(i)))
	}
	var types [][]byte
	for _, t := range p.types {
		types = append(types, code(0x60, valTypes(t.params), valTypes(t.results)))
	}
	out := append([]byte(nil), magic...)
	for _, s := range []struct {
		id   int
		body []byte
		skip bool
	}{
		{id: secType, body: vec(types)},
		{id: secImport, body: vec(imports)},
		{id: secFunction, body: vec(funcs)},
		{id: secTable, body: code(1, funcRef, 0, leb(len(p.fns)))},
		{id: secMemory, body: code(1, 0, 1)},
		{secTag, vec(tags), len(tags) == 0},
		{secGlobal, vec(globals), len(globals) == 0},
		{id: secExport, body: vec(exports)},
		{id: secElement, body: code(1, 0, opI32Const, 0, opEnd, vec(all))},
		{id: secCode, body: vec(bodies)},
		{id: secCustom, body: code(str("producers"), 0)},
	} {
		if !s.skip {
			out = append(out, code(s.id, appendU32(nil, uint32(len(s.body))), s.body)...)
		}
	}
	return out
}

func str(s string) []byte { return append(appendU32(nil, uint32(len(s))), s...) }

func vec(list [][]byte) []byte {
	b := appendU32(nil, uint32(len(list)))
	for _, x := range list {
		b = append(b, x...)
	}
	return b
}

func valTypes(t []valType) []byte {
	b := appendU32(nil, uint32(len(t)))
	for _, v := range t {
		b = append(b, byte(v))
	}
	return b
}

func sig(params, results string) funcType { return funcType{letters(params), letters(results)} }

// engines are the two that wazero has.
var engines = []struct {
	name   string
	config wazero.RuntimeConfig
}{
	{"interpreter", wazero.NewRuntimeConfigInterpreter()},
	{"compiler", wazero.NewRuntimeConfig()}, // where there is one
}

// A tester is a *testing.T or a *rapid.T.
type tester interface {
	Helper()
	Fatal(...any)
	Cleanup(func())
}

// load starts a module with imports that do nothing.
func load(t tester, config wazero.RuntimeConfig, wasm []byte) api.Module {
	t.Helper()
	ctx := context.Background()
	rt := wazero.NewRuntimeWithConfig(ctx, config.WithCoreFeatures(api.CoreFeaturesV2))
	t.Cleanup(func() { rt.Close(ctx) })
	c, err := rt.CompileModule(ctx, wasm)
	if err != nil {
		t.Fatal(err)
	}
	env := rt.NewHostModuleBuilder("env")
	for _, f := range c.ImportedFunctions() {
		_, name, _ := f.Import()
		env = env.NewFunctionBuilder().WithGoFunction(api.GoFunc(func(context.Context, []uint64) {}), f.ParamTypes(), f.ResultTypes()).Export(name)
	}
	if _, err := env.Instantiate(ctx); err != nil {
		t.Fatal(err)
	}
	m, err := rt.InstantiateModule(ctx, c, wazero.NewModuleConfig().WithStartFunctions())
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// mustParse parses what has to parse.
func mustParse(t tester, wasm []byte) *module {
	t.Helper()
	m, err := parse(wasm)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
