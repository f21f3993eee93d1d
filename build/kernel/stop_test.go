package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/tetratelabs/wazero/api"
)

// A loop that adds its argument as often as it says does so while stop is 0, with
// a value below it on the stack and one that the loop itself takes, and traps
// from the first turn on where stop is not 0.
func TestStop(t *testing.T) {
	p := &program{}
	p.fns = []fn{
		{typ: sig("i", "i"), locals: letters("i"), export: "main", code: code(
			constant(1000), constant(0),
			opLoop, p.typ(sig("i", "i")), opLocalGet, 0, 0x6a,
			opLocalGet, 1, opI32Const, 1, 0x6a, opLocalTee, 1, opLocalGet, 0, 0x48, opBrIf, 0, opEnd, 0x6a)},
		{typ: sig("i", "i"), code: code(opLocalGet, 0)},
	}
	m := mustParse(t, p.bytes())
	same := m.bodies[1]
	n, err := stops(m)
	if n != 1 || err != nil || !bytes.Equal(m.bodies[1], same) {
		t.Fatalf("%d loops, %v", n, err)
	}
	ctx := context.Background()
	for _, e := range engines {
		run := load(t, e.config, m.bytes())
		main, stop := run.ExportedFunction("main"), run.ExportedGlobal(exportStop).(api.MutableGlobal)
		if r, err := main.Call(ctx, 7); err != nil || r[0] != 1049 {
			t.Errorf("%s: %v, %v; 1000 and 7 times 7 are 1049", e.name, r, err)
		}
		stop.Set(1)
		if _, err := main.Call(ctx, 7); err == nil || !strings.Contains(err.Error(), "unreachable") {
			t.Errorf("%s: stopped with %v", e.name, err)
		}
	}
}
