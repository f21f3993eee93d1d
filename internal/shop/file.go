package shop

import (
	"bytes"
	"context"
	"fmt"
	"image"
	_ "image/jpeg" // photos are told apart by what is in them
	_ "image/png"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"

	"fettle"
	"fettle/internal/work"
)

// Sizes of what may be stored.
const (
	MostModel = 512 << 20
	MostPhoto = 32 << 20
)

// AddFile stores a new version of a part's model. It is not read yet: what is in
// it, a survey tells.
func (s *Shop) AddFile(ctx context.Context, by, key, part, name string, r io.Reader) (fettle.Record, error) {
	if _, err := s.store.Get(ctx, fettle.KeptPart, part); err != nil {
		return fettle.Record{}, err
	}
	name = baseName(name)
	if name == "" {
		return fettle.Record{}, fettle.Errorf(fettle.Invalid, "the file has no name; its ending tells what it is, such as plate.step")
	}
	blob, err := s.store.PutBlob(ctx, r, MostModel)
	if err != nil {
		return fettle.Record{}, err
	}
	if blob.Bytes == 0 {
		return fettle.Record{}, fettle.Errorf(fettle.BadFile, "%s is empty; export the model again", name)
	}
	s.files.Lock()
	defer s.files.Unlock()
	versions, err := s.all(ctx, fettle.Query{Kind: fettle.KeptFile, Role: "part", Target: part})
	if err != nil {
		return fettle.Record{}, err
	}
	for _, v := range versions { // the same file again is no new version
		if f, err := bodyOf[fettle.ModelFile](v); err == nil && f.SHA256 == blob.SHA256 && f.File == name {
			return v, nil
		}
	}
	body := fettle.ModelFile{File: name, SHA256: blob.SHA256, Bytes: blob.Bytes, Version: len(versions) + 1}
	// The version is another where one came between.
	asked := hash([]byte("add file"), []byte(part), []byte(name), []byte(blob.SHA256))
	return s.makeAsked(ctx, by, key, asked, fettle.Record{
		Kind: fettle.KeptFile, Links: map[string]string{"part": part}, Files: map[string]string{"model": blob.SHA256}, Body: write(body),
	})
}

// baseName is the last element of a path of any system, without what could hurt in
// a name.
func baseName(name string) string {
	name = path.Base(strings.ReplaceAll(name, "\\", "/"))
	if name == "." || name == "/" || name == ".." {
		return ""
	}
	return clip(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, name))
}

// AddPhoto stores a picture, a JPEG or PNG by what is in it.
func (s *Shop) AddPhoto(ctx context.Context, by, key string, links map[string]string, name, says string, r io.Reader) (fettle.Record, error) {
	var none fettle.Record
	if name = baseName(name); name == "" {
		name = "photo"
	}
	data, err := io.ReadAll(io.LimitReader(r, MostPhoto+1))
	if err != nil {
		return none, err
	}
	if len(data) > MostPhoto {
		return none, fettle.Errorf(fettle.BadFile, "%s is larger than %d MB; take it at a lower resolution", name, MostPhoto>>20)
	}
	head, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return none, fettle.Errorf(fettle.BadFile, "%s is no JPEG or PNG picture; take the photo again", name)
	}
	blob, err := s.store.PutBlob(ctx, bytes.NewReader(data), MostPhoto)
	if err != nil {
		return none, err
	}
	body := fettle.Photo{File: name, SHA256: blob.SHA256, Type: "image/" + kind, WidthPX: head.Width, HeightPX: head.Height, Says: says}
	return s.Make(ctx, by, key, fettle.Record{Kind: fettle.KeptPhoto, Links: links, Files: map[string]string{"photo": blob.SHA256}, Body: write(body)})
}

// OpenStored opens a stored file.
func (s *Shop) OpenStored(ctx context.Context, sha256 string) (io.ReadSeekCloser, fettle.Blob, error) {
	return s.store.OpenBlob(ctx, sha256)
}

// checkOut puts a stored file under the name that it came with into a folder of
// its own, because readers go by its ending and its name stands in what they say.
func (s *Shop) checkOut(ctx context.Context, sha, name string) (file string, done func(), err error) {
	at, err := s.store.BlobPath(ctx, sha)
	if err != nil {
		return "", nil, err
	}
	dir, err := os.MkdirTemp(s.store.Scratch(), "read-*")
	if err != nil {
		return "", nil, noRoom(err)
	}
	done = func() { os.RemoveAll(dir) }
	if at, err = filepath.Abs(at); err != nil {
		done()
		return "", nil, err
	}
	file = filepath.Join(dir, name)
	if os.Link(at, file) == nil || os.Symlink(at, file) == nil {
		return file, done, nil
	}
	if err := copyFile(file, at); err != nil {
		done()
		return "", nil, noRoom(err)
	}
	return file, done, nil
}

func copyFile(to, from string) error {
	src, err := os.Open(from)
	if err != nil {
		return err
	}
	defer src.Close()
	dst, err := os.Create(to)
	if err != nil {
		return err
	}
	if _, err := io.Copy(dst, src); err != nil {
		dst.Close()
		return err
	}
	return dst.Close()
}

func noRoom(err error) error {
	return fettle.Errorf(fettle.Full, "there is no room for work in progress in the workspace: %w; free some and try again", err)
}

// modelOf is a kept model file, put where readers find it.
func (s *Shop) modelOf(ctx context.Context, a modelArgs) (work.Model, func(), error) {
	file, done, err := s.checkOut(ctx, a.Model, a.File)
	if err != nil {
		return work.Model{}, nil, err
	}
	return work.Model{File: file, Units: a.Units, Body: a.Body, Up: a.Up, Kernel: s.kernel}, done, nil
}

// modelArgs are a model file and what was said about it.
type modelArgs struct {
	Model string     `json:"model_sha256"`
	File  string     `json:"file"`
	Units string     `json:"units,omitempty"`
	Body  string     `json:"body,omitempty"`
	Up    [3]float64 `json:"up,omitzero"`
}

func (s *Shop) argsOf(ctx context.Context, file, units, body string) (modelArgs, error) {
	r, err := s.store.Get(ctx, fettle.KeptFile, file)
	if err != nil {
		return modelArgs{}, err
	}
	f, err := bodyOf[fettle.ModelFile](r)
	if err != nil {
		return modelArgs{}, err
	}
	return modelArgs{Model: f.SHA256, File: f.File, Units: units, Body: body}, nil
}

// keepFile stores a file that was written into a folder.
func (s *Shop) keepFile(ctx context.Context, dir, file string) (fettle.SheetFile, error) {
	f, err := os.Open(file)
	if err != nil {
		return fettle.SheetFile{}, err
	}
	defer f.Close()
	b, err := s.store.PutBlob(ctx, f, MostModel)
	if err != nil {
		return fettle.SheetFile{}, err
	}
	name, err := filepath.Rel(dir, file)
	if err != nil {
		return fettle.SheetFile{}, fmt.Errorf("a plan's file lies outside of its folder: %w", err)
	}
	return fettle.SheetFile{Name: filepath.ToSlash(name), SHA256: b.SHA256, Bytes: b.Bytes}, nil
}
