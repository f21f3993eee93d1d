// Command kernel makes the WebAssembly module of the B-rep kernel that package
// brep embeds, from the npm package occt-import-js as its project publishes it.
//
// That module is made for JavaScript engines: its imports and exports go by one
// letter, which only the JavaScript beside it explains, and its C++ exceptions
// are instructions that the engine in the binary does not run. The command gives
// everything its C name ([module.rename]), writes the exceptions as ordinary
// branches ([lowerExceptions]), goes round a fault of the engine ([floatSelects])
// and lets the host end what runs for too long ([stops]). All of it is rewriting of what stands in the module: the
// kernel's own code does what it did.
//
//	go run ./build/kernel
//
// reads build/kernel/node_modules/occt-import-js, where npm ci puts it, and
// writes to internal/format/brep/module. With --package and --out it takes
// another build of the package, for fettle --brep-kernel.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	pkg := flag.String("package", filepath.FromSlash("build/kernel/node_modules/occt-import-js"), "folder of the unpacked npm package")
	out := flag.String("out", filepath.FromSlash("internal/format/brep/module"), "folder to write to")
	anyBuild := flag.Bool("any", false, "take another build of the package than the one that was tried")
	flag.Parse()
	if flag.NArg() > 0 {
		fmt.Fprintln(os.Stderr, "kernel: it takes no arguments; -h lists the options")
		os.Exit(2)
	}
	made, err := run(*pkg, *out, *anyBuild)
	if err != nil {
		fmt.Fprintln(os.Stderr, "kernel:", err)
		os.Exit(1)
	}
	fmt.Println(made)
}
