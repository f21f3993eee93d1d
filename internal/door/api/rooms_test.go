package api

import (
	"net/http"
	"testing"

	"fettle"
	"fettle/internal/shop"
	"fettle/internal/trade/stock"
)

// What the pages of shelf and logbook ask, over HTTP, in a shop that has just begun.
func TestRooms(t *testing.T) {
	h := open(t, 0)
	var w shop.ShelfWear
	h.as("hand", "GET /api/shelf/wear", nil).want(http.StatusOK).into(&w)
	if len(w.Media) != len(stock.Shelf().Media) || len(w.LeftOut) != 0 {
		t.Errorf("%d media, %d left out", len(w.Media), len(w.LeftOut))
	}
	// A job without a model is told of, not passed over.
	job := h.make("jobs", nil, m{"title": "Plate", "brief": m{"material": "naval brass", "finish": "satin", "lot": 1}})
	h.ask("GET /api/shelf/wear", nil).want(http.StatusOK).into(&w)
	if len(w.LeftOut) != 1 || w.LeftOut[0].Job != job.ID || w.LeftOut[0].Says == "" {
		t.Errorf("%+v", w.LeftOut)
	}
	var e fettle.Envelope
	h.as("hand", "GET /api/shelf/envelope/proposal", nil).want(http.StatusOK).into(&e)
	if e.MaxMM[0] <= 0 || len(e.Materials) == 0 {
		t.Errorf("%+v", e)
	}
	var c shop.Comparison
	h.ask("GET /api/logbook/measured", nil).want(http.StatusOK).into(&c)
	if len(c.Numbers) != 0 {
		t.Errorf("%+v", c)
	}
	var course shop.Course
	h.ask("GET /api/logbook/course?media=cob-2&vessel=dry+barrel&material=6061&from_um=0.5", nil).want(http.StatusOK).into(&course)
	if course.FromUM != 0.5 || course.RaUM[0].Value != 0.5 {
		t.Errorf("%+v", course.RaUM[0])
	}
	h.ask("GET /api/logbook/course?media=cob-2", nil).want(http.StatusUnprocessableEntity)
	h.ask("GET /api/logbook/course?media=gravel&vessel=dry+barrel&material=6061", nil).want(http.StatusUnprocessableEntity)
	h.ask("GET /api/logbook/course?media=cob-2&vessel=dry+barrel&material=6061&from_um=-1", nil).want(http.StatusUnprocessableEntity)
}
