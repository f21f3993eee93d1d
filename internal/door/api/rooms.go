package api

import (
	"context"

	"fettle"
	"fettle/internal/shop"
)

// addRooms adds what the pages of the shelf and the logbook ask beside records.
func (a *API) addRooms() {
	add(a, route{
		id: "get-wear", tag: "shelf", call: "GET /api/shelf/wear", least: hand, summary: "How media wear, and into what",
		says: "For all media on the shelf: their size now, how much they were used lately, and when they will have worn into which opening of which open job. Openings are judged by clear width, without trying poses.",
	}, func(ctx context.Context, _ *struct{}) (*struct{ Body shop.ShelfWear }, error) {
		w, err := a.o.Shop.Wear(ctx)
		if err != nil {
			return nil, err
		}
		return &struct{ Body shop.ShelfWear }{*w}, nil
	})

	add(a, route{
		id: "propose-envelope", tag: "shelf", call: "GET /api/shelf/envelope/proposal", least: hand, summary: "What the shop could take",
		says: "By what stands on its shelf, to be changed by who knows it. Nothing is kept.",
	}, func(ctx context.Context, _ *struct{}) (*struct{ Body fettle.Envelope }, error) {
		e, err := a.o.Shop.ProposeEnvelope(ctx)
		return &struct{ Body fettle.Envelope }{e}, err
	})

	add(a, route{
		id: "compare", tag: "logbook", call: "GET /api/logbook/measured", least: hand, summary: "What was predicted beside what was measured",
		says: "Every reading with a step of a plan behind it, by days.",
	}, func(ctx context.Context, _ *struct{}) (*struct{ Body shop.Comparison }, error) {
		c, err := a.o.Shop.Compare(ctx)
		if err != nil {
			return nil, err
		}
		return &struct{ Body shop.Comparison }{*c}, nil
	})

	add(a, route{
		id: "get-course", tag: "logbook", call: "GET /api/logbook/course", least: hand, summary: "What media do to a face, hour by hour",
		says: "The curve of Ra by the shelf and the log, with its bounds, and the readings of the log laid on it.",
	}, func(ctx context.Context, in *struct {
		Media    string      `query:"media" required:"true" maxLength:"200" doc:"on the shelf"`
		Vessel   string      `query:"vessel" required:"true" maxLength:"200" doc:"on the shelf"`
		Material string      `query:"material" required:"true" maxLength:"200" doc:"on the shelf; readings of all metals of its class are laid on the curve"`
		Tone     fettle.Tone `query:"tone" maxLength:"40" doc:"how wet; left out: the usual"`
		FromUM   float64     `query:"from_um" minimum:"0" maximum:"100" doc:"Ra that it begins with; left out: the roughest start in the log"`
	}) (*struct{ Body shop.Course }, error) {
		c, err := a.o.Shop.Course(ctx, shop.CourseAsk{Media: in.Media, Vessel: in.Vessel, Material: in.Material, Tone: in.Tone, FromUM: in.FromUM})
		if err != nil {
			return nil, err
		}
		return &struct{ Body shop.Course }{*c}, nil
	})
}
