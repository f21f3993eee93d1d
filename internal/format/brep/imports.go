package brep

import (
	"context"
	"math"
	"strings"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

const (
	i32 = api.ValueTypeI32
	f64 = api.ValueTypeF64

	noEntry = uint64(0xffffffd4) // −44 as wasi counts: there is no such file

	pageSize = 1 << 16
	mostLog  = 64 << 10
)

// fixedSeconds is the time that the module is told, so that nothing depends on
// the day: 1 January 2020, a Wednesday.
const fixedSeconds = 1577836800

// fixedDate is that time as C's struct tm: second, minute, hour, day, month
// from 0, year from 1900, day of the week, day of the year, summer time, offset.
var fixedDate = [10]uint32{0, 0, 0, 1, 0, 120, 3, 0, 0, 0}

// hostFunc is a function that the module imports: how many words it takes,
// whether it answers with a word ('i'), a double ('d') or not at all (0).
type hostFunc struct {
	words  int
	result byte
	do     func(g *guest, s []uint64)
}

// imports is what a module may ask for, by the names of C. What touches files
// says that there are none.
var imports = map[string]hostFunc{
	"_embind_register_void": {2, 0, func(g *guest, s []uint64) {
		g.register(s[0], s[1], wire{kind: wireVoid})
	}},
	"_embind_register_bool": {4, 0, func(g *guest, s []uint64) {
		g.register(s[0], s[1], wire{kind: wireBool, yes: float64(int32(s[2])), no: float64(int32(s[3]))})
	}},
	"_embind_register_integer": {5, 0, func(g *guest, s []uint64) {
		g.register(s[0], s[1], wire{kind: wireInt, size: uint32(s[2]), signed: int32(s[3]) != 0})
	}},
	"_embind_register_bigint": {7, 0, func(g *guest, s []uint64) { g.register(s[0], s[1], wire{kind: wireOther}) }},
	"_embind_register_float": {3, 0, func(g *guest, s []uint64) {
		g.register(s[0], s[1], wire{kind: wireFloat, size: uint32(s[2])})
	}},
	"_embind_register_std_string": {2, 0, func(g *guest, s []uint64) { g.register(s[0], s[1], wire{kind: wireString}) }},
	"_embind_register_std_wstring": {3, 0, func(g *guest, s []uint64) {
		g.register(s[0], s[2], wire{kind: wireOther})
	}},
	"_embind_register_emval": {1, 0, func(g *guest, s []uint64) { g.types[uint32(s[0])] = wire{kind: wireValue, register: "val"} }},
	"_embind_register_memory_view": {3, 0, func(g *guest, s []uint64) {
		g.register(s[0], s[2], wire{kind: wireView})
	}},
	"_embind_register_function": {8, 0, func(g *guest, s []uint64) {
		e := entry{invoker: uint32(s[4]), fn: uint32(s[5])}
		for i := range uint32(s[1]) {
			e.args = append(e.args, g.u32(uint32(s[2])+4*i))
		}
		name, _, _ := strings.Cut(g.cstring(uint32(s[0])), "(")
		g.entries[strings.TrimSpace(name)] = e
	}},

	"_emval_take_value": {2, 'i', func(g *guest, s []uint64) {
		s[0] = g.held.put(g.take(g.typeOf(uint32(s[0])), uint32(s[1])))
	}},
	"_emval_as": {3, 'd', func(g *guest, s []uint64) {
		s[0] = math.Float64bits(g.back(g.typeOf(uint32(s[1])), g.held.get(s[0]), uint32(s[2])))
	}},
	"_emval_incref":       {1, 0, func(g *guest, s []uint64) { g.held.incref(s[0]) }},
	"_emval_decref":       {1, 0, func(g *guest, s []uint64) { g.held.decref(s[0]) }},
	"_emval_new_array":    {0, 'i', func(g *guest, s []uint64) { s[0] = g.held.put(value{kind: list, ref: &array{}}) }},
	"_emval_new_object":   {0, 'i', func(g *guest, s []uint64) { s[0] = g.held.put(value{kind: record, ref: &object{map[string]value{}}}) }},
	"_emval_new_cstring":  {1, 'i', func(g *guest, s []uint64) { s[0] = g.held.put(textOf(g.cstring(uint32(s[0])))) }},
	"_emval_get_property": {2, 'i', func(g *guest, s []uint64) { s[0] = g.held.put(g.held.get(s[0]).property(g.held.get(s[1]))) }},
	"_emval_set_property": {3, 0, func(g *guest, s []uint64) { g.held.get(s[0]).setProperty(g.held.get(s[1]), g.held.get(s[2])) }},
	"_emval_get_global": {1, 'i', func(g *guest, s []uint64) {
		name := "globalThis"
		if s[0] != 0 {
			name = g.cstring(uint32(s[0]))
		}
		s[0] = g.held.put(value{kind: intrinsic, ref: name})
	}},
	"_emval_get_method_caller": {3, 'i', func(g *guest, s []uint64) {
		var c caller
		for i := range uint32(s[0]) {
			c.types = append(c.types, g.typeOf(g.u32(uint32(s[1])+4*i)))
		}
		g.callers = append(g.callers, c)
		s[0] = uint64(len(g.callers) - 1)
	}},
	"_emval_call_method": {5, 'd', func(g *guest, s []uint64) {
		if s[0] >= uint64(len(g.callers)) {
			panic(astray("a call that it has not announced"))
		}
		c := g.callers[s[0]]
		of, name := g.held.get(s[1]), g.cstring(uint32(s[2]))
		args := make([]value, 0, len(c.types))
		for i, t := range c.types[1:] {
			args = append(args, g.take(t, uint32(s[4])+uint32(i)*argStride))
		}
		s[0] = math.Float64bits(g.back(c.types[0], g.method(of, name, args), uint32(s[3])))
	}},
	"_emval_run_destructors": {1, 0, func(g *guest, s []uint64) {
		if p, ok := g.held.get(s[0]).ref.(*pending); ok {
			for _, at := range p.at {
				g.call(g.free, uint64(at))
			}
			p.at = nil
		}
		g.held.decref(s[0])
	}},

	"emscripten_resize_heap": {1, 'i', func(g *guest, s []uint64) { s[0] = g.grow(uint64(uint32(s[0]))) }},
	"emscripten_get_heap_max": {0, 'i', func(g *guest, s []uint64) {
		s[0] = g.limit
	}},
	"_emscripten_memcpy_js": {3, 0, func(g *guest, s []uint64) {
		copy(g.read(uint32(s[0]), uint32(s[2])), g.read(uint32(s[1]), uint32(s[2])))
	}},
	"emscripten_date_now":              {0, 'd', func(g *guest, s []uint64) { s[0] = math.Float64bits(fixedSeconds * 1000) }},
	"_emscripten_get_now_is_monotonic": {0, 'i', func(g *guest, s []uint64) { s[0] = 1 }},
	"emscripten_get_callstack":         {3, 'i', func(g *guest, s []uint64) { s[0] = 0 }},
	"_emscripten_lookup_name":          {1, 'i', func(g *guest, s []uint64) { s[0] = 0 }},
	"_localtime_js": {3, 0, func(g *guest, s []uint64) {
		for i, v := range fixedDate {
			g.put32(uint32(s[2])+uint32(4*i), v)
		}
	}},
	"_tzset_js": {4, 0, func(g *guest, s []uint64) {
		g.put32(uint32(s[0]), 0)
		g.put32(uint32(s[1]), 0)
		for _, at := range s[2:4] {
			g.mem.WriteString(uint32(at), "UTC\x00")
		}
	}},
	"environ_sizes_get": {2, 'i', func(g *guest, s []uint64) {
		g.put32(uint32(s[0]), 0)
		g.put32(uint32(s[1]), 0)
		s[0] = 0
	}},
	"environ_get": {2, 'i', func(g *guest, s []uint64) { s[0] = 0 }},
	"fd_write":    {4, 'i', func(g *guest, s []uint64) { s[0] = g.write(uint32(s[1]), uint32(s[2]), uint32(s[3])) }},
	"exit":        {1, 0, func(g *guest, s []uint64) { panic(astray("its own end")) }},
	"_abort_js":   {0, 0, func(g *guest, s []uint64) { panic(errAbort) }},

	"fd_close": {1, 'i', nothingThere}, "fd_read": {4, 'i', nothingThere}, "fd_seek": {5, 'i', nothingThere},
	"_munmap_js": {7, 'i', nothingThere}, "__syscall_chmod": {2, 'i', nothingThere},
	"__syscall_faccessat": {4, 'i', nothingThere}, "__syscall_fcntl64": {3, 'i', nothingThere},
	"__syscall_fstat64": {2, 'i', nothingThere}, "__syscall_ioctl": {3, 'i', nothingThere},
	"__syscall_lstat64": {2, 'i', nothingThere}, "__syscall_newfstatat": {4, 'i', nothingThere},
	"__syscall_openat": {4, 'i', nothingThere}, "__syscall_rmdir": {1, 'i', nothingThere},
	"__syscall_stat64": {2, 'i', nothingThere}, "__syscall_unlinkat": {3, 'i', nothingThere},
}

func nothingThere(_ *guest, s []uint64) { s[0] = noEntry }

// register notes a type of the module's.
func (g *guest) register(id, name uint64, t wire) {
	t.register = g.cstring(uint32(name))
	g.types[uint32(id)] = t
}

// grow gives the module memory, a half more than it has where it may, so that
// it need not ask often.
func (g *guest) grow(want uint64) uint64 {
	have := uint64(g.mem.Size())
	if want <= have {
		return 1
	}
	if want > g.limit {
		g.starved = true
		return 0
	}
	to := min(max(want, have+have/2), g.limit)
	if _, ok := g.mem.Grow(uint32((to - have + pageSize - 1) / pageSize)); !ok {
		if _, ok = g.mem.Grow(uint32((want - have + pageSize - 1) / pageSize)); !ok {
			g.starved = true
			return 0
		}
	}
	return 1
}

// write keeps what the kernel says on the way, up to a limit.
func (g *guest) write(vectors, n, written uint32) uint64 {
	total := uint32(0)
	for i := range n {
		b := g.read(g.u32(vectors+8*i), g.u32(vectors+8*i+4))
		total += uint32(len(b))
		if len(g.log) < mostLog {
			g.log = append(g.log, b[:min(len(b), mostLog-len(g.log))]...)
		}
	}
	g.put32(written, total)
	return 0
}

// host builds the module of imports for one guest.
func host(ctx context.Context, rt wazero.Runtime, g *guest) (wazero.CompiledModule, error) {
	b := rt.NewHostModuleBuilder("env")
	for name, f := range imports {
		params := make([]api.ValueType, f.words)
		for i := range params {
			params[i] = i32
		}
		var results []api.ValueType
		switch f.result {
		case 'i':
			results = []api.ValueType{i32}
		case 'd':
			results = []api.ValueType{f64}
		}
		do, words := f.do, f.words
		b = b.NewFunctionBuilder().WithGoModuleFunction(api.GoModuleFunc(func(_ context.Context, _ api.Module, s []uint64) {
			for i := range words { // what stands above 32 bits is not the module's
				s[i] &= 0xffffffff
			}
			do(g, s)
		}), params, results).Export(name)
	}
	return b.Compile(ctx)
}
