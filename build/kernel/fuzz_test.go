package main

import (
	"context"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"pgregory.net/rapid"
)

// rewriteAll does what is done to a module, but for the names.
func rewriteAll(wasm []byte) ([]byte, error) {
	m, err := parse(wasm)
	if err != nil {
		return nil, err
	}
	if _, err := lowerExceptions(m); err != nil {
		return nil, err
	}
	if _, err := floatSelects(m); err != nil {
		return nil, err
	}
	if _, err := stops(m); err != nil {
		return nil, err
	}
	return m.bytes(), nil
}

// samples are modules with all that the rewrites know.
func samples() [][]byte {
	var list [][]byte
	exceptions := rapid.Custom(drawProgram)
	selects := rapid.Custom(func(t *rapid.T) *program {
		return selectProgram(code(expr(t, f64, 3), expr(t, f32, 3), expr(t, i64, 3)))
	})
	for i := range 6 {
		list = append(list, exceptions.Example(i).bytes(), selects.Example(i).bytes())
	}
	return list
}

// A module that is cut off or has a byte changed is refused or passed on as a
// module; nothing panics.
func TestDamagedModules(t *testing.T) {
	step := 3
	if testing.Short() {
		step = 29
	}
	for _, wasm := range samples()[:4] {
		for n := 0; n < len(wasm); n += step {
			if _, err := rewriteAll(wasm[:n]); err == nil && !whole(wasm, n) {
				t.Errorf("a module of %d bytes passes at %d", len(wasm), n)
			}
			for _, b := range []byte{0, 0x7f, 0xff, wasm[n] ^ 1} {
				bad := append([]byte(nil), wasm...)
				bad[n] = b
				rewriteAll(bad)
			}
		}
	}
}

// whole says whether what stands before a byte is a module: a cut between
// sections, and none between those of the functions' types and of their code.
func whole(wasm []byte, n int) bool {
	c := &cursor{b: wasm, at: len(magic)}
	open := false
	for c.more() && c.at < n {
		switch c.byte() {
		case secFunction:
			open = true
		case secCode:
			open = false
		}
		c.bytes(c.u32())
	}
	return c.at == n && !open
}

// What an engine takes before it has to take after: FuzzRewrite is given any
// bytes, and those that are a module without exceptions stay one.
func FuzzRewrite(f *testing.F) {
	for _, s := range samples() {
		f.Add(s)
	}
	f.Add([]byte("\x00asm\x01\x00\x00\x00"))
	f.Add([]byte("solid"))
	ctx := context.Background()
	rt := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigInterpreter().WithCoreFeatures(api.CoreFeaturesV2))
	valid := func(wasm []byte) error {
		c, err := rt.CompileModule(ctx, wasm)
		if err == nil {
			c.Close(ctx)
		}
		return err
	}
	f.Fuzz(func(t *testing.T, wasm []byte) {
		if len(wasm) > 1<<16 {
			return
		}
		out, err := rewriteAll(wasm)
		if err != nil || valid(wasm) != nil {
			return
		}
		if err := valid(out); err != nil {
			t.Errorf("what comes out is not valid: %v\n%.2000x", err, out)
		}
	})
}
