// Package outside compares what this module reads and measures with programs
// and libraries that others wrote: the model files that Debian packages for the
// tests of an importer, VTK's readers, writers, measures and distances, and the
// volumes of admesh. It holds tests only, under the build tag outside; make test
// installs what they need and runs them. A test fails, and says what to
// install, where its counterpart is missing.
package outside
