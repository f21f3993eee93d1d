package work

import (
	"context"
	"path/filepath"

	"fettle"
	"fettle/internal/trade/learn"
)

// LearnRequest is what to ask of a log.
type LearnRequest struct {
	Things
	Log  string          // the logbook as a JSON file
	Runs *fettle.Logbook // where given, stands for the file
	// Media, where given, is the only one to tell of; it need not be in the log.
	Media string
}

// OpenLog reads a logbook from a JSON file; keys that it does not know are
// refused.
func OpenLog(path string) (fettle.Logbook, error) {
	var log fettle.Logbook
	if err := readDocument(path, "logbook", &log); err != nil {
		return fettle.Logbook{}, err
	}
	if len(log.Runs) == 0 {
		return fettle.Logbook{}, fettle.Errorf(fettle.BadFile, "%s holds no runs; a logbook is {\"runs\": [...]}, each run with its readings", filepath.Base(path))
	}
	return log, nil
}

// Learn says what a log has taught.
func Learn(ctx context.Context, req LearnRequest) (*fettle.Learned, error) {
	if req.Log == "" && req.Runs == nil {
		return nil, fettle.Errorf(fettle.Invalid, "there is nothing to learn from without a log; give one with --log FILE, or a workspace with runs in it")
	}
	shelf, err := req.Open()
	if err != nil {
		return nil, err
	}
	var log fettle.Logbook
	if req.Runs != nil {
		log = *req.Runs
	} else if log, err = OpenLog(req.Log); err != nil {
		return nil, err
	}
	book, err := learn.Read(ctx, log, shelf)
	if err != nil {
		return nil, err
	}
	doc := book.Learned()
	if req.Media != "" {
		m, err := shelf.MediaNamed(req.Media)
		if err != nil {
			return nil, err
		}
		doc = book.LearnedOf(m)
	}
	return &doc, nil
}
