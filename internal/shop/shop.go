// Package shop is what a shop does with what it keeps: one file per use case on
// shelf, jobs, plans, runs and readings. [New] gives a [Shop]; command line and
// web face call it, and nothing below it.
//
// It knows its store and its queue only by what it asks of them.
package shop

import (
	"context"
	"encoding/json"
	"io"
	"sync"
	"time"

	"fettle"
	"fettle/internal/format/brep"
	"fettle/internal/work"
)

// Store keeps records and files.
type Store interface {
	// Get is a record in its last revision, deleted or not.
	Get(ctx context.Context, kind fettle.RecordKind, id string) (fettle.Record, error)
	// Named is the record of a kind with unique names that has this name and was not deleted.
	Named(ctx context.Context, kind fettle.RecordKind, name string) (fettle.Record, error)
	List(ctx context.Context, q fettle.Query) (fettle.RecordPage, error)
	// History is every revision of a record, the oldest first.
	History(ctx context.Context, kind fettle.RecordKind, id string) ([]fettle.Record, error)
	// Changes is another text after every change of a record of one of these kinds, by
	// whichever process.
	Changes(ctx context.Context, kinds ...fettle.RecordKind) (string, error)
	// Apply does an edit and returns the records as they are then, in the edit's order.
	Apply(ctx context.Context, e fettle.Edit) ([]fettle.Record, error)
	// PutBlob stores a file of at most so many bytes; it is there for good when
	// PutBlob returns.
	PutBlob(ctx context.Context, r io.Reader, most int64) (fettle.Blob, error)
	// OpenBlob opens a stored file.
	OpenBlob(ctx context.Context, sha256 string) (io.ReadSeekCloser, fettle.Blob, error)
	// BlobPath is where a stored file lies on the disk, to be read only.
	BlobPath(ctx context.Context, sha256 string) (string, error)
	// Scratch is a folder on the same disk for work in progress; it is emptied at
	// every start.
	Scratch() string
}

// Tasks is the queue of heavy work.
type Tasks interface {
	// Ask puts a question in the queue, or finds it there, or its answer.
	Ask(ctx context.Context, q fettle.Question) (fettle.Task, error)
}

// Handler answers the questions of one kind. Its error, where it is a
// *fettle.Error with any code but Internal, is final; any other is tried again.
type Handler = func(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error)

// Options of a shop.
type Options struct {
	Store  Store
	Tasks  Tasks        // nil: work is done where it is asked for
	Kernel *brep.Kernel // reads STEP files; nil: the one in the binary
	Now    func() time.Time
	// Program is the version of fettle, kept with each plan.
	Program string
}

// Shop is a shop at work.
type Shop struct {
	store   Store
	tasks   Tasks
	kernel  *brep.Kernel
	now     func() time.Time
	program string
	say     work.Progress // of work done on the spot
	shelf   *lastShelf
	files   *sync.Mutex // held while a version is counted and kept
	tries   *tries
}

// New opens a shop on its store.
func New(o Options) *Shop {
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Shop{store: o.Store, tasks: o.Tasks, kernel: o.Kernel, now: o.Now, program: o.Program, shelf: new(lastShelf), files: new(sync.Mutex), tries: newTries()}
}
