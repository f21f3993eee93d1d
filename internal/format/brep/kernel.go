package brep

import (
	"bytes"
	"compress/gzip"
	"context"
	"embed"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
)

// Limits where a user says nothing. A hand-sized part takes a second and 100 MB.
const (
	// stopGlobal is the module's global that ends it at its next turn of a loop
	// once it is not 0; thrownGlobal the one that is not 0 once an exception has
	// left it. The build puts both in.
	stopGlobal   = "stop"
	thrownGlobal = "__exception_tag"

	DefaultTime  = 2 * time.Minute
	DefaultBytes = 1 << 30
	leastBytes   = 32 << 20 // what the module begins with
	mostModule   = 256 << 20
)

// built is what the build left: the rewritten modules and the texts that go
// with them. A build without them still compiles, and says what is missing when
// a STEP file comes.
//
//go:embed all:module
var built embed.FS

// Options name a kernel. The zero value is the one in the binary.
type Options struct {
	File string // a module to take instead of the one in the binary, .wasm or .wasm.gz
	// Cache is the folder in which what the module was compiled to is kept; empty:
	// one in the user's cache folder; "off": none.
	Cache string
	Time  time.Duration // that one reading may take; 0: [DefaultTime]
	Bytes int64         // of memory that one reading may take, between 32 MiB and 2 GiB; 0: [DefaultBytes]
	// Interpret runs the module without compiling it, fifty times slower: for
	// machines that there is no compiler for, and for tests.
	Interpret bool
}

// Kernel is a kernel that may be compiled already. It is safe for concurrent
// use; every reading has a fresh instance of the module.
type Kernel struct {
	opt Options

	mu       sync.Mutex // of what is compiled at the first use
	rt       wazero.Runtime
	compiled wazero.CompiledModule
}

// New names a kernel; nothing is opened before it is used.
func New(opt Options) *Kernel {
	if opt.Time <= 0 {
		opt.Time = DefaultTime
	}
	if opt.Bytes <= 0 {
		opt.Bytes = DefaultBytes
	}
	opt.Bytes = min(max(opt.Bytes, leastBytes), 2<<30)
	return &Kernel{opt: opt}
}

// Default is the kernel in the binary, for all who have no wishes.
var Default = sync.OnceValue(func() *Kernel { return New(Options{}) })

// Options are those that the kernel was made with, limits filled in.
func (k *Kernel) Options() Options { return k.opt }

// Close gives back what was compiled. Readings must have ended.
func (k *Kernel) Close(ctx context.Context) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.rt != nil {
		k.rt.Close(ctx)
		k.rt, k.compiled = nil, nil
	}
}

// Read reads a STEP file. The error is the context's, or a *[Trap].
func (k *Kernel) Read(ctx context.Context, data []byte, set Settings) (*Scene, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := k.ready(ctx); err != nil {
		return nil, err
	}
	g := &guest{types: map[uint32]wire{}, entries: map[string]entry{}, held: newHandles(), limit: uint64(k.opt.Bytes)}
	limited, cancel := context.WithTimeout(ctx, k.opt.Time)
	defer cancel()
	result, err := g.run(limited, k, data, set)
	if err != nil {
		return nil, k.trapped(ctx, limited, g, err)
	}
	scene, err := sceneOf(result)
	if err != nil {
		return nil, k.trapped(ctx, limited, g, err)
	}
	return scene, nil
}

var (
	errRefused = errors.New("it could not read the file")
	errAbort   = errors.New("it gave up")
	errThrew   = errors.New("it threw what nothing in it catches")
)

// run starts the module and calls its reader. What goes wrong in the module
// comes back as an error.
func (g *guest) run(ctx context.Context, k *Kernel, data []byte, set Settings) (v value, err error) {
	defer func() {
		if r := recover(); r != nil {
			var ok bool
			if err, ok = r.(error); !ok {
				err = fmt.Errorf("%v", r)
			}
		}
	}()
	imports, err := host(ctx, k.rt, g)
	if err != nil {
		return value{}, err
	}
	defer imports.Close(ctx)
	env, err := k.rt.InstantiateModule(ctx, imports, wazero.NewModuleConfig().WithName("").WithStartFunctions())
	if err != nil {
		return value{}, err
	}
	defer env.Close(ctx)
	in := experimental.WithImportResolver(ctx, func(name string) api.Module {
		if name == "env" {
			return env
		}
		return nil
	})
	mod, err := k.rt.InstantiateModule(in, k.compiled, wazero.NewModuleConfig().WithName("").WithStartFunctions())
	if err != nil {
		return value{}, err
	}
	defer mod.Close(context.WithoutCancel(ctx))
	g.ctx, g.mod, g.mem = ctx, mod, mod.Memory()
	g.malloc, g.free = mod.ExportedFunction("malloc"), mod.ExportedFunction("free")
	start := mod.ExportedFunction("__wasm_call_ctors")
	if g.mem == nil || g.malloc == nil || g.free == nil || start == nil {
		return value{}, errors.New("it lacks a memory, malloc, free or __wasm_call_ctors")
	}
	g.thrown = mod.ExportedGlobal(thrownGlobal)
	if stop, ok := mod.ExportedGlobal(stopGlobal).(api.MutableGlobal); ok {
		defer context.AfterFunc(ctx, func() { stop.Set(1) })()
	}
	g.call(start)
	v, ok := g.invoke("ReadStepFile", value{kind: octets, ref: data}, set.params())
	if !ok {
		return value{}, errors.New("it has no function ReadStepFile of two values")
	}
	return v, nil
}

// params are the settings as the module takes them.
func (s Settings) params() value {
	o := &object{map[string]value{"linearUnit": textOf("millimeter")}}
	if s.Unit != "" {
		o.of["linearUnit"] = textOf(s.Unit)
	}
	if s.Linear > 0 {
		o.of["linearDeflectionType"] = textOf("absolute_value")
		if s.Relative {
			o.of["linearDeflectionType"] = textOf("bounding_box_ratio")
		}
		o.of["linearDeflection"] = numberOf(s.Linear)
	}
	if s.Angular > 0 {
		o.of["angularDeflection"] = numberOf(s.Angular)
	}
	return value{kind: record, ref: o}
}

// trapped sorts out why a reading ended.
func (k *Kernel) trapped(ctx, limited context.Context, g *guest, err error) error {
	if e := ctx.Err(); e != nil {
		return e
	}
	t := &Trap{Kind: Unstable, Err: err, Log: string(g.log), Bytes: k.opt.Bytes, Time: k.opt.Time}
	says := err.Error()
	var off astray
	switch {
	case limited.Err() != nil:
		t.Kind = NoTime
	case g.starved:
		t.Kind = NoMemory
	case errors.Is(err, errRefused):
		t.Kind = Refused
	case strings.Contains(says, "stack overflow"):
		t.Kind = TooDeep
	case g.mod == nil, len(g.entries) == 0:
		t.Kind = Broken
	case errors.As(err, &off):
	case errors.Is(err, errAbort), errors.Is(err, errThrew), strings.Contains(says, "unreachable"):
		t.Kind = Threw
	}
	return t
}

// ready compiles a module where that has not been done.
func (k *Kernel) ready(ctx context.Context) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.compiled != nil {
		return nil
	}
	code, err := k.module()
	if err != nil {
		return err
	}
	cfg := wazero.NewRuntimeConfig()
	if k.opt.Interpret {
		cfg = wazero.NewRuntimeConfigInterpreter()
	}
	// The engine's own way of stopping at a deadline doubles the time; the build
	// puts a cheaper one into the module.
	cfg = cfg.WithDebugInfoEnabled(false).WithMemoryLimitPages(uint32(k.opt.Bytes / pageSize)).WithCoreFeatures(api.CoreFeaturesV2)
	cctx := experimental.WithCompilationWorkers(ctx, runtime.GOMAXPROCS(0))
	// What was compiled before may be damaged, and is then thrown away; or the disk
	// is full or not to be written to, and the module is compiled into memory alone.
	kept := k.cacheDir()
	err = k.compile(cctx, cfg, code, kept)
	if err != nil && strings.Contains(err.Error(), "compilationcache") {
		forget(kept)
		err = k.compile(cctx, cfg, code, kept)
	}
	if err != nil && kept != "" && ctx.Err() == nil {
		err = k.compile(cctx, cfg, code, "")
	}
	switch {
	case err == nil:
		return nil
	case ctx.Err() != nil:
		return ctx.Err()
	}
	return &Trap{Kind: Broken, Err: err}
}

// compile compiles the module or loads what it was compiled to before from a
// folder; empty: none.
func (k *Kernel) compile(ctx context.Context, cfg wazero.RuntimeConfig, code []byte, dir string) error {
	if dir != "" {
		cache, err := wazero.NewCompilationCacheWithDir(dir)
		if err != nil {
			return err
		}
		cfg = cfg.WithCompilationCache(cache)
	}
	rt := wazero.NewRuntimeWithConfig(ctx, cfg)
	compiled, err := rt.CompileModule(ctx, code)
	if err != nil {
		rt.Close(ctx)
		return err
	}
	k.rt, k.compiled = rt, compiled
	return nil
}

// forget removes what the engine keeps in a folder: folders named after it.
func forget(dir string) {
	old, _ := filepath.Glob(filepath.Join(dir, "wazero-*"))
	for _, o := range old {
		os.RemoveAll(o)
	}
}

// cacheDir is where compiled modules are kept; empty for nowhere.
func (k *Kernel) cacheDir() string {
	switch k.opt.Cache {
	case "off":
		return ""
	case "":
		dir, err := os.UserCacheDir()
		if err != nil {
			return ""
		}
		return filepath.Join(dir, "fettle", "kernel")
	}
	return k.opt.Cache
}

// module is the code of a module, unpacked.
func (k *Kernel) module() ([]byte, error) {
	var packed []byte
	var err error
	if k.opt.File != "" {
		packed, err = os.ReadFile(k.opt.File)
	} else {
		packed, err = built.ReadFile("module/kernel.wasm.gz")
	}
	if err != nil {
		return nil, &Trap{Kind: Missing, Err: err}
	}
	if !bytes.HasPrefix(packed, []byte("\x1f\x8b")) {
		return packed, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, &Trap{Kind: Broken, Err: err}
	}
	code, err := io.ReadAll(io.LimitReader(z, mostModule))
	if err != nil {
		return nil, &Trap{Kind: Broken, Err: err}
	}
	return code, nil
}
