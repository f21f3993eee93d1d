package fettle

// Account is how a predicted number came about: the law it follows, what went
// into it, and how much of its interval each input is answerable for.
type Account struct {
	Of     string   `json:"of"` // "Ra after step 5"
	Step   int      `json:"step"`
	Unit   string   `json:"unit"`
	Value  Estimate `json:"value"`
	Law    string   `json:"law"`
	Source string   `json:"source"`
	Inputs []Input  `json:"inputs"` // by falling share
}

// Input is one number that a prediction rests on.
type Input struct {
	Name  string   `json:"name"`
	Unit  string   `json:"unit"`
	Value Estimate `json:"value"`
	// Share is the part of the variance of the logarithm of the predicted number
	// that this input alone brings, 0 to 1; the shares of an account sum to 1, or
	// to 0 where nothing in it is uncertain.
	Share float64 `json:"share"`
}
