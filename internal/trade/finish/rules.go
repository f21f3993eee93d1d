package finish

import (
	"maps"
	"slices"

	"fettle"
)

// The rules of the trade, by id. Each is a reason and no law: a brief may set it
// aside, and the search then goes the ways that it stood against.
const (
	ruleBurrsFirst   = "burrs-first"
	ruleFinerOnly    = "finer-only"
	ruleGritStep     = "grit-step"
	ruleGritDepth    = "grit-depth"
	ruleSandFirst    = "sand-first"
	ruleFinerMedia   = "finer-media"
	ruleStartFine    = "start-fine"
	ruleWashBetween  = "wash-between"
	ruleDryForDry    = "dry-for-dry"
	ruleSteelOnAlu   = "no-steel-on-aluminium"
	ruleJams         = "no-jams"
	ruleTouchesFace  = "touches-the-face"
	ruleThreeNights  = "three-nights"
	ruleMopLast      = "mop-last"
	ruleEdgesInLimit = "edges-in-limit"
)

// rules are all of them with their reasons, in the order in which they are said.
var rules = []fettle.Rule{
	{ID: ruleBurrsFirst, Says: "burrs come off before paper or a mop touches the face: one that breaks loose scratches deeper than the grit does"},
	{ID: ruleFinerOnly, Says: "never a coarser grit after a finer one: it undoes what was paid for"},
	{ID: ruleGritStep, Says: "from one grit to the next the grain is at most about halved: past that the deep strays of the coarser one outlast any patience"},
	{ID: ruleGritDepth, Says: "a grit that scratches deeper than what it is to erase makes work, unless its scratches are the finish"},
	{ID: ruleSandFirst, Says: "sanding comes before media that smooth, or it undoes them; media that only take burrs off may come before it"},
	{ID: ruleFinerMedia, Says: "each charge tends to a finer surface than the one before, or it undoes it"},
	{ID: ruleStartFine, Says: "media and mops that brighten do not level: what is rougher than they can use goes to something that cuts first"},
	{ID: ruleWashBetween, Says: "parts and barrel are washed between media: grains carried over scratch in the finer one"},
	{ID: ruleDryForDry, Says: "parts are dried before dry media: damp cob clots and stains"},
	{ID: ruleSteelOnAlu, Says: "aluminium stays away from steel media, which leave iron in it that spots"},
	{ID: ruleJams, Says: "media with a real chance to stay in an opening are left on the shelf"},
	{ID: ruleTouchesFace, Says: "media that do not touch nearly all of the judged face are left on the shelf"},
	{ID: ruleThreeNights, Says: "no charge runs longer than three days and nights: something else would be done instead"},
	{ID: ruleMopLast, Says: "a mop comes last: nothing that cuts goes over a polish"},
	{ID: ruleEdgesInLimit, Says: "a step that would round edges past what the drawing or the finish allows is not taken"},
}

// rulebook is the rules as one plan is held to them. Every search starts a new
// count; it is not safe for use by several at once.
type rulebook struct {
	set map[string]*fettle.Rule
	all []*fettle.Rule
	// kept counts the ways to steps that the brief keeps, by the rule that barred them.
	kept map[string]int
}

// newRulebook sets aside what the brief says. It fails with Invalid on a name that
// is no rule.
func newRulebook(b fettle.Brief) (*rulebook, error) {
	rb := &rulebook{set: map[string]*fettle.Rule{}, kept: map[string]int{}}
	var ids []string
	for _, r := range rules {
		own := r
		rb.set[r.ID] = &own
		rb.all = append(rb.all, &own)
		ids = append(ids, r.ID)
	}
	for _, id := range b.SetAside {
		r, ok := rb.set[id]
		if !ok {
			return nil, fettle.Errorf(fettle.Invalid, "the brief sets aside %q, which is no rule; there is: %s", id, list(ids))
		}
		r.SetAside = true
	}
	return rb, nil
}

// against reports whether a rule stands against a way, and counts the way when it
// does.
func (rb *rulebook) against(id string, broken bool) bool {
	if !broken {
		return false
	}
	r := rb.set[id]
	r.Cut++
	return !r.SetAside
}

// holds reports whether a rule is in force.
func (rb *rulebook) holds(id string) bool { return !rb.set[id].SetAside }

// list is the rules as they were applied.
func (rb *rulebook) list() []fettle.Rule {
	out := make([]fettle.Rule, len(rb.all))
	for i, r := range rb.all {
		out[i] = *r
	}
	return out
}

// clone is a copy that counts on its own.
func (rb *rulebook) clone() *rulebook {
	out := &rulebook{set: map[string]*fettle.Rule{}, kept: maps.Clone(rb.kept)}
	for _, r := range rb.all {
		own := *r
		out.set[own.ID] = &own
		out.all = append(out.all, &own)
	}
	return out
}

// standing are the ids of rules in force that barred a step that is kept, most first:
// where to look when nothing is left.
func (rb *rulebook) standing() []string {
	var rs []*fettle.Rule
	for _, r := range rb.all {
		if rb.kept[r.ID] > 0 {
			rs = append(rs, r)
		}
	}
	slices.SortStableFunc(rs, func(a, b *fettle.Rule) int { return rb.kept[b.ID] - rb.kept[a.ID] })
	var ids []string
	for _, r := range rs {
		ids = append(ids, r.ID)
	}
	return ids
}
