package words

import (
	"fettle"
	"fettle/internal/output/tongue"
	"fettle/internal/trade/cusp"
)

// english is the voice of a page for which nobody chose a language.
var english = In(nil)

// voiceOf is the voice of a brief's language; English where there is no such one.
func voiceOf(b fettle.Brief) Voice {
	t, err := tongue.Of(b.Language)
	if err != nil {
		return english
	}
	return In(t)
}

// Plan says a plan in the language of its brief; see [Voice.Plan].
func Plan(pl fettle.Plan) string { return voiceOf(pl.Brief).Plan(pl) }

// Explain says how each predicted number of a plan came about, in the language of its
// brief; see [Voice.Explain].
func Explain(pl fettle.Plan) string { return voiceOf(pl.Brief).Explain(pl) }

// Others says plans that stand beside the main one, in the language of the first.
func Others(plans []*fettle.Plan) string {
	if len(plans) == 0 {
		return ""
	}
	return voiceOf(plans[0].Brief).Others(plans)
}

// Each of these is a page in English; see the methods of [Voice] of the same names.

func Survey(s fettle.Survey, sys fettle.System) string          { return english.Survey(s, sys) }
func Reach(r fettle.Reach, sys fettle.System) string            { return english.Reach(r, sys) }
func Proof(p fettle.Proof, sys fettle.System) string            { return english.Proof(p, sys) }
func Cusp(r cusp.Result, sys fettle.System) string              { return english.Cusp(r, sys) }
func CuspRows(rows []cusp.Row, sys fettle.System) string        { return english.CuspRows(rows, sys) }
func Block(docs []fettle.Block, sys fettle.System) string       { return english.Block(docs, sys) }
func Plug(g fettle.PlugFit, sys fettle.System) string           { return english.Plug(g, sys) }
func Texture(t fettle.Texture, sys fettle.System) string        { return english.Texture(t, sys) }
func Learned(d fettle.Learned, sys fettle.System) string        { return english.Learned(d, sys) }
func Shelf(s *fettle.Shelf, sys fettle.System) string           { return english.Shelf(s, sys) }
func Promise(p *fettle.Promise, sys fettle.System) string       { return english.Promise(p, sys) }
func Offers(o fettle.Proposal, sys fettle.System) string        { return english.Offers(o, sys) }
func Jobs(jobs []fettle.JobLine) string                         { return english.Jobs(jobs) }
func JobStory(s fettle.JobStory, sys fettle.System) string      { return english.JobStory(s, sys) }
func Runs(log fettle.Logbook) string                            { return english.Runs(log) }
func Taken(runs, readings, known int) string                    { return english.Taken(runs, readings, known) }
func Fit(f fettle.Fit, sys fettle.System) string                { return english.Fit(f, sys) }
func Envelope(e fettle.Envelope, sys fettle.System) string      { return english.Envelope(e, sys) }
func Backup(r fettle.BackupReport) string                       { return english.Backup(r) }
func Restored(r fettle.RestoreReport) string                    { return english.Restored(r) }
func Checked(r fettle.CheckReport) string                       { return english.Checked(r) }
func Mapping(m fettle.Mapping, sys fettle.System) string        { return english.Mapping(m, sys) }
func Acceptance(a *fettle.Acceptance, sys fettle.System) string { return english.Acceptance(a, sys) }

func Jaw(pk fettle.JawPocket, pair fettle.Jaws, sys fettle.System) string {
	return english.Jaw(pk, pair, sys)
}

func Unpacked(job, title, from string, m fettle.Mapping, notOurs []fettle.Refusal, sys fettle.System) string {
	return english.Unpacked(job, title, from, m, notOurs, sys)
}
