// Package recipe takes a finish from one shop's shelf to another's.
//
// [Of] writes down how a plan's finish is made, with the things it used as they stood on
// the shelf and what the shop's log taught of them, without customer and money. [Map]
// lays such a recipe over another shelf: what stands for what, what that changes, how
// long each charge runs there, what is missing, and the wishes with which that shop
// plans it on a part of its own.
package recipe

import (
	"maps"
	"slices"

	"fettle"
	"fettle/internal/trade/learn"
)

// Options say what a recipe holds beyond how the finish is made.
type Options struct {
	// Money keeps the prices and rates of the things that were used.
	Money bool
}

// Of is how the finish of a plan is made. What the plan used is described as it stands
// on the shelf that it was made with; a thing that is no longer there stays a name.
// learned are the shop's numbers ([learn.Book.Learned]): those that bear on a step and
// that readings have moved go with it. The recipe is named for its finish and metal,
// for a plan's title may tell the customer.
func Of(plan *fettle.Plan, shelf *fettle.Shelf, learned []fettle.Parameter, program string, opts ...Options) fettle.Recipe {
	var opt Options
	for _, o := range opts {
		opt.Money = opt.Money || o.Money
	}
	r := fettle.Recipe{
		Title:    plan.Look.Title + " on " + plan.Material.Title,
		Material: plan.Material,
		Look:     plan.Look,
		Lot:      plan.Brief.Lot,
		Piece:    fettle.RecipePiece{SizeMM: plan.Survey.SizeMM, VolumeMM3: plan.Survey.VolumeMM3, AreaMM2: plan.Survey.AreaMM2},
		Tone:     plan.Look.Tone,
		Steps:    make([]fettle.RecipeStep, 0, len(plan.Route)),

		AllowanceUM: maps.Clone(plan.AllowanceUM),
		Cautions:    filled(slices.Clone(plan.Cautions)),
		Program:     program,
	}
	r.Material.Sold = nil // in what sizes this shop buys is its own
	if plan.Brief.Tone != fettle.ToneUsual {
		r.Tone = plan.Brief.Tone
	}
	if r.AllowanceUM == nil {
		r.AllowanceUM = map[string]fettle.Estimate{}
	}
	for _, s := range plan.Route {
		r.Steps = append(r.Steps, stepOf(s, shelf, plan.Material, learned))
	}
	if !opt.Money {
		free(&r)
	}
	return r
}

func stepOf(s fettle.Step, shelf *fettle.Shelf, mat fettle.Material, learned []fettle.Parameter) fettle.RecipeStep {
	out := fettle.RecipeStep{
		Key: s.Key, Name: s.Name, Kind: s.Kind, Zone: s.Zone, Do: s.Do, RaUM: s.RaUM,
		Pass: s.Pass, Rub: s.Rub, Charge: lists(s.Charge), Buff: s.Buff, Learned: []fettle.Parameter{},
	}
	if s.Pass != nil {
		out.Cutter = held(shelf.Cutter(s.Pass.Cutter))
		if out.Cutter != nil {
			out.Cutter.UsedH = 0 // of the one cutter that stands there
		}
	}
	if s.Rub != nil {
		out.Grit = held(shelf.Grit(s.Rub.Grit))
	}
	if s.Buff != nil {
		out.Mop = held(shelf.Mop(s.Buff.Mop))
	}
	if s.Charge != nil {
		out.Media = held(shelf.MediaNamed(s.Charge.Media))
		out.Vessel = held(shelf.Vessel(s.Charge.Vessel))
		if out.Media != nil {
			out.Media.Lots = nil // whose bags they came in is the shop's own
		}
		if out.Vessel != nil {
			out.Vessel.FreeInH, out.Vessel.Count = 0, 0
		}
	}
	for _, p := range learned {
		if bears(p, s, mat) && p.Value != p.Prior {
			out.Learned = append(out.Learned, p)
		}
	}
	return out
}

// lists is a charge whose lists are there, if only empty.
func lists(c *fettle.Charge) *fettle.Charge {
	if c == nil {
		return nil
	}
	out := *c
	out.Tones, out.HoursTo, out.LooksH = filled(c.Tones), filled(c.HoursTo), filled(c.LooksH)
	out.Jams, out.Leaves = filled(c.Jams), filled(c.Leaves)
	return &out
}

func filled[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

// held is a thing that was found.
func held[T any](v T, err error) *T {
	if err != nil {
		return nil
	}
	return &v
}

// bears reports whether a learned number is one of a step's: of its media in its
// vessel on its class of metal in its tone, or the pace with its grit on it. How often
// an opening of a part held media is the part's, and stays with it.
func bears(p fettle.Parameter, s fettle.Step, mat fettle.Material) bool {
	if p.Class != mat.Class {
		return false
	}
	switch {
	case s.Charge != nil:
		return isProcess(p) && fettle.FoldName(p.Media) == fettle.FoldName(s.Charge.Media) &&
			fettle.FoldName(p.Vessel) == fettle.FoldName(s.Charge.Vessel) && p.Tone == s.Charge.Tone
	case s.Rub != nil:
		return fettle.FoldName(p.Name) == fettle.FoldName(learn.NamePace+", "+s.Rub.Grit)
	}
	return false
}

// isProcess tells the numbers of a process.
func isProcess(p fettle.Parameter) bool {
	return p.Name == learn.NameTime || p.Name == learn.NameLimit || p.Name == learn.NameTake
}

// free takes out all that is money.
func free(r *fettle.Recipe) {
	var none fettle.Estimate
	r.Material.PricePerKg = none
	for i := range r.Steps {
		s := &r.Steps[i]
		if s.Cutter != nil {
			s.Cutter.Price = none
		}
		if s.Grit != nil {
			s.Grit.PriceSheet = none
		}
		if s.Mop != nil {
			s.Mop.BarCost = none
		}
		if s.Media != nil {
			s.Media.PricePerKg = none
		}
		if s.Vessel != nil {
			s.Vessel.RatePerH = none
		}
	}
}
