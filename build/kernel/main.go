// Command kernel rewrites the WebAssembly build of the B-rep kernel so that it
// runs in one static binary.
package main

func main() {}
