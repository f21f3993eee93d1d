package fettle

// JobLine is one job in a list.
type JobLine struct {
	ID       string   `json:"id"`
	Title    string   `json:"title"`
	State    JobState `json:"state"`
	Due      string   `json:"due,omitempty"`
	Material string   `json:"material"`
	Finish   string   `json:"finish"`
	Lot      int      `json:"lot"`
}

// JobStory is a job with all that hangs on it.
type JobStory struct {
	Job      Record       `json:"job"`
	Body     Job          `json:"-"`
	Customer *Customer    `json:"customer,omitempty"`
	File     *ModelFile   `json:"file,omitempty"`
	Plans    []StoryPlan  `json:"plans"`
	Offers   []StoryOffer `json:"offers"`
	Runs     []Run        `json:"runs"`
	History  []Record     `json:"history"`
}

// StoryPlan is a plan of a job.
type StoryPlan struct {
	ID    string    `json:"id"`
	Made  string    `json:"made"`
	Sheet PlanSheet `json:"sheet"`
}

// StoryOffer is an offer of a job.
type StoryOffer struct {
	ID    string   `json:"id"`
	Offer Proposal `json:"offer"`
}
