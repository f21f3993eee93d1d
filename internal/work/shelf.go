package work

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fettle"
	"fettle/internal/trade/stock"
)

// maxDocument bounds a brief or shelf file.
const maxDocument = 16 << 20

// Things are what a use case chooses from: the shelf of a JSON file, or one that is
// in hand, which wins; of neither, the built-in one.
type Things struct {
	ShelfFile string
	Shelf     *fettle.Shelf
}

// Open is the shelf.
func (t Things) Open() (*fettle.Shelf, error) {
	if t.Shelf != nil {
		return t.Shelf, nil
	}
	return OpenShelf(t.ShelfFile)
}

// OpenShelf reads a shelf from a JSON file, or returns the built-in one for an
// empty path.
func OpenShelf(path string) (*fettle.Shelf, error) {
	if path == "" {
		return stock.Shelf(), nil
	}
	s := new(fettle.Shelf)
	if err := readDocument(path, "shelf", s); err != nil {
		return nil, err
	}
	if err := s.Validate(); err != nil {
		return nil, fettle.Errorf(fettle.BadFile, "%s: %w", filepath.Base(path), err)
	}
	return s, nil
}

// OpenBrief reads a brief from a JSON file; an empty path is an empty brief.
func OpenBrief(path string) (fettle.Brief, error) {
	var b fettle.Brief
	if path == "" {
		return b, nil
	}
	return b, readDocument(path, "brief", &b)
}

// OpenEnvelope reads an envelope from a JSON file.
func OpenEnvelope(path string) (fettle.Envelope, error) {
	var e fettle.Envelope
	return e, readDocument(path, "envelope", &e)
}

// readDocument reads one JSON document and refuses keys it does not know: a
// misspelt key would otherwise be lost in silence.
func readDocument(path, what string, into any) error {
	name := filepath.Base(path)
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return fettle.Errorf(fettle.NotFound, "%s is not there; check the path of the %s", path, what)
	}
	if err != nil {
		return fettle.Errorf(fettle.BadFile, "%s cannot be opened: %w", path, cause(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxDocument+1))
	if err != nil {
		return fettle.Errorf(fettle.BadFile, "%s cannot be read: %w", path, cause(err))
	}
	if len(data) > maxDocument {
		return fettle.Errorf(fettle.BadFile, "%s is larger than any %s; give the JSON file that fettle wrote", name, what)
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		at := dec.InputOffset()
		var typ *json.UnmarshalTypeError
		var syntax *json.SyntaxError
		switch {
		case errors.As(err, &typ):
			at = typ.Offset
		case errors.As(err, &syntax):
			at = syntax.Offset
		}
		line := 1 + bytes.Count(data[:min(int(at), len(data))], []byte("\n"))
		return fettle.Errorf(fettle.BadFile, "%s is not a %s, near line %d: %w", name, what, line, plainJSON(err))
	}
	return nil
}

// unknownField begins the decoder's complaint about a key that is not there.
const unknownField = "json: unknown field "

// plainJSON says what is wrong with a document in words.
func plainJSON(err error) error {
	var typ *json.UnmarshalTypeError
	switch {
	case errors.As(err, &typ):
		return errors.New("\"" + typ.Field + "\" holds a " + typ.Value + " where something else is wanted")
	case strings.HasPrefix(err.Error(), unknownField):
		return errors.New("the key " + strings.TrimPrefix(err.Error(), unknownField) + " is not known; check its spelling, or leave it out")
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("it ends too early")
	}
	return err
}
