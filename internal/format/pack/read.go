package pack

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"hash"
	"io"
)

// again is what to do about most things that can be wrong.
const again = "ask for the pack again, and pass it on as it came"

// Reader is an opened pack.
type Reader struct {
	Manifest Manifest
	file     map[string]*zip.File
	item     map[string]Item
}

// Read opens a pack of size bytes. Everything that its directory and its manifest say
// is checked here, and fails with an [intake.Fault]; what is in the files is checked
// as they are read.
func Read(r io.ReaderAt, size int64) (*Reader, error) {
	if err := directory(r, size); err != nil {
		return nil, err
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, fault("", again, "the file is cut short or damaged: its zip directory cannot be read")
	}
	if err := entries(z.File, size); err != nil {
		return nil, err
	}
	p := &Reader{file: map[string]*zip.File{}, item: map[string]Item{}}
	if err := p.list(z.File[0]); err != nil {
		return nil, err
	}
	for _, f := range z.File[1:] {
		p.file[f.Name] = f
	}
	for _, it := range p.Manifest.Files {
		f := p.file[it.Name]
		switch {
		case f == nil:
			return nil, fault(it.Name, again, "a file that the list names is missing")
		case f.UncompressedSize64 != uint64(it.Bytes):
			return nil, fault(it.Name, again, "the list says %d bytes and the archive %d", it.Bytes, f.UncompressedSize64)
		}
		p.item[it.Name] = it
	}
	for _, f := range z.File[1:] {
		if _, listed := p.item[f.Name]; !listed {
			return nil, fault(f.Name, again, "a file is not in the list")
		}
	}
	return p, nil
}

// directory looks at the end of the archive before anything is allocated for what it
// claims: a plain zip directory that ends the file, no more entries and bytes in it
// than a pack may have (PKWARE, APPNOTE.TXT 6.3, 4.3.16).
func directory(r io.ReaderAt, size int64) error {
	const (
		endLen   = 22
		mostList = MaxEntries * (46 + 2*maxName + 256) // headers with names and extra fields
	)
	if size < endLen {
		return fault("", again, "the file is too short to be a pack")
	}
	if size > MaxBytes+mostList+MaxEntries*512 {
		return fault("", "pack fewer or smaller files", "the file is larger than %d MB", MaxBytes>>20)
	}
	var b [endLen]byte
	if _, err := r.ReadAt(b[:], size-endLen); err != nil && !errors.Is(err, io.EOF) {
		return fault("", again, "the file cannot be read to its end")
	}
	u16 := func(i int) int64 { return int64(b[i]) | int64(b[i+1])<<8 }
	u32 := func(i int) int64 { return u16(i) | u16(i+2)<<16 }
	if string(b[:4]) != "PK\x05\x06" || u16(20) != 0 {
		return fault("", again, "the file is cut short, or no pack")
	}
	switch n, length, at := u16(10), u32(12), u32(16); {
	case n > MaxEntries:
		return fault("", "pack fewer files", "the archive holds %d files, and a pack at most %d", n, MaxEntries)
	case u16(4) != 0 || u16(6) != 0 || u16(8) != n || length > mostList || at+length != size-endLen:
		return fault("", again, "the zip directory is not where and what it is said to be")
	}
	return nil
}

// entries checks what the directory says of each file.
func entries(files []*zip.File, size int64) error {
	if len(files) > MaxEntries {
		return fault("", "pack fewer files", "the archive holds %d files, and a pack at most %d", len(files), MaxEntries)
	}
	if len(files) == 0 || files[0].Name != ManifestName {
		return fault("", again, "the first file is not %s, so this is no pack", ManifestName)
	}
	n := newNames()
	left, room := uint64(MaxBytes)+MaxManifest, uint64(size)
	for i, f := range files {
		if i > 0 {
			if err := n.add(f.Name); err != nil {
				return err
			}
		}
		most := left
		if i == 0 {
			most = MaxManifest
		}
		switch {
		case !f.Mode().IsRegular():
			return fault(f.Name, again, "it is a link, a folder or a device, and a pack holds plain files only")
		case f.Flags&1 != 0:
			return fault(f.Name, "save it without a password", "it is encrypted")
		case f.Method != zip.Store && f.Method != zip.Deflate:
			return fault(f.Name, again, "it is packed in a way that is not known")
		case f.UncompressedSize64 > most && i == 0:
			return fault(f.Name, "pack fewer files", "the list of files is larger than %d MB", MaxManifest>>20)
		case f.UncompressedSize64 > most:
			return fault(f.Name, "pack fewer or smaller files", "the files unpack to more than %d MB in all", MaxBytes>>20)
		case f.CompressedSize64 > room:
			return fault(f.Name, again, "the files claim more bytes than the archive has")
		case bomb(int64(f.UncompressedSize64), int64(f.CompressedSize64)):
			return fault(f.Name, again, "it unpacks to far more than a file of a job would")
		case f.Method == zip.Store && f.UncompressedSize64 != f.CompressedSize64:
			return fault(f.Name, again, "its two sizes in the archive do not agree")
		}
		left -= f.UncompressedSize64
		room -= f.CompressedSize64
	}
	return nil
}

// list reads the manifest.
func (p *Reader) list(f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return damaged(f.Name)
	}
	defer r.Close()
	text, err := io.ReadAll(io.LimitReader(r, MaxManifest+1))
	if err != nil {
		return damaged(f.Name)
	}
	if len(text) > MaxManifest {
		return fault(f.Name, again, "the list of files is larger than %d MB", MaxManifest>>20)
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields() // what this form does not have, a later form has
	if err := dec.Decode(&p.Manifest); err != nil {
		return fault(f.Name, again, "the list of files cannot be read: %s", shown(err.Error()))
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return fault(f.Name, again, "something follows the list of files")
	}
	return p.Manifest.check()
}

func damaged(name string) error { return fault(name, again, "it is cut short or damaged") }

// Open opens a file of the pack by its name in the manifest. What is read is counted
// and summed: at the end of a file that is not the one in the list, Read fails with an
// [intake.Fault] in place of [io.EOF]. Whoever stops before the end has checked
// nothing.
func (p *Reader) Open(name string) (io.ReadCloser, error) {
	f, ok := p.file[name]
	if !ok {
		return nil, fault(name, "look in "+ManifestName+" for what there is", "the pack holds no such file")
	}
	r, err := f.Open()
	if err != nil {
		return nil, damaged(name)
	}
	return &checked{from: r, item: p.item[name], sum: sha256.New()}, nil
}

// Verify reads every file to its end, and fails with the first that is not the one in
// the list.
func (p *Reader) Verify() error {
	for _, it := range p.Manifest.Files {
		r, err := p.Open(it.Name)
		if err != nil {
			return err
		}
		_, err = io.Copy(io.Discard, r)
		r.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// checked reads a file and holds it to its item.
type checked struct {
	from io.ReadCloser
	item Item
	sum  hash.Hash
	got  int64
	err  error
}

func (c *checked) Read(p []byte) (int, error) {
	if c.err != nil {
		return 0, c.err
	}
	n, err := c.from.Read(p)
	c.got += int64(n)
	switch {
	case c.got > c.item.Bytes:
		c.err = damaged(c.item.Name)
		return 0, c.err
	case errors.Is(err, io.EOF):
		c.sum.Write(p[:n])
		c.err = io.EOF
		if c.got != c.item.Bytes || hex.EncodeToString(c.sum.Sum(nil)) != c.item.SHA256 {
			c.err = fault(c.item.Name, again, "it is not the file that the list names: its SHA-256 differs")
		}
		return n, c.err
	case err != nil:
		c.err = damaged(c.item.Name)
		return n, c.err
	}
	c.sum.Write(p[:n])
	return n, nil
}

func (c *checked) Close() error { return c.from.Close() }
