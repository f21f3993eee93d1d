package store

import (
	"context"
	"encoding/json"
	"io"
	"slices"

	"fettle"
)

// verify reads a backup whole: every row and its place in the tables, every link
// between them, every stored file.
func (b *backup) verify(ctx context.Context, say func(what string, done, total int)) error {
	if say == nil {
		say = func(string, int, int) {}
	}
	// Values that rows of other tables may point to, by table and column.
	targets := map[parent]map[string]bool{}
	for _, t := range b.tables {
		for _, p := range t.parents {
			targets[parent{table: p.table, of: p.of}] = map[string]bool{}
		}
	}
	blobs := map[string]bool{}
	files, bytes := 0, int64(0)
	for i, t := range b.tables {
		say("reading back tables", i, len(b.tables))
		n := 0
		err := b.rows(ctx, i, func(row []any) error {
			n++
			for _, p := range t.parents {
				v := row[t.index(p.column)]
				if v != nil && !targets[parent{table: p.table, of: p.of}][text(v)] {
					return b.bad("has a row %d of table %q that refers to a %s which is not in it", n, t.name, p.table)
				}
			}
			for c, col := range t.columns {
				known := targets[parent{table: t.name, of: col.name}]
				if known == nil {
					continue
				}
				v := text(row[c])
				if known[v] {
					return b.bad("has %q of table %q twice", v, t.name)
				}
				known[v] = true
			}
			if t.name == blobTable {
				blob, err := b.blob(t, row)
				if err != nil {
					return err
				}
				blobs[blob.SHA256] = true
				if !b.lost[blob.SHA256] {
					files++
					bytes += blob.Bytes
				}
			}
			return b.filesOf(t, row, blobs, n)
		})
		if err != nil {
			return err
		}
	}
	if files != b.m.Files || bytes != b.m.FileBytes {
		return b.bad("lists %d files of %d bytes and says %d of %d", files, bytes, b.m.Files, b.m.FileBytes)
	}
	for name := range b.entries {
		if sha := name[len(name)-min(len(name), 64):]; name == fileEntry(sha) && !blobs[sha] {
			return b.bad("holds a file %s that no table lists", sha)
		}
	}
	for sha := range b.lost {
		if !blobs[sha] {
			return b.bad("lists a lost file %s that no table lists", sha)
		}
	}
	return b.batches(ctx, func(blobs []fettle.Blob, done int) error {
		say("reading back files", done, files)
		return together(ctx, len(blobs), func(i int) error { return b.file(ctx, blobs[i], io.Discard) })
	})
}

// blob is a row of the table of stored files.
func (b *backup) blob(t table, row []any) (fettle.Blob, error) {
	sha, _ := row[t.index(blobSHA)].(string)
	n, _ := row[t.index(blobBytes)].(int64)
	if !isSHA(sha) || n < 0 {
		return fettle.Blob{}, b.bad("lists a file %.80q of %d bytes, which cannot be", sha, n)
	}
	return fettle.Blob{SHA256: sha, Bytes: n}, nil
}

// filesOf looks for the files that a revision names: they stand in JSON, where no
// database holds them to anything.
func (b *backup) filesOf(t table, row []any, blobs map[string]bool, n int) error {
	i := t.index("files")
	if t.name != "revision" || i < 0 {
		return nil
	}
	var files map[string]string
	if v := text(row[i]); v != "" && v != "{}" && json.Unmarshal([]byte(v), &files) == nil {
		for _, sha := range files {
			if !blobs[sha] {
				return b.bad("has a row %d of table %q that refers to a file which is not in it", n, t.name)
			}
		}
	}
	return nil
}

// batches calls f with all stored files that the backup holds, in the table's order,
// some at a time, and how many there were before.
func (b *backup) batches(ctx context.Context, f func(blobs []fettle.Blob, done int) error) error {
	i := slices.IndexFunc(b.tables, func(t table) bool { return t.name == blobTable })
	var blobs []fettle.Blob
	err := b.rows(ctx, i, func(row []any) error {
		blob, err := b.blob(b.tables[i], row)
		if err == nil && !b.lost[blob.SHA256] {
			blobs = append(blobs, blob)
		}
		return err
	})
	for done := 0; err == nil && done < len(blobs); {
		n := batch(blobs[done:])
		err = f(blobs[done:done+n], done)
		done += n
	}
	return err
}
