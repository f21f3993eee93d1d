package threemf

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

	"fettle/internal/format/intake"
)

const (
	// maxRatio is how many times its packed size a part may unpack to; text of
	// numbers packs to a fifth or a twentieth.
	maxRatio = 200
	// alwaysUnpack is the size up to which the ratio is not looked at.
	alwaysUnpack = 1 << 20
)

// archive is the package that a 3MF file is: parts in a zip file, found by
// relationships (Open Packaging Conventions, ECMA-376 part 2).
type archive struct {
	files map[string]*zip.File // by name in lower case without the leading slash
	names []string             // sorted
	size  int                  // bytes of the archive itself
	total int                  // bytes unpacked so far
}

// openArchive reads the zip directory.
func openArchive(data []byte) (*archive, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, &intake.Fault{Format: format, What: "the file is cut short or damaged: its zip directory cannot be read", Try: "copy or export it again"}
	}
	a := &archive{files: map[string]*zip.File{}, size: len(data)}
	for _, f := range z.File {
		k := key(f.Name)
		if _, ok := a.files[k]; !ok {
			a.files[k] = f
			a.names = append(a.names, k)
		}
	}
	slices.Sort(a.names)
	return a, nil
}

// key is a part's name as it is looked up: case does not count, a leading slash
// is left off, percent signs are undone.
func key(name string) string {
	if p, err := url.PathUnescape(name); err == nil {
		name = p
	}
	return strings.ToLower(strings.TrimPrefix(path.Clean("/"+strings.ReplaceAll(name, `\`, "/")), "/"))
}

// unpack reads a part whole. The size that the directory declares is only
// believed where it is small; what comes out is counted while it comes.
func (a *archive) unpack(name string) ([]byte, error) {
	f := a.files[name]
	if f == nil {
		return nil, &intake.Fault{Format: format, What: fmt.Sprintf("the part %q is missing", shown(name)), Try: "export it again"}
	}
	if f.Flags&1 != 0 {
		return nil, &intake.Fault{Format: format, What: "its parts are encrypted", Where: shown(name), Try: "save it without a password"}
	}
	limit := intake.MaxBytes - a.total
	packed := int(min(f.CompressedSize64, uint64(a.size))) // the directory may lie about this too
	byRatio := max(alwaysUnpack, packed*maxRatio)
	tooBig := &intake.Fault{Format: format, Where: shown(name),
		What: "it unpacks to far more than a model would", Try: "export it again, or with a coarser tolerance"}
	if f.UncompressedSize64 > uint64(min(limit, byRatio)) {
		return nil, tooBig
	}
	limit = min(limit, byRatio)
	r, err := f.Open()
	if err != nil {
		return nil, &intake.Fault{Format: format, What: "a part is damaged or packed in a way that cannot be read", Where: shown(name), Try: "copy or export it again"}
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
			return nil, &intake.Fault{Format: format, What: "a part is cut short or damaged", Where: shown(name), Try: "copy or export it again"}
		}
	}
}

// shown is a part's name for a message.
func shown(name string) string { return intake.Printable([]byte(name)) }

// modelPart finds the part that the package's relationships call the model, or
// the first model under 3D where they do not say.
func (a *archive) modelPart() (string, error) {
	if a.files["_rels/.rels"] != nil {
		d, err := a.unpack("_rels/.rels")
		if err != nil {
			return "", err
		}
		if target, err := relation(d); err != nil {
			return "", err
		} else if target != "" && a.files[target] != nil {
			return target, nil
		}
	}
	for _, n := range a.names {
		if strings.HasPrefix(n, "3d/") && strings.HasSuffix(n, ".model") {
			return n, nil
		}
	}
	what := "this zip file holds no 3D model"
	if a.files["[content_types].xml"] != nil {
		what = "this package holds no 3D model"
	}
	return "", &intake.Fault{Format: format, What: what, Try: "unpack it, or export the part as 3MF or STL"}
}

// relation finds the model in a text of relationships.
func relation(d []byte) (string, error) {
	s := newScanner("_rels/.rels", d)
	found := ""
	for tok := s.next(); tok != done; tok = s.next() {
		if tok != open {
			continue
		}
		if _, n := local(s.name); string(n) != "Relationship" {
			continue
		}
		var typ, target string
		for k, v, ok := s.attr(); ok; k, v, ok = s.attr() {
			switch string(k) {
			case "Type":
				typ = plain(v)
			case "Target":
				target = plain(v)
			}
		}
		if strings.HasSuffix(typ, "/3dmodel") && found == "" {
			found = key(target)
		}
	}
	return found, s.err
}
