package main

// notice goes beside the module: what they are, whose, and what was done to
// them, as the GNU Lesser General Public License 2.1 asks in its sections 2 and 6.
const notice = `The B-rep kernel in Fettle
==========================

Fettle makes use of facilities provided by the Open CASCADE Technology software.

The file kernel.wasm.gz is a modified version of dist/occt-import-js.wasm from the
npm package occt-import-js, version 0.0.23
(https://github.com/kovacsv/occt-import-js), which contains Open CASCADE
Technology 7.6 (https://dev.opencascade.org). Both are free software under the
GNU Lesser General Public License, version 2.1, and so is the modified file.
The texts are in occt-license.txt and occt-import-js-license.txt. Open CASCADE
Technology comes with an exception besides (version 1.0), by which works that
use its headers may be passed on under other terms.

What was changed
----------------

By the Fettle authors, in November 2026, in the compiled module and nowhere in
its source:

  - imports and exports go by the names they have in C, which the JavaScript in
    the package gives for them, and the functions that the module imports are
    asked for under the module name env;
  - the instructions for exceptions are gone: an exception stands in global
    variables, which are exported as __exception_tag and __exception_value, and
    calls that may throw are followed by a branch;
  - choices between two floating-point numbers are made between their bits;
  - every turn of a loop looks at a global variable, which is exported as stop, and
    traps where it is not 0;
  - names for debugging and other custom sections are left out.

The program that does this is in Fettle's source, in build/kernel.

Source
------

occt-import-js has its source, with Open CASCADE Technology as a submodule, at
https://github.com/kovacsv/occt-import-js; the source of the package itself is
also in the npm package of the version above, and that of Open CASCADE Technology
at https://git.dev.opencascade.org/repos/occt.git.

Another build
-------------

You may change the library and run Fettle with what you made. Build
occt-import-js, then, in Fettle's source,

  go run ./build/kernel --any --package DIR --out OUT

where DIR is the folder that holds your dist, and

  fettle --brep-kernel OUT/kernel.wasm.gz ...

takes it in place of the one in the binary.
`
