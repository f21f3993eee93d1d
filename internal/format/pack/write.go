package pack

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"io"
	"slices"
	"strings"
	"time"

	"fettle/internal/format/intake"
)

// File is one file to pack.
type File struct {
	Name string // as in [Item]
	Role string
	// Open opens it from its beginning. It is called twice: once to measure, once to
	// copy.
	Open func() (io.ReadCloser, error)
}

// Write packs files under a manifest, in the order of their names. It fills in the
// manifest's form and its list of files. The same input gives the same bytes: the
// only time in the archive is the manifest's. It fails with an [intake.Fault] on a
// manifest or a name that [Read] would refuse, and passes on what Open, a file's
// reader or w fail with; nothing is written before all files have been read once.
func Write(w io.Writer, m Manifest, files []File) error {
	files = slices.Clone(files)
	slices.SortStableFunc(files, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
	m.Format = Format
	m.Files = make([]Item, len(files))
	for i, f := range files {
		m.Files[i] = Item{Name: f.Name, Role: f.Role, SHA256: hex.EncodeToString(make([]byte, sha256.Size))}
	}
	if err := m.check(); err != nil { // names and roles before any file is read
		return err
	}
	deflate, err := flate.NewWriter(io.Discard, flate.DefaultCompression)
	if err != nil {
		return err
	}
	all := make([]measure, len(files))
	for i, f := range files {
		if all[i], err = measured(f, deflate); err != nil {
			return err
		}
		m.Files[i].Bytes, m.Files[i].SHA256 = all[i].bytes, all[i].sha256
	}
	if err := m.check(); err != nil { // sizes
		return err
	}
	list, err := m.text()
	if err != nil {
		return err
	}
	written, err := time.Parse(time.RFC3339, m.Written)
	if err != nil {
		return err // checked above
	}
	z := zip.NewWriter(w)
	head := File{Name: ManifestName, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(list)), nil }}
	of, err := measured(head, deflate)
	if err != nil {
		return err
	}
	if err := put(z, head, of, deflate, written); err != nil {
		return err
	}
	for i, f := range files {
		if err := put(z, f, all[i], deflate, written); err != nil {
			return err
		}
	}
	return z.Close()
}

// text is the manifest as it stands in the archive.
func (m Manifest) text() ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(m); err != nil {
		return nil, err
	}
	if b.Len() > MaxManifest {
		return nil, fault(ManifestName, "pack fewer files", "the list of files comes to more than %d MB", MaxManifest>>20)
	}
	return b.Bytes(), nil
}

// measure is what must be known of a file before its first byte is written.
type measure struct {
	bytes, packed int64
	sha256        string
	crc           uint32
	method        uint16
}

func measured(f File, deflate *flate.Writer) (measure, error) {
	r, err := f.Open()
	if err != nil {
		return measure{}, err
	}
	defer r.Close()
	var packed counter
	deflate.Reset(&packed)
	sum, crc := sha256.New(), crc32.NewIEEE()
	n, err := io.Copy(io.MultiWriter(sum, crc, deflate), io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return measure{}, fmt.Errorf("packing %s: %w", f.Name, err)
	}
	if err := deflate.Close(); err != nil {
		return measure{}, err
	}
	m := measure{bytes: n, packed: int64(packed), sha256: hex.EncodeToString(sum.Sum(nil)), crc: crc.Sum32(), method: zip.Deflate}
	// A picture gains nothing, and what shrinks too well would be taken for a bomb.
	if m.packed >= m.bytes || bomb(m.bytes, m.packed) {
		m.method, m.packed = zip.Store, m.bytes
	}
	return m, nil
}

// bomb reports whether a file unpacks to more than one of a job would.
func bomb(bytes, packed int64) bool {
	const alwaysUnpack = 1 << 20
	return bytes > max(alwaysUnpack, packed*intake.MaxRatio)
}

// put copies a file into the archive, and fails where it is no longer what it was
// when it was measured.
func put(z *zip.Writer, f File, of measure, deflate *flate.Writer, written time.Time) error {
	r, err := f.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	h := &zip.FileHeader{
		Name: f.Name, Method: of.method, CRC32: of.crc,
		CompressedSize64: uint64(of.packed), UncompressedSize64: uint64(of.bytes),
		Flags: utf8Names, ReaderVersion: 20, CreatorVersion: unixMade<<8 | 20, ExternalAttrs: plainFile << 16,
	}
	//lint:ignore SA1019 CreateRaw writes these two and does not look at Modified
	h.ModifiedDate, h.ModifiedTime = dosTime(written)
	raw, err := z.CreateRaw(h)
	if err != nil {
		return err
	}
	sum := sha256.New()
	from := io.TeeReader(io.LimitReader(r, of.bytes+1), sum)
	var packed counter
	to := io.MultiWriter(raw, &packed)
	if of.method == zip.Store {
		_, err = io.Copy(to, from)
	} else {
		deflate.Reset(to)
		if _, err = io.Copy(deflate, from); err == nil {
			err = deflate.Close()
		}
	}
	if err != nil {
		return fmt.Errorf("packing %s: %w", f.Name, err)
	}
	if int64(packed) != of.packed || hex.EncodeToString(sum.Sum(nil)) != of.sha256 {
		return fault(f.Name, "pack the job again", "a file was changed while it was being packed")
	}
	return nil
}

// Of the zip form (PKWARE, APPNOTE.TXT 6.3, 4.4): names are UTF-8; attributes are
// those of Unix; a plain file that its owner may write and all may read.
const (
	utf8Names = 0x800
	unixMade  = 3
	plainFile = 0o100644
)

// dosTime is a time as the zip form keeps it, in UTC, to two seconds and from 1980 to
// 2107 (APPNOTE.TXT 4.4.6).
func dosTime(t time.Time) (date, clock uint16) {
	t = t.UTC()
	if t.Year() < 1980 || t.Year() > 2107 {
		t = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	return uint16(t.Day() + int(t.Month())<<5 + (t.Year()-1980)<<9), uint16(t.Second()/2 + t.Minute()<<5 + t.Hour()<<11)
}

// counter counts what is written to it.
type counter int64

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}
