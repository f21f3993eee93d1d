package fettle

// LotCheck is a lot that was looked at by its sampling plan.
type LotCheck struct {
	Day    string `json:"day"` // RFC 3339 full-date
	Looked int    `json:"looked"`
	Bad    int    `json:"bad"`
	Taken  bool   `json:"taken"`
	// Again is for a lot that had been looked at before.
	Again bool `json:"again,omitempty"`
	// Severity is that of the plan it was looked at by.
	Severity string `json:"severity"`
	Says     string `json:"says"`
}
