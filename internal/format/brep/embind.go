package brep

import (
	"context"
	"encoding/binary"
	"math"
	"strings"

	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental/table"
)

// wire is how a type of the module's crosses over. The module tells its types
// when it starts; the layout is that of Emscripten's embind.
type wire struct {
	kind     wireKind
	size     uint32 // bytes in memory of numbers
	signed   bool
	yes, no  float64 // of a boolean
	register string  // the name that the module gave
}

type wireKind uint8

const (
	wireVoid wireKind = iota
	wireBool
	wireInt
	wireFloat
	wireString
	wireValue
	wireView
	wireOther
)

// argStride is how far apart arguments of a method call stand in memory.
const argStride = 8

// entry is a function of the module that the host may call by name.
type entry struct {
	invoker uint32 // in the table
	fn      uint32
	args    []uint32 // types, the result's first
}

// guest is one run of the module: its memory, its types and the values it
// holds.
type guest struct {
	ctx     context.Context
	mod     api.Module
	mem     api.Memory
	malloc  api.Function
	free    api.Function
	thrown  api.Global // not 0 once an exception has left the module; may be nil
	types   map[uint32]wire
	entries map[string]entry
	callers []caller
	held    handles
	limit   uint64 // bytes of memory
	starved bool   // it asked for more
	log     []byte
}

// caller is a way of calling a method: the types of its result and arguments.
type caller struct{ types []wire }

// pending are values to be freed after a call: strings of the module's.
type pending struct{ at []uint32 }

func (g *guest) u32(at uint32) uint32 {
	v, ok := g.mem.ReadUint32Le(at)
	if !ok {
		panic(astray("memory beyond its end"))
	}
	return v
}

func (g *guest) put32(at, v uint32) {
	if !g.mem.WriteUint32Le(at, v) {
		panic(astray("memory beyond its end"))
	}
}

func (g *guest) read(at, n uint32) []byte {
	b, ok := g.mem.Read(at, n)
	if !ok {
		panic(astray("memory beyond its end"))
	}
	return b
}

// cstring is the text that ends with a zero.
func (g *guest) cstring(at uint32) string {
	const longest = 1 << 16
	n := min(longest, g.mem.Size()-min(at, g.mem.Size()))
	b := g.read(at, n)
	for i, c := range b {
		if c == 0 {
			return string(b[:i])
		}
	}
	panic(astray("a name without an end"))
}

func (g *guest) typeOf(id uint32) wire {
	t, ok := g.types[id]
	if !ok {
		panic(astray("a type it has not told"))
	}
	return t
}

// call calls a function of the module.
func (g *guest) call(f api.Function, args ...uint64) uint64 {
	res, err := f.Call(g.ctx, args...)
	if err != nil {
		panic(err)
	}
	if g.thrown != nil && g.thrown.Get() != 0 {
		panic(errThrew)
	}
	if len(res) == 0 {
		return 0
	}
	return res[0]
}

// take is the value of type t that lies at an address.
func (g *guest) take(t wire, at uint32) value {
	switch t.kind {
	case wireBool:
		return boolOf(g.read(at, 1)[0] != 0)
	case wireInt:
		b := g.read(at, t.size)
		switch {
		case t.size == 1 && t.signed:
			return numberOf(float64(int8(b[0])))
		case t.size == 1:
			return numberOf(float64(b[0]))
		case t.size == 2 && t.signed:
			return numberOf(float64(int16(binary.LittleEndian.Uint16(b))))
		case t.size == 2:
			return numberOf(float64(binary.LittleEndian.Uint16(b)))
		case t.size == 4 && t.signed:
			return numberOf(float64(int32(binary.LittleEndian.Uint32(b))))
		case t.size == 4:
			return numberOf(float64(binary.LittleEndian.Uint32(b)))
		}
	case wireFloat:
		if t.size == 4 {
			return numberOf(float64(math.Float32frombits(g.u32(at))))
		}
		return numberOf(math.Float64frombits(binary.LittleEndian.Uint64(g.read(at, 8))))
	case wireString:
		s := g.u32(at)
		v := textOf(string(g.read(s+4, g.u32(s))))
		g.call(g.free, uint64(s))
		return v
	case wireValue:
		h := uint64(g.u32(at))
		v := g.held.get(h)
		g.held.decref(h)
		return v
	case wireView:
		// Size and start lie where the pointer at this place points.
		v := g.u32(at)
		return value{kind: view, num: float64(g.u32(v + 4)), ref: int(g.u32(v))}
	}
	panic(astray("a value of a type that does not cross over: " + t.register))
}

// give hands a value over as type t, as the double that method calls return.
// What it allocates in the module is added to later.
func (g *guest) give(t wire, v value, later *pending) float64 {
	switch t.kind {
	case wireVoid:
		return 0
	case wireBool:
		if v.truth() {
			return t.yes
		}
		return t.no
	case wireInt:
		if t.signed {
			return v.num
		}
		return float64(uint32(int64(v.num)))
	case wireFloat:
		return v.num
	case wireString:
		s, ok := v.ref.(string)
		if !ok || v.kind != text {
			panic(astray("a text of what is none"))
		}
		at := uint32(g.call(g.malloc, uint64(4+len(s)+1)))
		g.put32(at, uint32(len(s)))
		if !g.mem.WriteString(at+4, s+"\x00") {
			panic(astray("memory beyond its end"))
		}
		later.at = append(later.at, at)
		return float64(at)
	case wireValue:
		return float64(g.held.put(v))
	}
	panic(astray("a value of a type that does not cross over: " + t.register))
}

// back is give, with what is to be freed told to the module as a value that it
// gives back to be run.
func (g *guest) back(t wire, v value, destructors uint32) float64 {
	var later pending
	d := g.give(t, v, &later)
	if len(later.at) > 0 {
		g.put32(destructors, uint32(g.held.put(value{kind: record, ref: &later})))
	}
	return d
}

// invoke calls a function that the module registered, with values and for a
// value.
func (g *guest) invoke(name string, args ...value) (value, bool) {
	e, ok := g.entries[name]
	if !ok || len(e.args) != len(args)+1 || g.typeOf(e.args[0]).kind != wireValue {
		return value{}, false
	}
	stack := []uint64{uint64(e.fn)}
	params := []api.ValueType{api.ValueTypeI32}
	for i, v := range args {
		if g.typeOf(e.args[i+1]).kind != wireValue {
			return value{}, false
		}
		stack = append(stack, g.held.put(v))
		params = append(params, api.ValueTypeI32)
	}
	f := table.LookupFunction(g.mod, 0, e.invoker, params, []api.ValueType{api.ValueTypeI32})
	h := g.call(f, stack...)
	v := g.held.get(h)
	g.held.decref(h)
	return v, true
}

// method does what the module asks of a value: the two methods that its code
// calls.
func (g *guest) method(of value, name string, args []value) value {
	switch {
	case of.kind == intrinsic && strings.HasSuffix(of.ref.(string), ".hasOwnProperty") && name == "call" && len(args) == 2:
		if o, ok := args[0].ref.(*object); ok && args[0].kind == record && args[1].kind == text {
			_, has := o.of[args[1].ref.(string)]
			return boolOf(has)
		}
		return boolOf(false)
	case of.kind == view && name == "set" && len(args) == 1 && args[0].kind == octets:
		b := args[0].ref.([]byte)
		if len(b) > of.ref.(int) || !g.mem.Write(uint32(of.num), b) {
			panic(astray("memory beyond its end"))
		}
		return value{}
	}
	panic(astray("a method that it never asks for: " + name))
}
