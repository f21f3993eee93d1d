package fettle

// Customer is who a job is for.
type Customer struct {
	Name    string `json:"name"`
	Contact string `json:"contact,omitempty"`
	Notes   string `json:"notes,omitempty"`
}

// Part is what a customer has made, through all versions of its model.
type Part struct {
	Name   string `json:"name"`
	Number string `json:"number,omitempty"`
	Notes  string `json:"notes,omitempty"`
}

// ModelFile is one version of a part's model.
type ModelFile struct {
	File    string `json:"file"` // its name as it came
	SHA256  string `json:"sha256"`
	Bytes   int64  `json:"bytes"`
	Version int    `json:"version"` // from 1, by part
	Notes   string `json:"notes,omitempty"`
}

// JobState is where a job stands.
type JobState string

// The states.
const (
	JobAsked   JobState = "asked"   // a brief, no word yet
	JobOffered JobState = "offered" // waits for the customer's word
	JobAgreed  JobState = "agreed"  // the customer said yes
	JobShipped JobState = "shipped"
	JobNo      JobState = "no" // not ours, or the customer said no
)

// Job is one order's way from stock to box.
type Job struct {
	Title string   `json:"title"`
	Brief Brief    `json:"brief"`
	State JobState `json:"state"`
	Due   string   `json:"due,omitempty"` // RFC 3339 full-date
	Notes string   `json:"notes,omitempty"`
	// Acceptance is what "right" means since the customer's word; Checks are the lots
	// that were looked at by it, oldest first.
	Acceptance *Acceptance `json:"acceptance,omitempty"`
	Checks     []LotCheck  `json:"checks,omitempty"`
}

// PlanSheet is a plan that was kept, with what it came from: the plan itself and its
// papers are the record's files.
type PlanSheet struct {
	Title    string     `json:"title"`
	Material string     `json:"material"`
	Finish   string     `json:"finish"`
	Lot      int        `json:"lot"`
	Meets    bool       `json:"meets"`
	Verdict  string     `json:"verdict"`
	Each     Cost       `json:"each"`
	ReadyH   Estimate   `json:"ready_h"`
	From     PlanInputs `json:"from"`
	// Files are the papers, pictures and solids, by the names that they have in a
	// plan's folder.
	Files []SheetFile `json:"files"`
}

// PlanInputs is all that a plan was made from. The shelf and the logbook are
// stored as they were, by their SHA-256.
type PlanInputs struct {
	Model   string `json:"model_sha256"`
	File    string `json:"file"` // the model's name
	Shelf   string `json:"shelf_sha256"`
	Log     string `json:"log_sha256,omitempty"`
	Brief   Brief  `json:"brief"`
	Mill    string `json:"mill,omitempty"`
	Paper   string `json:"paper"`
	Program string `json:"program"` // version of fettle
}

// SheetFile is one file of a plan.
type SheetFile struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Bytes  int64  `json:"bytes"`
}

// Proposal is what was offered to a customer, and the answer.
type Proposal struct {
	Offers []Offer `json:"offers"`
	Sent   string  `json:"sent,omitempty"`  // RFC 3339 full-date
	Until  string  `json:"until,omitempty"` // the day it holds until
	Words  string  `json:"words,omitempty"`
	Answer *Answer `json:"answer,omitempty"`
}

// Answer is the customer's word.
type Answer struct {
	Accepted bool   `json:"accepted"`
	Look     string `json:"look,omitempty"` // the finish that was chosen
	Day      string `json:"day"`
	Words    string `json:"words,omitempty"`
	// Sample is the run that made the piece which the customer saw, by id.
	Sample string `json:"sample,omitempty"`
}

// Photo is a picture of a part, a run or a sample.
type Photo struct {
	File     string `json:"file"`
	SHA256   string `json:"sha256"`
	Type     string `json:"type"` // "image/jpeg", "image/png"
	WidthPX  int    `json:"width_px"`
	HeightPX int    `json:"height_px"`
	Says     string `json:"says,omitempty"`
}
