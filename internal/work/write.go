package work

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"

	"fettle"
)

// WriteFile puts a file in its place whole or not at all: it is written beside
// its place, flushed to the disk and renamed.
func WriteFile(path string, fill func(io.Writer) error) (err error) {
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, "."+filepath.Base(path)+".*")
	if err != nil {
		return cannotWrite(path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := fill(f); err != nil {
		// What was to be written may have failed for a reason of its own.
		if fettle.CodeOf(err) != fettle.Internal {
			return err
		}
		return cannotWrite(path, err)
	}
	if err := f.Chmod(0o644); err != nil {
		return cannotWrite(path, err)
	}
	if err := f.Sync(); err != nil {
		return cannotWrite(path, err)
	}
	if err := f.Close(); err != nil {
		return cannotWrite(path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return cannotWrite(path, err)
	}
	return nil
}

// WriteBytes puts a file in its place whole or not at all.
func WriteBytes(path string, data []byte) error {
	return WriteFile(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// writeJSON writes a document as it is shown with --json.
func writeJSON(path string, doc any) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(doc); err != nil {
		return err
	}
	return WriteBytes(path, b.Bytes())
}

// makeDir makes a folder for output.
func makeDir(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return cannotWrite(dir, err)
	}
	return nil
}

func cannotWrite(path string, err error) error {
	return fettle.Errorf(fettle.Invalid, "%s cannot be written: %w; choose another place", path, cause(err))
}

// cause is the system's own word for a failure, without the path it repeats.
func cause(err error) error {
	switch e := err.(type) {
	case *os.PathError:
		return e.Err
	case *os.LinkError:
		return e.Err
	}
	return err
}
