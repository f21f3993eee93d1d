package shop

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
	"time"

	"fettle"
	"fettle/internal/trade/envelope"
)

// sort is what records of one kind must be like.
type sort struct {
	// links and files that a record may have; those in needs it must.
	links map[string]fettle.RecordKind
	needs []string
	files []string // nil: none; ["*"]: any
	// check reads a body strictly and says what is wrong with it. It returns the name
	// that the record goes by.
	check func(body []byte) (name string, err error)
}

// sorts are all kinds but those of the shelf, whose bodies are judged beside the
// rest of it.
var sorts = map[fettle.RecordKind]sort{
	fettle.KeptCustomer: {check: named(func(c fettle.Customer) (string, error) { return c.Name, wantName("customer", c.Name) })},
	fettle.KeptPart: {
		links: map[string]fettle.RecordKind{"customer": fettle.KeptCustomer},
		check: named(func(p fettle.Part) (string, error) { return p.Name, wantName("part", p.Name) }),
	},
	fettle.KeptFile: {
		links: map[string]fettle.RecordKind{"part": fettle.KeptPart}, needs: []string{"part"}, files: []string{"model"},
		check: named(func(f fettle.ModelFile) (string, error) { return f.File, wantName("file", f.File) }),
	},
	fettle.KeptJob: {
		links: map[string]fettle.RecordKind{"customer": fettle.KeptCustomer, "part": fettle.KeptPart, "file": fettle.KeptFile, "plan": fettle.KeptPlan},
		check: named(checkJob),
	},
	fettle.KeptPlan: {
		links: map[string]fettle.RecordKind{"job": fettle.KeptJob, "file": fettle.KeptFile}, needs: []string{"file"}, files: []string{"*"},
		check: named(func(p fettle.PlanSheet) (string, error) { return "", nil }),
	},
	fettle.KeptOffer: {
		links: map[string]fettle.RecordKind{"job": fettle.KeptJob, "plan": fettle.KeptPlan}, needs: []string{"job"}, files: []string{"page", "paper"},
		check: named(checkProposal),
	},
	fettle.KeptPromise: {
		links: map[string]fettle.RecordKind{"job": fettle.KeptJob, "plan": fettle.KeptPlan}, needs: []string{"job", "plan"},
		check: named(func(p fettle.Promise) (string, error) { return "", wantDay("day", p.Day) }),
	},
	fettle.KeptRun: {
		links: map[string]fettle.RecordKind{"job": fettle.KeptJob, "plan": fettle.KeptPlan},
		check: named(checkRun),
	},
	fettle.KeptReading: {
		links: map[string]fettle.RecordKind{"run": fettle.KeptRun}, needs: []string{"run"},
		check: named(func(r fettle.Reading) (string, error) { return string(r.Kind), nil }), // judged beside its run
	},
	fettle.KeptPhoto: {
		links: map[string]fettle.RecordKind{"job": fettle.KeptJob, "run": fettle.KeptRun, "offer": fettle.KeptOffer}, files: []string{"photo"},
		check: named(func(p fettle.Photo) (string, error) { return p.File, wantName("photo", p.File) }),
	},
	fettle.KeptLearned: {check: named(func(p fettle.Parameter) (string, error) { return parameterName(p), nil })},
}

// named reads a body as T and checks it.
func named[T any](check func(T) (string, error)) func([]byte) (string, error) {
	return func(body []byte) (string, error) {
		v, err := read[T](body)
		if err != nil {
			return "", err
		}
		return check(v)
	}
}

// read reads a body strictly: a key that is not known would be lost in silence.
func read[T any](body []byte) (T, error) {
	var v T
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.DisallowUnknownFields()
	err := dec.Decode(&v)
	if err == nil {
		if _, more := dec.Token(); more != io.EOF {
			err = errors.New("something stands behind its end")
		}
	}
	if err != nil {
		return v, fettle.Errorf(fettle.Invalid, "the body cannot be taken: %w", plain(err))
	}
	return v, nil
}

func plain(err error) error {
	var typ *json.UnmarshalTypeError
	if errors.As(err, &typ) {
		return errors.New("\"" + typ.Field + "\" holds a " + typ.Value + " where something else is wanted")
	}
	if key, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return errors.New("the key " + key + " is not known; check its spelling, or leave it out")
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("it ends too early")
	}
	return err
}

// write is a body as it is kept.
func write(v any) json.RawMessage {
	b, err := json.Marshal(v)
	if err != nil {
		panic("shop: " + err.Error()) // numbers that are none never get as far as here
	}
	return b
}

func wantName(what, name string) error {
	if strings.TrimSpace(name) == "" {
		return fettle.Errorf(fettle.Invalid, "the %s has no name; give one", what)
	}
	return nil
}

func checkJob(j fettle.Job) (string, error) {
	if err := wantName("job", j.Title); err != nil {
		return "", fettle.Errorf(fettle.Invalid, "the job has no title; give one")
	}
	switch j.State {
	case fettle.JobAsked, fettle.JobOffered, fettle.JobAgreed, fettle.JobShipped, fettle.JobNo:
	default:
		return "", fettle.Errorf(fettle.Invalid, "a job's state %q is not known; it is asked, offered, agreed, shipped or no", j.State)
	}
	if err := wantDay("due", j.Due); err != nil {
		return "", err
	}
	return j.Title, j.Brief.Validate()
}

func checkProposal(p fettle.Proposal) (string, error) {
	for _, d := range []struct{ key, day string }{{"sent", p.Sent}, {"until", p.Until}} {
		if err := wantDay(d.key, d.day); err != nil {
			return "", err
		}
	}
	if len(p.Offers) == 0 {
		return "", fettle.Errorf(fettle.Invalid, "nothing is offered; choose at least one finish")
	}
	if a := p.Answer; a != nil {
		if err := wantDay("day", a.Day); err != nil {
			return "", err
		}
		if a.Accepted && !slices.ContainsFunc(p.Offers, func(o fettle.Offer) bool { return fettle.FoldName(o.Look) == fettle.FoldName(a.Look) }) {
			return "", fettle.Errorf(fettle.Invalid, "the finish %q was not offered; say which of those offered was chosen", a.Look)
		}
	}
	return "", nil
}

func checkRun(r fettle.Run) (string, error) {
	if len(r.Readings) > 0 {
		return "", fettle.Errorf(fettle.Invalid, "readings are kept each by itself; make the run first, then its readings")
	}
	for _, t := range []struct{ key, at string }{{"started", r.Started}, {"ended", r.Ended}} {
		if t.at == "" {
			continue
		}
		if _, err := time.Parse(time.RFC3339, t.at); err != nil {
			return "", fettle.Errorf(fettle.Invalid, "%s is %q, which is no time such as 2026-03-31T14:05:00Z", t.key, t.at)
		}
	}
	if !(r.HoursRun >= 0 && r.HoursRun <= 2000) {
		return "", fettle.Errorf(fettle.Invalid, "hours_run is %g; give the hours that it ran", r.HoursRun)
	}
	name := string(r.Kind)
	if r.Step != "" {
		name = r.Step
	}
	return name, nil
}

func wantDay(key, day string) error {
	if day == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return fettle.Errorf(fettle.Invalid, "%s is %q, which is no date such as 2026-03-31", key, day)
	}
	return nil
}

// parameterName tells a learned number from all others.
func parameterName(p fettle.Parameter) string {
	parts := []string{p.Name}
	for _, s := range []string{p.Media, p.Vessel, string(p.Class), string(p.Tone)} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, ", ")
}

// checkEnvelope is the one thing of the shelf that a plan does not use.
var checkEnvelope = named(func(e fettle.Envelope) (string, error) { return envelopeName, envelope.Validate(e) })

const (
	envelopeName = "envelope"
	ratesName    = "rates"
)
