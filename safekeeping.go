package fettle

import "time"

// TableRows is how many rows of one of the store's tables were copied.
type TableRows struct {
	Table string `json:"table"`
	Rows  int64  `json:"rows"`
}

// BackupReport is what a backup holds.
type BackupReport struct {
	Path    string      `json:"path,omitempty"` // where it was written to a file
	Bytes   int64       `json:"bytes"`          // of the backup itself
	Made    time.Time   `json:"made"`           // the moment that it shows
	Program string      `json:"program"`        // version of fettle
	Schema  int64       `json:"schema"`         // version of the tables
	Tables  []TableRows `json:"tables"`
	Files   int         `json:"files"` // stored files in it
	// FileBytes is their size as they are stored.
	FileBytes int64 `json:"file_bytes"`
	// Lost are stored files that the shop no longer has as they came, by SHA-256:
	// gone from the disk, or altered there. The rest is in the backup.
	Lost []string `json:"lost,omitempty"`
}

// RestoreReport is what came back, and where that which was there before went.
type RestoreReport struct {
	From      string      `json:"from"` // the backup
	Made      time.Time   `json:"made"` // the moment that it shows
	Program   string      `json:"program"`
	Schema    int64       `json:"schema"` // as it was in the backup
	Tables    []TableRows `json:"tables"`
	Files     int         `json:"files"`
	FileBytes int64       `json:"file_bytes"`
	Lost      []string    `json:"lost,omitempty"` // files that the backup could not hold
	// Waiting are tasks that were not done when the backup was made; they wait for
	// their turn again.
	Waiting int `json:"waiting"`
	// Before is where the shop as it was before is kept: a folder, or a schema of the
	// database. Empty where there was none.
	Before string `json:"before,omitempty"`
	// Notes are sentences that the owner should read.
	Notes []string `json:"notes,omitempty"`
}

// CheckReport is whether what the shop keeps is as it was stored.
type CheckReport struct {
	// Sound is that nothing was found; leftovers do no harm.
	Sound     bool  `json:"sound"`
	Records   int64 `json:"records"`
	Revisions int64 `json:"revisions"`
	Links     int64 `json:"links"`
	Tasks     int64 `json:"tasks"`
	Files     int64 `json:"files"`
	FileBytes int64 `json:"file_bytes"`
	// Leftovers are files that nothing refers to, as a crash between two steps
	// leaves them: harmless, and listed by their path.
	Leftovers []string       `json:"leftovers"`
	Findings  []CheckFinding `json:"findings"`
	// More is how many findings were not listed, because there were too many.
	More int `json:"more,omitempty"`
}

// CheckFinding is one thing that is not as it should be.
type CheckFinding struct {
	// About is a table, a record's id or a file's SHA-256.
	About string `json:"about"`
	// Says is a sentence: what is wrong; what to do.
	Says string `json:"says"`
}
