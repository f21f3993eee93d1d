package main

import (
	"fmt"
	"regexp"
	"strings"
)

// Names that a module's JavaScript has for what the module calls by one letter.
type names struct {
	module  string // of all imports
	imports map[string]string
	exports map[string]string
}

var (
	reImports  = regexp.MustCompile(`\bwasmImports\s*=\s*\{([^{}]*)\}`)
	reModule   = regexp.MustCompile(`\{\s*["']?([\w$]+)["']?\s*:\s*wasmImports\b`)
	reEntry    = regexp.MustCompile(`^\s*["']?([\w$]+)["']?\s*:\s*([\w$]+)\s*$`)
	reExport   = regexp.MustCompile(`([\w$]+)\s*=\s*(?:Module\[["'][\w$]+["']\]\s*=\s*)?wasmExports\[["']([^"']+)["']\]`)
	reInitCall = regexp.MustCompile(`addOnInit\(wasmExports\[["']([^"']+)["']\]\)`)
)

// readNames finds the names in the JavaScript that Emscripten writes beside a
// module. It puts one underscore before each C name, which comes off here.
func readNames(js []byte) (names, error) {
	n := names{imports: map[string]string{}, exports: map[string]string{}}
	list, mod := reImports.FindSubmatch(js), reModule.FindSubmatch(js)
	if list == nil || mod == nil {
		return n, fmt.Errorf("there is no table wasmImports in the JavaScript; it wants what Emscripten wrote beside the module")
	}
	n.module = string(mod[1])
	for e := range strings.SplitSeq(string(list[1]), ",") {
		kv := reEntry.FindStringSubmatch(e)
		if kv == nil {
			return n, fmt.Errorf("%q in the table wasmImports is not name:name", e)
		}
		n.imports[kv[1]] = cName(kv[2])
	}
	if init := reInitCall.FindSubmatch(js); init != nil {
		n.exports[string(init[1])] = "__wasm_call_ctors"
	}
	for _, e := range reExport.FindAllSubmatch(js, -1) {
		switch name := string(e[1]); name {
		case "wasmMemory":
			n.exports[string(e[2])] = "memory"
		case "wasmTable":
			n.exports[string(e[2])] = "__indirect_function_table"
		default:
			n.exports[string(e[2])] = cName(name)
		}
	}
	return n, nil
}

func cName(js string) string { return strings.TrimPrefix(js, "_") }

// rename gives imports and exports their C names, and the module "env" to all
// imports.
func (m *module) rename(n names) error {
	for i, e := range m.imports {
		name, ok := n.imports[e.name]
		if !ok || e.module != n.module {
			return fmt.Errorf("the module imports %s.%s, which the JavaScript beside it does not name; the two must come from one build", e.module, e.name)
		}
		m.imports[i].module, m.imports[i].name = "env", name
	}
	for i, e := range m.exports {
		name, ok := n.exports[e.name]
		if !ok {
			return fmt.Errorf("the module exports %s, which the JavaScript beside it does not name; the two must come from one build", e.name)
		}
		m.exports[i].name = name
	}
	return nil
}
