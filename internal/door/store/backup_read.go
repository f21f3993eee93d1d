package store

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"fettle"
)

const (
	manifestEntry = "manifest.json"
	// mostManifest and mostRow keep a hostile file from filling the memory: a
	// manifest grows only by lost files, a row by its body.
	mostManifest = 64 << 20
	mostRow      = 256 << 20
)

func tableEntry(name string) string { return "tables/" + name + ".jsonl" }
func fileEntry(sha string) string   { return "files/" + sha }

// isSHA reports whether a text is a SHA-256 as files are named by it.
func isSHA(s string) bool {
	return len(s) == 64 && strings.Trim(s, "0123456789abcdef") == ""
}

// backup is a backup that is being read. Nothing that it says of itself is believed.
type backup struct {
	name    string
	ours    bool // just written here, and read back
	m       manifest
	tables  []table
	entries map[string]*zip.File
	lost    map[string]bool
}

// bad is the refusal of a backup.
func (b *backup) bad(format string, args ...any) error {
	says := "the backup %s cannot be used: it " + format + "; take another copy of it, or an older one"
	if b.ours {
		says = "the backup %s did not come out whole and was thrown away: it " + format + "; let the workspace be checked, then try again"
	}
	return fettle.Errorf(fettle.BadFile, says, append([]any{b.name}, args...)...)
}

// damage tells a damaged file from a disk that does not read and from who gave up.
func (b *backup) damage(ctx context.Context, at string, err error) error {
	var disk *os.PathError
	var ours *fettle.Error
	switch {
	case errors.As(err, &ours):
		return err
	case ctx.Err() != nil:
		return fmt.Errorf("store: %w", context.Cause(ctx))
	case errors.As(err, &disk):
		return fettle.Errorf(fettle.BadFile, "the backup %s cannot be read from its disk at %s; copy it to another: %w", b.name, at, err)
	}
	return b.bad("is damaged at %s", at)
}

// openBackup reads what a backup says of itself, and holds the list of what is in it
// against it. Only names that a backup has are let in, so none of them can lead
// anywhere on the disk.
func openBackup(ctx context.Context, r io.ReaderAt, size int64, name string) (*backup, error) {
	b := &backup{name: name, entries: map[string]*zip.File{}, lost: map[string]bool{}}
	z, err := zip.NewReader(r, size)
	if err != nil {
		if disk := (&os.PathError{}); errors.As(err, &disk) {
			return nil, b.damage(ctx, "its end", err)
		}
		return nil, b.bad("is no zip file, or was cut off")
	}
	packed := uint64(0)
	for _, f := range z.File {
		switch {
		case b.entries[f.Name] != nil:
			return nil, b.bad("holds %.80q twice", f.Name)
		case f.Method != zip.Store && f.Method != zip.Deflate, f.Flags&1 != 0:
			return nil, b.bad("packs %.80q in a way that no backup is packed", f.Name)
		case f.CompressedSize64 > uint64(size)-packed, f.Method == zip.Store && f.CompressedSize64 != f.UncompressedSize64:
			return nil, b.bad("claims to hold more in %.80q than there is", f.Name)
		}
		packed += f.CompressedSize64
		b.entries[f.Name] = f
	}
	if err := b.readManifest(ctx); err != nil {
		return nil, err
	}
	all, err := shapeAt(ctx, b.m.Schema)
	if err != nil {
		return nil, err
	}
	b.tables = kept(all)
	return b, b.expect()
}

func (b *backup) readManifest(ctx context.Context) error {
	f := b.entries[manifestEntry]
	if f == nil {
		return b.bad("holds no %s, so it is none of fettle's or was cut off", manifestEntry)
	}
	if f.UncompressedSize64 > mostManifest {
		return b.bad("has a %s of %d bytes, which is too long", manifestEntry, f.UncompressedSize64)
	}
	in, err := f.Open()
	if err != nil {
		return b.damage(ctx, manifestEntry, err)
	}
	defer in.Close()
	text, err := io.ReadAll(io.LimitReader(in, mostManifest+1))
	if err != nil {
		return b.damage(ctx, manifestEntry, err)
	}
	var told struct {
		Format string `json:"format"`
		Schema int64  `json:"schema"`
	}
	if json.Unmarshal(text, &told) != nil || !strings.HasPrefix(told.Format, "fettle backup ") {
		return b.bad("has a %s that is none of fettle's", manifestEntry)
	}
	if told.Format != backupFormat || told.Schema > latestSchema() {
		return fettle.Errorf(fettle.BadFile, "the backup %s was made by a newer fettle than this one; restore it with that", b.name)
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&b.m); err != nil || told.Schema < 1 {
		return b.bad("has a %s that is none of fettle's", manifestEntry)
	}
	return nil
}

// expect holds tables and lost files of the manifest against what there can be.
func (b *backup) expect() error {
	if len(b.m.Tables) != len(b.tables) {
		return b.bad("lists %d tables where %d belong", len(b.m.Tables), len(b.tables))
	}
	for i, t := range b.tables {
		if b.m.Tables[i].Table != t.name {
			return b.bad("lists a table %.40q where %q belongs", b.m.Tables[i].Table, t.name)
		}
		if b.m.Tables[i].Rows < 0 || b.m.Tables[i].Bytes < 0 {
			return b.bad("says that table %q has fewer rows than none", t.name)
		}
		if b.entries[tableEntry(t.name)] == nil {
			return b.bad("lacks the table %q", t.name)
		}
	}
	for _, sha := range b.m.Lost {
		if !isSHA(sha) || b.lost[sha] {
			return b.bad("lists lost files wrongly")
		}
		b.lost[sha] = true
	}
	for name := range b.entries {
		sha, isFile := strings.CutPrefix(name, fileEntry(""))
		known := name == manifestEntry || isFile && isSHA(sha) ||
			slices.ContainsFunc(b.tables, func(t table) bool { return name == tableEntry(t.name) })
		if !known {
			return b.bad("holds %.80q, which is in no backup", name)
		}
	}
	return nil
}

// rows reads a table to its end. The row is overwritten by the next.
func (b *backup) rows(ctx context.Context, i int, f func(row []any) error) error {
	t, sum := b.tables[i], b.m.Tables[i]
	at := tableEntry(t.name)
	in, err := b.entries[at].Open()
	if err != nil {
		return b.damage(ctx, at, err)
	}
	defer in.Close()
	h := sha256.New()
	lines := bufio.NewReaderSize(io.TeeReader(io.LimitReader(in, sum.Bytes+1), h), 1<<18)
	row := make([]any, len(t.columns))
	var line []byte
	n, bytes := int64(0), int64(0)
	for {
		line, err = readLine(lines, line[:0])
		if err == io.EOF && len(line) == 0 {
			break
		}
		if err == errLong {
			return b.bad("has a row %d of table %q that is too long", n+1, t.name)
		}
		if err != nil && err != io.EOF {
			return b.damage(ctx, at, err)
		}
		if err == io.EOF {
			return b.bad("breaks off within row %d of table %q", n+1, t.name)
		}
		n, bytes = n+1, bytes+int64(len(line))
		if n > sum.Rows || bytes > sum.Bytes {
			return b.bad("has more in table %q than it says", t.name)
		}
		if n%1024 == 0 && ctx.Err() != nil {
			return fmt.Errorf("store: %w", context.Cause(ctx))
		}
		if err := readRow(line, t.columns, row); err != nil {
			return b.bad("has a row %d of table %q that %w", n, t.name, err)
		}
		if err := f(row); err != nil {
			return err
		}
	}
	if n != sum.Rows {
		return b.bad("has %d rows in table %q and says %d", n, t.name, sum.Rows)
	}
	if bytes != sum.Bytes || hex.EncodeToString(h.Sum(nil)) != sum.SHA256 {
		return b.bad("has a table %q that was altered", t.name)
	}
	return nil
}

var errLong = errors.New("line too long")

func readLine(r *bufio.Reader, line []byte) ([]byte, error) {
	for {
		part, err := r.ReadSlice('\n')
		line = append(line, part...)
		if len(line) > mostRow {
			return line, errLong
		}
		if err != bufio.ErrBufferFull {
			return line, err
		}
	}
}

// file copies a stored file, and fails unless it is what its name says.
func (b *backup) file(ctx context.Context, blob fettle.Blob, w io.Writer) error {
	at := fileEntry(blob.SHA256)
	f := b.entries[at]
	if f == nil {
		return b.bad("lacks the file %s", blob.SHA256)
	}
	if f.UncompressedSize64 != uint64(blob.Bytes) {
		return b.bad("holds %d bytes of the file %s, which has %d", f.UncompressedSize64, blob.SHA256, blob.Bytes)
	}
	in, err := f.Open()
	if err != nil {
		return b.damage(ctx, at, err)
	}
	defer in.Close()
	h := sha256.New()
	n, err := io.CopyBuffer(&counting{w: io.MultiWriter(h, w), ctx: ctx}, io.LimitReader(in, blob.Bytes+1), make([]byte, 1<<17))
	if err != nil {
		if out := (&writeError{}); errors.As(err, &out) {
			return out.err
		}
		return b.damage(ctx, at, err)
	}
	if n != blob.Bytes || hex.EncodeToString(h.Sum(nil)) != blob.SHA256 {
		return b.bad("has a file %s that was altered", blob.SHA256)
	}
	return nil
}

// writeError is a failure of what a file is copied to.
type writeError struct{ err error }

func (e *writeError) Error() string { return e.err.Error() }
