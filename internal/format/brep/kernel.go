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
	"github.com/tetratelabs/wazero/sys"
)

// Limits where a user says nothing. A hand-sized part takes a second and 100 MB.
const (
	DefaultTime  = 2 * time.Minute
	DefaultBytes = 1 << 30
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
	Bytes int64         // of memory that one reading may take, at most 2 GiB; 0: [DefaultBytes]
	// Interpret runs the module without compiling it, fifty times slower: for
	// machines that there is no compiler for, and for tests.
	Interpret bool
}

// Kernel is a kernel that may be compiled already. It is safe for concurrent
// use; every reading has a fresh instance of the module.
type Kernel struct {
	opt              Options
	strict, thorough engine
}

// engine is one module, compiled at its first use.
type engine struct {
	mu       sync.Mutex
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
	opt.Bytes = min(opt.Bytes, 2<<30)
	return &Kernel{opt: opt}
}

// Default is the kernel in the binary, for all who have no wishes.
var Default = sync.OnceValue(func() *Kernel { return New(Options{}) })

// Options are those that the kernel was made with, limits filled in.
func (k *Kernel) Options() Options { return k.opt }

// Close gives back what was compiled. Readings must have ended.
func (k *Kernel) Close(ctx context.Context) {
	for _, e := range []*engine{&k.strict, &k.thorough} {
		e.mu.Lock()
		if e.rt != nil {
			e.rt.Close(ctx)
			e.rt, e.compiled = nil, nil
		}
		e.mu.Unlock()
	}
}

// Read reads a STEP file. The error is the context's, or a *[Trap].
func (k *Kernel) Read(ctx context.Context, data []byte, set Settings) (*Scene, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	e := &k.strict
	if set.Thorough && k.opt.File == "" {
		e = &k.thorough
	}
	if err := k.ready(ctx, e, set.Thorough); err != nil {
		return nil, err
	}
	g := &guest{types: map[uint32]wire{}, entries: map[string]entry{}, held: newHandles(), limit: uint64(k.opt.Bytes)}
	limited, cancel := context.WithTimeoutCause(ctx, k.opt.Time, errLong)
	defer cancel()
	result, err := g.run(limited, e, data, set)
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
	errLong    = errors.New("it took too long")
	errRefused = errors.New("it could not read the file")
	errAbort   = errors.New("it gave up")
)

// run starts the module and calls its reader. What goes wrong in the module
// comes back as an error.
func (g *guest) run(ctx context.Context, e *engine, data []byte, set Settings) (v value, err error) {
	defer func() {
		if r := recover(); r != nil {
			var ok bool
			if err, ok = r.(error); !ok {
				err = fmt.Errorf("%v", r)
			}
		}
	}()
	imports, err := host(ctx, e.rt, g)
	if err != nil {
		return value{}, err
	}
	defer imports.Close(ctx)
	env, err := e.rt.InstantiateModule(ctx, imports, wazero.NewModuleConfig().WithName("").WithStartFunctions())
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
	mod, err := e.rt.InstantiateModule(in, e.compiled, wazero.NewModuleConfig().WithName("").WithStartFunctions())
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
	var exit *sys.ExitError
	says := err.Error()
	var off astray
	switch {
	case limited.Err() != nil || errors.As(err, &exit) && exit.ExitCode() == sys.ExitCodeDeadlineExceeded:
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
	case errors.Is(err, errAbort), strings.Contains(says, "unreachable"), strings.Contains(says, "uncaught exception"):
		t.Kind = Threw
	}
	return t
}

// ready compiles a module where that has not been done.
func (k *Kernel) ready(ctx context.Context, e *engine, thorough bool) error {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.compiled != nil {
		return nil
	}
	code, err := k.module(thorough)
	if err != nil {
		return err
	}
	cfg := wazero.NewRuntimeConfig()
	if k.opt.Interpret {
		cfg = wazero.NewRuntimeConfigInterpreter()
	}
	cfg = cfg.WithCloseOnContextDone(true).WithDebugInfoEnabled(false).
		WithMemoryLimitPages(uint32(k.opt.Bytes / pageSize)).
		WithCoreFeatures(api.CoreFeaturesV2 | experimental.CoreFeaturesExceptionHandling)
	cctx := experimental.WithCompilationWorkers(ctx, runtime.GOMAXPROCS(0))
	// What was compiled before may be damaged; then it is compiled again, into
	// memory alone.
	for _, dir := range []string{k.cacheDir(), ""} {
		with := cfg
		if dir != "" {
			cache, err := wazero.NewCompilationCacheWithDir(dir)
			if err != nil {
				continue
			}
			with = cfg.WithCompilationCache(cache)
		}
		rt := wazero.NewRuntimeWithConfig(ctx, with)
		var compiled wazero.CompiledModule
		compiled, err = rt.CompileModule(cctx, code)
		if err == nil {
			e.rt, e.compiled = rt, compiled
			return nil
		}
		rt.Close(ctx)
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return &Trap{Kind: Broken, Err: err}
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
func (k *Kernel) module(thorough bool) ([]byte, error) {
	var packed []byte
	var err error
	if k.opt.File != "" {
		packed, err = os.ReadFile(k.opt.File)
	} else {
		name := "module/strict.wasm.gz"
		if thorough {
			name = "module/thorough.wasm.gz"
		}
		packed, err = built.ReadFile(name)
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
