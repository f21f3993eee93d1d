package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/url"
	"path"
	"slices"
	"strings"
)

const (
	// MaxRatio is how many times its packed size a text may unpack to; text of
	// numbers packs to a fifth or a twentieth.
	MaxRatio = 200
	// maxDeflate is how many times its packed size deflate can unpack to at the
	// very most: 258 bytes for two bits (RFC 1951), rounded up.
	maxDeflate = 1040
	// alwaysUnpack is the size up to which the ratio is not looked at.
	alwaysUnpack = 1 << 20
)

// Archive is a zip file that is whole in memory. What its directory says about
// sizes is only believed where it is small or where the packed bytes could
// really unpack to so much.
type Archive struct {
	format string
	files  map[string]*zip.File // by key
	names  []string             // sorted
	size   int                  // bytes of the archive itself
	total  int                  // bytes unpacked so far
}

// OpenArchive reads the zip directory; format stands in front of its faults.
func OpenArchive(format string, data []byte) (*Archive, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, &Fault{Format: format, What: "the file is cut short or damaged: its zip directory cannot be read", Try: "copy or export it again"}
	}
	a := &Archive{format: format, files: map[string]*zip.File{}, size: len(data)}
	for _, f := range z.File {
		k := ArchiveKey(f.Name)
		if _, ok := a.files[k]; !ok {
			a.files[k] = f
			a.names = append(a.names, k)
		}
	}
	slices.Sort(a.names)
	return a, nil
}

// ArchiveKey is a part's name as it is looked up: case does not count, a
// leading slash is left off, percent signs are undone.
func ArchiveKey(name string) string {
	if p, err := url.PathUnescape(name); err == nil {
		name = p
	}
	return strings.ToLower(strings.TrimPrefix(path.Clean("/"+strings.ReplaceAll(name, `\`, "/")), "/"))
}

// Names are the keys of all parts, sorted.
func (a *Archive) Names() []string { return a.names }

// Has reports whether there is a part of this key.
func (a *Archive) Has(key string) bool { return a.files[key] != nil }

// find is a part that can be opened.
func (a *Archive) find(key string) (*zip.File, error) {
	f := a.files[key]
	if f == nil {
		return nil, &Fault{Format: a.format, What: fmt.Sprintf("the part %q is missing", Printable([]byte(key))), Try: "export it again"}
	}
	if f.Flags&1 != 0 {
		return nil, &Fault{Format: a.format, What: "its parts are encrypted", Where: Printable([]byte(key)), Try: "save it without a password"}
	}
	return f, nil
}

// packed is how many packed bytes a part can have; the directory may lie.
func (a *Archive) packed(f *zip.File) int { return int(min(f.CompressedSize64, uint64(a.size))) }

func (a *Archive) open(key string, f *zip.File) (io.ReadCloser, error) {
	r, err := f.Open()
	if err != nil {
		return nil, &Fault{Format: a.format, What: "a part is damaged or packed in a way that cannot be read", Where: Printable([]byte(key)), Try: "copy or export it again"}
	}
	return r, nil
}

// damaged is the fault of a part that does not unpack to its end.
func (a *Archive) damaged(key string) *Fault {
	return &Fault{Format: a.format, What: "a part is cut short or damaged", Where: Printable([]byte(key)), Try: "copy or export it again"}
}

// Unpack reads a part of text whole. The size that the directory declares is
// only believed where it is small; what comes out is counted while it comes.
func (a *Archive) Unpack(key string) ([]byte, error) {
	f, err := a.find(key)
	if err != nil {
		return nil, err
	}
	limit := MaxBytes - a.total
	packed := a.packed(f)
	byRatio := max(alwaysUnpack, packed*MaxRatio)
	tooBig := &Fault{Format: a.format, Where: Printable([]byte(key)),
		What: "it unpacks to far more than a file of this kind would", Try: "export it again, or with fewer points"}
	if f.UncompressedSize64 > uint64(min(limit, byRatio)) {
		return nil, tooBig
	}
	limit = min(limit, byRatio)
	r, err := a.open(key, f)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	buf := make([]byte, 0, min(int(f.UncompressedSize64), alwaysUnpack+20*packed)+1)
	for {
		if len(buf) == cap(buf) {
			if len(buf) > limit {
				return nil, tooBig
			}
			buf = slices.Grow(buf, min(len(buf)+1, limit+1-len(buf)))
		}
		n, err := r.Read(buf[len(buf):min(cap(buf), limit+1)])
		buf = buf[:len(buf)+n]
		if len(buf) > limit {
			return nil, tooBig
		}
		if errors.Is(err, io.EOF) {
			a.total += len(buf)
			return buf, nil
		}
		if err != nil {
			return nil, a.damaged(key)
		}
	}
}

// Stream opens a part of binary numbers of which want bytes are needed. It
// refuses, before anything is unpacked, a part that its directory calls
// smaller, and one whose packed bytes could not unpack to so much. A reader of
// it that meets an error other than io.EOF has met a damaged part, and gives
// [Archive.Damaged].
func (a *Archive) Stream(key string, want int64) (io.ReadCloser, error) {
	f, err := a.find(key)
	if err != nil {
		return nil, err
	}
	if want > int64(MaxBytes) {
		return nil, &Fault{Format: a.format, Where: Printable([]byte(key)), What: fmt.Sprintf("it would unpack to more than %d MB", MaxBytes>>20), Try: "export it with fewer points"}
	}
	if f.UncompressedSize64 < uint64(want) || int64(a.packed(f))*maxDeflate < want {
		return nil, &Fault{Format: a.format, Where: Printable([]byte(key)),
			What: fmt.Sprintf("it holds fewer than the %d bytes that its sizes ask for", want), Try: "copy or export it again"}
	}
	return a.open(key, f)
}

// Damaged is the fault for a part that [Archive.Stream] opened and that did not
// unpack to its end.
func (a *Archive) Damaged(key string) error { return a.damaged(key) }
