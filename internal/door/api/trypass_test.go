package api

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shop"
	"fettle/internal/work"
)

// trying stands for a shop with a plan; what is tried on it is tested in its own room.
type trying struct {
	*shop.Shop
	asked []work.TryPass
}

func (s *trying) TryPass(_ context.Context, plan string, a work.TryPass) (work.TriedPass, []byte, error) {
	if plan != "p1" {
		return work.TriedPass{}, nil, fettle.Errorf(fettle.NotFound, "there is no plan %q", plan)
	}
	s.asked = append(s.asked, a)
	if a.StepoverMM < 0.05 {
		return work.TriedPass{Says: "takes too long"}, nil, nil
	}
	return work.TriedPass{Minutes: 5}, []byte("\x89PNG\r\n\x1a\nsimulated"), nil
}

func (s *trying) SketchPass(context.Context, string, work.TryPass) ([]byte, error) {
	return []byte("\x89PNG\r\n\x1a\nsketch"), nil
}

// A pass that is tried comes with the address of its close-up: that of the simulated
// surface, or of the sketch where nothing was simulated.
func TestTryPass(t *testing.T) {
	s := &trying{}
	h := open(t, 0, func(o *Options) {
		s.Shop = o.Shop.(*shop.Shop)
		o.Shop = s
	})
	for stepover, want := range map[string]string{"0.315": "simulated", "0.02": "sketch"} {
		r := h.as("hand", "GET /api/plans/p1/pass?zone=show&cutter=ball+%26+more&stepover_mm="+stepover+"&crossed=true", nil)
		if r.status != http.StatusOK {
			t.Fatalf("%d: %s", r.status, r.body)
		}
		var got work.TriedPass
		if err := json.Unmarshal(r.body, &got); err != nil {
			t.Fatal(err)
		}
		p := h.as("hand", "GET "+got.Picture, nil)
		if p.status != http.StatusOK || p.header.Get("Content-Type") != "image/png" || !strings.HasSuffix(string(p.body), want) {
			t.Errorf("%s mm: the picture at %s is %d, %s, %q; want %s", stepover, got.Picture, p.status, p.header.Get("Content-Type"), p.body, want)
		}
	}
	if a := s.asked[0]; a.Zone != "show" || a.Cutter != "ball & more" || !a.Crossed {
		t.Errorf("asked for %+v", a)
	}
	for call, want := range map[string]int{
		"GET /api/plans/none/pass?zone=show&cutter=b&stepover_mm=0.3":               http.StatusNotFound,
		"GET /api/plans/p1/pass?zone=show&cutter=b&stepover_mm=0":                   http.StatusUnprocessableEntity,
		"GET /api/plans/p1/pass?zone=show&cutter=b":                                 http.StatusUnprocessableEntity,
		"GET /api/plans/p1/pass?zone=show&cutter=b&stepover_mm=0.3&colour=red":      http.StatusUnprocessableEntity,
		"GET /api/plans/p1/pass/picture?cutter=b&stepover_mm=0.3&simulated=perhaps": http.StatusUnprocessableEntity,
	} {
		if r := h.ask(call, nil); r.status != want {
			t.Errorf("%s: %d, want %d: %s", call, r.status, want, r.body)
		}
	}
}
