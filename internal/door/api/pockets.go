package api

import (
	"context"
	"net/http"
	"reflect"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/shop"
)

// Maybe is a number of a query that means something at 0 and may be left out.
type Maybe struct {
	Value float64
	Set   bool
}

// Schema is that of a number.
func (Maybe) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeNumber, Format: "double"}
}

// Receiver is where the number is put.
func (m *Maybe) Receiver() reflect.Value { return reflect.ValueOf(m).Elem().Field(0) }

// OnParamSet tells whether it was given.
func (m *Maybe) OnParamSet(set bool, _ any) { m.Set = set }

func (m Maybe) pointer() *float64 {
	if !m.Set {
		return nil
	}
	return &m.Value
}

// PocketSought is where a pocket is wished for, as a query.
type PocketSought struct {
	Pair   string  `query:"pair" maxLength:"200" doc:"on the shelf; left out: the one with most support"`
	Fixed  string  `query:"fixed" enum:"as new,end for end,upside down,upside down and end for end" doc:"how the jaw on the fixed side is mounted; left out: chosen"`
	Moving string  `query:"moving" enum:"as new,end for end,upside down,upside down and end for end" doc:"how the jaw on the moving side is mounted; left out: chosen"`
	Places string  `query:"places" enum:"own,swapped" doc:"each jaw in its own place or in the other's; left out: chosen"`
	Turn   Maybe   `query:"turn_deg" doc:"of the part about the vertical, anticlockwise from above; left out: chosen"`
	Shift  Maybe   `query:"shift_mm" doc:"of the part's middle along the jaws, from their middle; left out: chosen"`
	Grip   float64 `query:"grip_mm" minimum:"0" maximum:"200" doc:"how deep the part sits below the jaws' top; 0: chosen"`
	Reuse  string  `query:"reuse" maxLength:"200" doc:"a pocket that has been cut, by id or name, to lay the part in"`
}

func (p PocketSought) wish() fettle.PocketWish {
	w := fettle.PocketWish{
		Pair: p.Pair, Fixed: fettle.JawTurn(p.Fixed), Moving: fettle.JawTurn(p.Moving), TurnDeg: p.Turn.pointer(), ShiftMM: p.Shift.pointer(),
		GripMM: p.Grip, Reuse: p.Reuse,
	}
	if p.Places != "" {
		swapped := p.Places == "swapped"
		w.Swapped = &swapped
	}
	return w
}

// PocketCut says which pocket was cut.
type PocketCut struct {
	Pocket string            `json:"pocket" maxLength:"64" doc:"its id, as it was shown"`
	Wish   fettle.PocketWish `json:"wish" doc:"what was asked for when it was shown"`
}

func (a *API) addPockets() {
	const says = "For the side that is cut second, with the show face down, in the jaws as they are now; held against roughing and the plan's passes. Advice, never permission. " +
		"Worked out once for the same question; until it is there the answer is 202 with the task."
	add(a, route{
		id: "try-pocket", tag: "jobs", call: "GET /api/jobs/{id}/pocket", least: hand,
		summary: "A pocket in soft jaws for a job's part", says: says, fails: answerFails,
		answers: a.either("The pocket, and the pair that it would be cut in.", a.jsonOf(reflect.TypeFor[fettle.TriedPocket]())),
	}, func(ctx context.Context, in *struct {
		ByID
		PocketSought
		Seen string `header:"If-None-Match"`
	}) (*huma.StreamResponse, error) {
		t, err := a.o.Shop.AskPocket(ctx, a.by(ctx), in.ID, in.wish())
		if err != nil {
			return nil, err
		}
		return answered(t, func(p shop.PocketAnswer) (*huma.StreamResponse, error) {
			return a.serve(ctx, p.Pocket, "pocket.json", revalidate)
		})
	})

	add(a, route{
		id: "keep-pocket", tag: "jobs", call: "POST /api/jobs/{id}/pocket/cut", least: owner,
		summary: "Say that a pocket was cut",
		says:    "The pair on the shelf remembers it, and later pockets go round it; undo it as a change of the pair. 409 where the jaws were changed since it was shown.",
		fails:   answerFails,
		answers: map[string]*huma.Response{
			"200": {Description: "The pair, with the pocket in it.", Content: a.jsonOf(reflect.TypeFor[Kept[fettle.Jaws]]()), Headers: map[string]*huma.Param{"ETag": text("the pair's revision, in quotes")}},
			"202": a.accepted(),
		},
	}, func(ctx context.Context, in *struct {
		ByID
		Body PocketCut
	}) (*huma.StreamResponse, error) {
		by := a.by(ctx)
		t, err := a.o.Shop.AskPocket(ctx, by, in.ID, in.Body.Wish)
		if err != nil {
			return nil, err
		}
		return answered(t, func(p shop.PocketAnswer) (*huma.StreamResponse, error) {
			r, err := a.o.Shop.KeepPocket(ctx, by, p, in.Body.Pocket)
			if err != nil {
				return nil, err
			}
			k, err := keep[fettle.Jaws](r)
			if err != nil {
				return nil, err
			}
			return written(func(w http.ResponseWriter, _ *http.Request) {
				w.Header().Set("ETag", revTag(k.Rev))
				writeJSON(w, http.StatusOK, k)
			}), nil
		})
	})
}
