package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A shortened copy of the forms in which Emscripten writes names.
const glue = `function getWasmImports(){return{a:wasmImports}}function receiveInstance(instance,module){` +
	`wasmExports=instance.exports;wasmMemory=wasmExports["_"];updateMemoryViews();wasmTable=wasmExports["ba"];` +
	`addOnInit(wasmExports["$"]);}var wasmImports={M:___syscall_chmod,A:__abort_js,K:_emscripten_date_now,S:_exit};` +
	`var ___getTypeName=a0=>(___getTypeName=wasmExports["aa"])(a0);var _malloc=a0=>(_malloc=wasmExports["ca"])(a0);` +
	`var dynCall_jiji=Module["dynCall_jiji"]=(a0,a1,a2,a3,a4)=>(dynCall_jiji=Module["dynCall_jiji"]=wasmExports["ja"])(a0,a1,a2,a3,a4);`

func TestNames(t *testing.T) {
	n, err := readNames([]byte(glue))
	if err != nil {
		t.Fatal(err)
	}
	if n.module != "a" {
		t.Errorf("module %q", n.module)
	}
	if d := cmp.Diff(map[string]string{"M": "__syscall_chmod", "A": "_abort_js", "K": "emscripten_date_now", "S": "exit"}, n.imports); d != "" {
		t.Error("imports", d)
	}
	if d := cmp.Diff(map[string]string{"_": "memory", "ba": "__indirect_function_table", "$": "__wasm_call_ctors",
		"aa": "__getTypeName", "ca": "malloc", "ja": "dynCall_jiji"}, n.exports); d != "" {
		t.Error("exports", d)
	}
	if _, err := readNames([]byte("var x=1;")); err == nil {
		t.Error("JavaScript without names passes")
	}
}

func TestRename(t *testing.T) {
	n := names{module: "env", imports: map[string]string{"a": "exit"}, exports: map[string]string{"b": "malloc", "g0": "g0"}}
	p := &program{globals: 1, fns: []fn{{typ: sig("i", ""), export: "a"}, {typ: sig("i", "i"), code: code(opLocalGet, 0), export: "b"}}}
	m := mustParse(t, p.bytes())
	if err := m.rename(n); err != nil {
		t.Fatal(err)
	}
	again := mustParse(t, m.bytes())
	if got := []string{again.imports[0].module, again.imports[0].name, again.exports[0].name}; !cmp.Equal(got, []string{"env", "exit", "malloc"}) {
		t.Error(got)
	}
	for _, without := range []func(*names){
		func(n *names) { n.imports = nil }, func(n *names) { n.exports = nil }, func(n *names) { n.module = "z" },
	} {
		bad := n
		without(&bad)
		if err := mustParse(t, p.bytes()).rename(bad); err == nil || !strings.Contains(err.Error(), "one build") {
			t.Errorf("a name that is not explained: %v", err)
		}
	}
}
