package api

import (
	"fettle"
)

// kind is how records of one kind are served.
type kind struct {
	kind fettle.RecordKind
	path string // under /api/
	one  string // in words: "a job"
	many string
	// make is the least role that makes one by JSON; empty where they come to be
	// otherwise, by an upload, a task or a use case.
	make role
	// mend is the least role that alters, deletes and brings back; empty: the owner.
	mend role
	// fixed records are evidence: they are not altered, only deleted and brought back.
	fixed bool
	add   func(*API, kind)
}

// kinds are all kinds of records.
var kinds = []kind{
	{kind: fettle.KeptCustomer, path: "customers", one: "a customer", many: "customers", make: owner, add: records[fettle.Customer]},
	{kind: fettle.KeptPart, path: "parts", one: "a part", many: "parts", make: owner, add: records[fettle.Part]},
	{kind: fettle.KeptFile, path: "files", one: "a model file", many: "model files", add: records[fettle.ModelFile]},
	{kind: fettle.KeptJob, path: "jobs", one: "a job", many: "jobs", make: owner, add: records[fettle.Job]},
	{kind: fettle.KeptPlan, path: "plans", one: "a plan", many: "plans", fixed: true, add: records[fettle.PlanSheet]},
	{kind: fettle.KeptOffer, path: "offers", one: "an offer", many: "offers", add: records[fettle.Proposal]},
	{kind: fettle.KeptRun, path: "runs", one: "a run", many: "runs", make: hand, mend: hand, add: records[fettle.Run]},
	{kind: fettle.KeptReading, path: "readings", one: "a reading", many: "readings", mend: hand, add: records[fettle.Reading]},
	{kind: fettle.KeptPhoto, path: "photos", one: "a photo", many: "photos", mend: hand, add: records[fettle.Photo]},
	{kind: fettle.KeptLearned, path: "learned", one: "a learned number", many: "learned numbers", fixed: true, add: records[fettle.Parameter]},
	{kind: fettle.KeptPromise, path: "promises", one: "a promise", many: "promises", fixed: true, add: records[fettle.Promise]},

	{kind: fettle.KeptMaterial, path: "shelf/materials", one: "an alloy", many: "alloys", make: owner, add: records[fettle.Material]},
	{kind: fettle.KeptLook, path: "shelf/looks", one: "a finish", many: "finishes", make: owner, add: records[fettle.Look]},
	{kind: fettle.KeptCutter, path: "shelf/cutters", one: "a cutter", many: "cutters", make: owner, add: records[fettle.Cutter]},
	{kind: fettle.KeptJaws, path: "shelf/jaws", one: "a pair of soft jaws", many: "pairs of soft jaws", make: owner, add: records[fettle.Jaws]},
	{kind: fettle.KeptGrit, path: "shelf/grits", one: "a grit", many: "grits", make: owner, add: records[fettle.Grit]},
	{kind: fettle.KeptMop, path: "shelf/mops", one: "a mop", many: "mops", make: owner, add: records[fettle.Mop]},
	{kind: fettle.KeptSoft, path: "shelf/softs", one: "a soft material", many: "soft materials", make: owner, add: records[fettle.Soft]},
	{kind: fettle.KeptMedia, path: "shelf/media", one: "a kind of media", many: "media", make: owner, add: records[fettle.Media]},
	{kind: fettle.KeptVessel, path: "shelf/vessels", one: "a barrel or bowl", many: "barrels and bowls", make: owner, add: records[fettle.Vessel]},
	{kind: fettle.KeptMachine, path: "shelf/machines", one: "a mill", many: "mills", make: owner, add: records[fettle.Machine]},
	{kind: fettle.KeptRates, path: "shelf/rates", one: "the rates", many: "rates", make: owner, add: records[fettle.Rates]},
	{kind: fettle.KeptEnvelope, path: "shelf/envelope", one: "the envelope", many: "envelopes", make: owner, add: records[fettle.Envelope]},
}

// paths are where records of each kind are; filled from kinds, which needs them.
var paths = map[fettle.RecordKind]string{}

func init() {
	for _, k := range kinds {
		paths[k.kind] = "/api/" + k.path
	}
}

// pathOf is where records of a kind are.
func pathOf(k fettle.RecordKind) string { return paths[k] }
