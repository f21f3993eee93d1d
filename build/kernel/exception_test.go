package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"github.com/tetratelabs/wazero/api"
	"pgregory.net/rapid"
)

var (
	tagInt  = sig("i", "")
	tagPair = sig("ld", "")
)

func lowered(t tester, wasm []byte) []byte {
	t.Helper()
	m := mustParse(t, wasm)
	if _, err := lowerExceptions(m); err != nil {
		t.Fatal(err)
	}
	out := m.bytes()
	again := mustParse(t, out)
	if _, err := lowerExceptions(again); err != nil || !bytes.Equal(again.bytes(), out) {
		t.Fatal("a second run changes something", err)
	}
	return out
}

// outcome calls main and says what came of it: a result, or the exception that
// left it, and the trace in g0.
func outcome(t tester, m api.Module, arg uint64) string {
	t.Helper()
	ctx := context.Background()
	m.ExportedGlobal("g0").(api.MutableGlobal).Set(0)
	m.ExportedGlobal("g1").(api.MutableGlobal).Set(fuel)
	thrown := m.ExportedGlobal(exportThrown)
	if thrown != nil {
		thrown.(api.MutableGlobal).Set(0)
	}
	r, err := m.ExportedFunction("main").Call(ctx, arg)
	g := int32(m.ExportedGlobal("g0").Get())
	switch {
	case err != nil:
		t.Fatal(err)
	case thrown != nil && thrown.Get() == 1:
		return fmt.Sprintf("tag 0 with %d, trace %d", int32(m.ExportedGlobal(exportValue).Get()), g)
	case thrown != nil && thrown.Get() != 0:
		return fmt.Sprintf("tag %d, trace %d", thrown.Get()-1, g)
	}
	return fmt.Sprintf("%d, trace %d", int32(r[0]), g)
}

// fuel is how many calls a run may make.
const fuel = 60

// Small programs whose answers follow from the proposal's text (Exception
// handling, the version of 2020 to 2023: try, catch, catch_all, rethrow,
// delegate), worked out by hand. Function 1 throws its argument with tag 0,
// function 2 does so for arguments that are not 0, function 3 gives back its
// argument and twice it, or throws.
func TestExceptionCases(t *testing.T) {
	two := funcType{results: letters("ii")}
	tests := []struct {
		name string
		body func(p *program) []byte
		want string // of main(5)
	}{
		{"nothing thrown", func(*program) []byte {
			return code(opTry, i32, constant(0), opCall, 2, constant(7), opCatch, 0, opEnd)
		}, "7, trace 0"},
		{"the value is caught", func(*program) []byte {
			return code(opTry, i32, opLocalGet, 0, opCall, 1, constant(7), opCatch, 0, opEnd)
		}, "5, trace 0"},
		{"it leaves", func(*program) []byte { return code(opLocalGet, 0, opCall, 1, constant(7)) }, "tag 0 with 5, trace 0"},
		{"what a body wrote to a local before stays", func(*program) []byte {
			return code(opTry, 0x40, constant(9), opLocalSet, 1, opLocalGet, 0, opCall, 1, opCatchAll, opEnd, opLocalGet, 1)
		}, "9, trace 0"},
		{"values below stay", func(*program) []byte {
			return code(constant(100), opTry, i32, constant(40), opLocalGet, 0, opCall, 1, opCatch, 0, opEnd, 0x6a)
		}, "105, trace 0"},
		{"another tag passes", func(*program) []byte {
			return code(opTry, i32, opTry, i32, opLocalGet, 0, opThrow, 0, opCatch, 1, opDrop, opDrop, constant(1), opEnd,
				opCatch, 0, opEnd)
		}, "5, trace 0"},
		{"the pair", func(*program) []byte {
			return code(opTry, i32, opI64Const, 3, 2.5, opThrow, 1, opCatch, 0, opCatch, 1, 0xaa, opLocalSet, 1, 0xa7, opLocalGet, 1, 0x6a, opEnd)
		}, "5, trace 0"},
		{"the first clause that fits", func(*program) []byte {
			return code(opTry, i32, constant(1), opThrow, 0, opCatch, 0, opDrop, constant(2), opCatch, 0, opDrop, constant(3), opCatchAll, constant(4), opEnd)
		}, "2, trace 0"},
		{"thrown again", func(*program) []byte {
			return code(opTry, i32, opTry, 0x40, opLocalGet, 0, opCall, 1, opCatchAll, constant(0), opCall, 2, opRethrow, 0, opEnd, constant(1), opCatch, 0, opEnd)
		}, "5, trace 0"},
		{"the outer one thrown again from the inner clause", func(*program) []byte {
			return code(opTry, 0x40, constant(11), opThrow, 0, opCatch, 0, opDrop,
				opTry, 0x40, constant(22), opThrow, 0, opCatchAll, opRethrow, 1, opEnd, opEnd, constant(1))
		}, "tag 0 with 11, trace 0"},
		{"the inner one thrown again", func(*program) []byte {
			return code(opTry, 0x40, constant(11), opThrow, 0, opCatch, 0, opDrop,
				opTry, 0x40, constant(22), opThrow, 0, opCatchAll, opRethrow, 0, opEnd, opEnd, constant(1))
		}, "tag 0 with 22, trace 0"},
		{"the outer one thrown again after an inner one was", func(*program) []byte {
			return code(opTry, 0x40, constant(11), opThrow, 0, opCatch, 0, opDrop,
				opTry, 0x40, opTry, 0x40, constant(22), opThrow, 0, opCatchAll, opRethrow, 0, opEnd, opCatchAll, opEnd,
				opRethrow, 0, opEnd, constant(1))
		}, "tag 0 with 11, trace 0"},
		{"a clause is not in its own try", func(*program) []byte {
			return code(opTry, 0x40, constant(1), opThrow, 0, opCatchAll, constant(2), opThrow, 0, opEnd, constant(3))
		}, "tag 0 with 2, trace 0"},
		{"handed past a try", func(*program) []byte {
			return code(opTry, i32, // 1
				opTry, i32, // 0
				opTry, 0x40, opLocalGet, 0, opCall, 1, opDelegate, 1,
				constant(1), opCatch, 0, opDrop, constant(2), opEnd,
				opCatch, 0, opDrop, constant(3), opEnd)
		}, "3, trace 0"},
		{"handed to the try round a block", func(*program) []byte {
			return code(opTry, i32, opBlock, i32, opTry, 0x40, opLocalGet, 0, opCall, 1, opDelegate, 0, constant(1), opEnd,
				opCatch, 0, opDrop, constant(3), opEnd)
		}, "3, trace 0"},
		{"handed to the caller", func(*program) []byte {
			return code(opTry, i32, opTry, 0x40, opLocalGet, 0, opCall, 1, opDelegate, 1, constant(1), opCatchAll, constant(2), opEnd)
		}, "tag 0 with 5, trace 0"},
		{"branches count the blocks as before", func(*program) []byte {
			return code(opBlock, i32, opTry, 0x40, constant(21), opBr, 1, opCatchAll, constant(22), opBr, 1, opEnd, constant(23), opEnd)
		}, "21, trace 0"},
		{"a branch out of a clause", func(*program) []byte {
			return code(opBlock, i32, opTry, 0x40, opLocalGet, 0, opCall, 1, opCatchAll, constant(22), opBr, 1, opEnd, constant(23), opEnd)
		}, "22, trace 0"},
		{"a table of branches", func(*program) []byte {
			return code(opBlock, i32, opTry, i32, constant(21), constant(1), opBrTable, 1, 0, 1, opCatchAll, constant(22), opEnd, constant(2), 0x6c, opEnd)
		}, "21, trace 0"},
		{"through the table", func(p *program) []byte {
			return code(opTry, i32, opLocalGet, 0, constant(1), opCallIndirect, p.typ(tagInt), 0, constant(1), opCatch, 0, opEnd)
		}, "5, trace 0"},
		{"a block that takes and gives", func(p *program) []byte {
			return code(opLocalGet, 0, opTry, p.typ(sig("i", "ii")), opCall, 3, opCatch, 0, constant(1), opEnd, 0x6a)
		}, "15, trace 0"},
		{"two results of a call that threw", func(p *program) []byte {
			return code(constant(-1), opTry, p.typ(sig("i", "ii")), opCall, 3, opCatch, 0, constant(1), opEnd, 0x6a)
		}, "0, trace 0"},
		{"a return in a try", func(*program) []byte {
			return code(opTry, 0x40, constant(8), opReturn, opCatchAll, opEnd, constant(9))
		}, "8, trace 0"},
		{"a try without clauses", func(*program) []byte {
			return code(opTry, i32, opTry, i32, opLocalGet, 0, opCall, 1, constant(7), opEnd, opCatch, 0, opEnd)
		}, "5, trace 0"},
	}
	for _, test := range tests {
		p := &program{globals: 2, tags: []funcType{tagInt, tagPair}}
		p.fns = []fn{
			{typ: sig("i", "i"), locals: letters("i"), export: "main"},
			{typ: tagInt, code: code(opLocalGet, 0, opThrow, 0)},
			{typ: tagInt, code: code(opLocalGet, 0, opIf, 0x40, opLocalGet, 0, opCall, 1, opEnd)},
			{typ: funcType{letters("i"), two.results}, code: code(opLocalGet, 0, constant(0), 0x48, opCall, 4, opLocalGet, 0, opLocalGet, 0, opLocalGet, 0, 0x6a)},
			{typ: tagInt, code: code(opLocalGet, 0, opIf, 0x40, constant(-1), opThrow, 0, opEnd)},
		}
		p.fns[0].code = test.body(p)
		wasm := lowered(t, p.bytes())
		for _, e := range engines {
			if got := outcome(t, load(t, e.config, wasm), 5); got != test.want {
				t.Errorf("%s, %s: %s, want %s", test.name, e.name, got, test.want)
			}
		}
	}
}

// reference runs programs in a JavaScript engine, which has these exceptions
// built in.
const reference = `
let text = ""; process.stdin.on("data", d => text += d).on("end", () => {
  const out = JSON.parse(text).map(p => {
    const e = new WebAssembly.Instance(new WebAssembly.Module(Buffer.from(p, "base64"))).exports;
    return [...Array(16).keys()].map(x => {
      e.g0.value = 0; e.g1.value = FUEL;
      let r;
      try { r = e.main(x) + "" } catch (t) {
        if (!(t instanceof WebAssembly.Exception)) throw t;
        r = t.is(e.t0) ? "tag 0 with " + t.getArg(e.t0, 0) : "tag 1";
      }
      return r + ", trace " + e.g0.value;
    });
  });
  console.log(JSON.stringify(out));
});`

func TestExceptionsAsInJavaScriptEngine(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("NOT COMPARED: no node on the path, whose engine has these exceptions built in")
	}
	n := 150
	if testing.Short() {
		n = 60
	}
	gen := rapid.Custom(drawProgram)
	programs := make([][]byte, n)
	for i := range programs {
		programs[i] = gen.Example(i).bytes()
	}
	in, err := json.Marshal(programs)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(node, "-e", strings.ReplaceAll(reference, "FUEL", fmt.Sprint(fuel)))
	cmd.Stdin = bytes.NewReader(in)
	var says bytes.Buffer
	cmd.Stderr = &says
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err, says.String()[max(0, says.Len()-1500):])
	}
	var want [][]string
	if err := json.Unmarshal(out, &want); err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for i, p := range programs {
		wasm := lowered(t, p)
		for k, e := range engines {
			m := load(t, e.config, wasm)
			for x, w := range want[i] {
				if got := outcome(t, m, uint64(x)); got != w {
					t.Fatalf("program %d, main(%d), %s: %s, want %s\n%x", i, x, e.name, got, w, p)
				}
				if k == 0 {
					seen[strings.Fields(w)[0]]++
				}
			}
			m.Close(context.Background())
		}
	}
	if seen["tag"] < n || len(seen) < 10 {
		t.Errorf("the programs do too little: %v", seen)
	}
	t.Logf("%d runs, %d left by an exception", 16*n, seen["tag"])
}

// A value goes through an exception bit by bit, NaN or not.
func TestExceptionCarriesBits(t *testing.T) {
	bits := uint64(0x7ff4000000abcdef)
	p := &program{globals: 2, tags: []funcType{tagPair}}
	p.fns = []fn{
		{typ: sig("i", "i"), export: "main", locals: letters("l"), code: code(
			opTry, i64, opI64Const, 1, opF64Const, appendBits(nil, bits, 8), opThrow, 0,
			opCatch, 0, opI64OfF64, 0x7c, opEnd, opLocalTee, 1, opI64Const, 32, 0x88, 0xa7, opLocalGet, 1, 0xa7, 0x73)},
	}
	sum := bits + 1
	want := fmt.Sprintf("%d, trace 0", int32(uint32(sum>>32)^uint32(sum&math.MaxUint32)))
	for _, e := range engines {
		if got := outcome(t, load(t, e.config, lowered(t, p.bytes())), 0); got != want {
			t.Errorf("%s: %s, want %s", e.name, got, want)
		}
	}
}
