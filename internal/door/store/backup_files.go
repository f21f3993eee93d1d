package store

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"time"

	"fettle"
	"fettle/internal/shape/cores"
)

// How many files are worked on at a time, and of what size together. Larger ones go
// through one by one, without being held in memory.
const (
	batchFiles = 64
	batchBytes = 32 << 20
)

// batch is how many of these files go together; at least one.
func batch(blobs []fettle.Blob) int {
	n, bytes := 0, int64(0)
	for n < len(blobs) && n < batchFiles && (n == 0 || bytes+blobs[n].Bytes <= batchBytes) {
		bytes += blobs[n].Bytes
		n++
	}
	return n
}

// together runs f on all cores, and gives the first error in order.
func together(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	if err := cores.Each(ctx, n, func(i int) { errs[i] = f(i) }); err != nil {
		return fmt.Errorf("store: %w", context.Cause(ctx))
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// blobWriter copies stored files into a zip file.
type blobWriter struct {
	s    *Store
	z    *zip.Writer
	made time.Time
}

// write copies some files, and reports which of them were as they should be.
func (w *blobWriter) write(ctx context.Context, blobs []fettle.Blob) (whole []bool, err error) {
	whole = make([]bool, len(blobs))
	if blobs[0].Bytes > batchBytes {
		whole[0], err = w.stream(blobs[0])
		return whole, err
	}
	packed := make([]packedFile, len(blobs))
	err = together(ctx, len(blobs), func(i int) error {
		packed[i], whole[i] = w.pack(blobs[i])
		return nil
	})
	if err != nil {
		return nil, err
	}
	for i := range packed {
		if !whole[i] {
			continue
		}
		entry, err := w.z.CreateRaw(&packed[i].FileHeader)
		if err != nil {
			return nil, err
		}
		if _, err := entry.Write(packed[i].content); err != nil {
			return nil, err
		}
	}
	return whole, nil
}

// packedFile is a file as it stands in a zip file.
type packedFile struct {
	zip.FileHeader
	content []byte
}

func (w *blobWriter) header(b fettle.Blob, shrinks bool) zip.FileHeader {
	h := zip.FileHeader{Name: fileEntry(b.SHA256), Method: zip.Store, Modified: w.made}
	if shrinks {
		h.Method = zip.Deflate
	}
	return h
}

// pack reads a file that fits in memory, and reports whether it is what it should be.
func (w *blobWriter) pack(b fettle.Blob) (packedFile, bool) {
	f := w.s.openBlob(b)
	if f == nil {
		return packedFile{}, false
	}
	defer f.Close()
	content := make([]byte, b.Bytes)
	if _, err := io.ReadFull(f, content); err != nil {
		return packedFile{}, false
	}
	if sum := sha256.Sum256(content); hex.EncodeToString(sum[:]) != b.SHA256 {
		return packedFile{}, false
	}
	smaller := content[:min(len(content), probeBytes)]
	if smaller = deflated(smaller); smaller != nil && len(content) > probeBytes {
		smaller = deflated(content)
	}
	p := packedFile{w.header(b, smaller != nil), content}
	p.CRC32 = crc32.ChecksumIEEE(content)
	p.UncompressedSize64 = uint64(len(content))
	if smaller != nil {
		p.content = smaller
	}
	p.CompressedSize64 = uint64(len(p.content))
	return p, true
}

// stream copies a file of any size, and reports whether it was what it should be. One
// that was not may stand in the zip file: the manifest names it, and nobody reads it.
func (w *blobWriter) stream(b fettle.Blob) (whole bool, err error) {
	f := w.s.openBlob(b)
	if f == nil {
		return false, nil
	}
	defer f.Close()
	head := make([]byte, min(b.Bytes, probeBytes))
	if _, err := io.ReadFull(f, head); err != nil {
		return false, nil
	}
	header := w.header(b, deflated(head) != nil)
	entry, err := w.z.CreateHeader(&header)
	if err != nil {
		return false, err
	}
	h := sha256.New()
	_, err = io.CopyBuffer(io.MultiWriter(h, entry), io.MultiReader(bytes.NewReader(head), f), make([]byte, 1<<17))
	if pe := (&fs.PathError{}); errors.As(err, &pe) && pe.Op == "read" {
		return false, nil // the disk under it is failing
	}
	return err == nil && hex.EncodeToString(h.Sum(nil)) == b.SHA256, err
}

// openBlob opens a stored file that has its length; nil where there is none.
func (s *Store) openBlob(b fettle.Blob) *os.File {
	if !isSHA(b.SHA256) {
		return nil
	}
	f, err := os.Open(s.blobPath(b.SHA256))
	if err != nil {
		return nil
	}
	if st, err := f.Stat(); err != nil || !st.Mode().IsRegular() || st.Size() != b.Bytes {
		_ = f.Close()
		return nil
	}
	return f
}

// probeBytes is how much of a file tells whether it is worth deflating.
const probeBytes = 1 << 16

// deflated is content deflated, or nil where that makes it hardly smaller: models and
// programs get smaller, photos and papers are compressed already.
func deflated(content []byte) []byte {
	var b bytes.Buffer
	z, err := flate.NewWriter(&b, flate.BestSpeed)
	if err != nil {
		panic("store: " + err.Error())
	}
	_, _ = z.Write(content)
	_ = z.Close()
	if b.Len() >= len(content)*9/10 {
		return nil
	}
	return b.Bytes()
}
