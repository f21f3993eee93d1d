package fettle

import (
	"encoding/json"
	"slices"
	"time"
)

// RecordKind is what a record is of.
type RecordKind string

// What a shop keeps: first its work, then its shelf.
const (
	KeptCustomer RecordKind = "customer" // body: [Customer]
	KeptPart     RecordKind = "part"     // [Part]; links: customer
	KeptFile     RecordKind = "file"     // [ModelFile]; links: part; files: model
	KeptJob      RecordKind = "job"      // [Job]; links: customer, part, file, plan
	KeptPlan     RecordKind = "plan"     // [PlanSheet]; links: job, file; files: plan, shelf, log, and those that came with it
	KeptOffer    RecordKind = "offer"    // [Proposal]; links: job, plan; files: page, paper
	KeptRun      RecordKind = "run"      // [Run] without its readings; links: job, plan
	KeptReading  RecordKind = "reading"  // [Reading]; links: run
	KeptPhoto    RecordKind = "photo"    // [Photo]; links: job, run, offer; files: photo
	KeptLearned  RecordKind = "learned"  // [Parameter]
	// Promises count: each is named by a number one above the last, so that of two that
	// were reckoned at one time only one is kept.
	KeptPromise RecordKind = "promise" // [Promise]; links: job, plan

	KeptMaterial RecordKind = "material"
	KeptLook     RecordKind = "look"
	KeptCutter   RecordKind = "cutter"
	KeptJaws     RecordKind = "jaws"
	KeptGrit     RecordKind = "grit"
	KeptMop      RecordKind = "mop"
	KeptSoft     RecordKind = "soft"
	KeptMedia    RecordKind = "media"
	KeptVessel   RecordKind = "vessel"
	KeptMachine  RecordKind = "machine"
	KeptRates    RecordKind = "rates"    // one, named "rates"
	KeptEnvelope RecordKind = "envelope" // one, named "envelope": [Envelope]
)

// WorkKinds are the records of a shop's work.
func WorkKinds() []RecordKind {
	return []RecordKind{KeptCustomer, KeptPart, KeptFile, KeptJob, KeptPlan, KeptOffer, KeptRun, KeptReading, KeptPhoto, KeptLearned, KeptPromise}
}

// ShelfKinds are the records of a shop's shelf.
func ShelfKinds() []RecordKind {
	return []RecordKind{KeptMaterial, KeptLook, KeptCutter, KeptJaws, KeptGrit, KeptMop, KeptSoft, KeptMedia, KeptVessel, KeptMachine, KeptRates, KeptEnvelope}
}

// Known reports whether there is such a kind.
func (k RecordKind) Known() bool {
	return slices.Contains(WorkKinds(), k) || slices.Contains(ShelfKinds(), k)
}

// NamesAreUnique reports whether a name finds one record of this kind: on the
// shelf, among what was learned and what was promised.
func (k RecordKind) NamesAreUnique() bool {
	return k == KeptLearned || k == KeptPromise || slices.Contains(ShelfKinds(), k)
}

// Record is one thing that the shop keeps, in one of its revisions.
type Record struct {
	Kind RecordKind `json:"kind"`
	ID   string     `json:"id"` // UUIDv7, so that ids sort by when they were made
	// Rev is 1 when made; every change adds one. Who changes a record says which
	// revision was seen, and is refused if it is not the last.
	Rev  int64  `json:"rev"`
	Name string `json:"name"`
	// Links lead to other records by their role ("job", "run"), Files to stored
	// files ("model", "photo") by their SHA-256.
	Links map[string]string `json:"links,omitempty"`
	Files map[string]string `json:"files,omitempty"`
	Made  time.Time         `json:"made"`
	// Changed is when this revision was made, By who made it.
	Changed time.Time       `json:"changed"`
	By      string          `json:"by"`
	Deleted *time.Time      `json:"deleted,omitempty"`
	Body    json.RawMessage `json:"body"`
}

// Act is what a change does to a record.
type Act string

// The acts.
const (
	Make   Act = "make"
	Alter  Act = "alter"  // name, links, files and body are replaced
	Delete Act = "delete" // soft: it can be undone
	Undo   Act = "undo"   // back to the revision before, and back from deletion
)

// Change is one act on one record. Make needs Kind, Name, Links, Files and Body (an ID may
// be given by who wants to refer to it in the same [Edit]); the others Kind, ID
// and the Rev that was seen.
type Change struct {
	Act    Act
	Record Record
}

// Edit is changes that happen together or not at all.
type Edit struct {
	By string
	// Key, where given, is the asker's own name for this edit: asked again with the
	// same changes it answers as it did and does nothing, with others it is refused.
	Key string
	// Asked, where given, is compared in place of the changes: what was asked for,
	// where the changes also come from the clock or from what is kept by now, and would
	// differ the second time.
	Asked   string
	Changes []Change
}

// Query asks for records of one kind, the oldest first or the newest.
type Query struct {
	Kind RecordKind
	// Role and Target, where given, ask for those that link to a record.
	Role, Target string
	Name         string // folded as names of the shelf are
	Deleted      bool   // those that were deleted, and only those
	Newest       bool
	After        string // the id that the page before ended with
	Limit        int    // 0: 100; at most 1000
}

// RecordPage is some records and, in Next, where the following page begins;
// empty for the last.
type RecordPage struct {
	Records []Record `json:"records"`
	Next    string   `json:"next,omitempty"`
}

// Blob is a stored file, known by what is in it.
type Blob struct {
	SHA256 string `json:"sha256"` // lower-case hex
	Bytes  int64  `json:"bytes"`
}
