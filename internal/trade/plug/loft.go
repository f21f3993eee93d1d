package plug

import (
	"math"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
)

// outline is the ring's own, as it will be built.
func (d *design) outline(r ring) []r2.Vec {
	if r.loop != nil {
		return r.loop
	}
	loop := d.b.plan.outline(r.grow, d.n)
	if r.vent {
		// The far end of the long way stays clear of the wall, for the air.
		end := -d.b.plan.long/2 + ventDeep
		for i := range loop {
			loop[i].X = max(loop[i].X, end)
		}
	}
	return loop
}

// loft builds the solid, tip on z = 0.
func (d *design) loft() *mesh.Mesh {
	var b form.Builder
	down := d.tipAt()
	build := func(list []ring) []form.Ring {
		out := make([]form.Ring, len(list))
		for i, r := range list {
			out[i] = b.RingOn(d.outline(r), func(x, y float64) float64 {
				if r.onFace {
					return r.at + d.face.at(r2.Vec{X: x, Y: y}) - down
				}
				return r.at - down
			})
		}
		return out
	}
	walls := func(list []form.Ring) {
		for i := 1; i < len(list); i++ {
			b.Wall(list[i], list[i-1])
		}
	}
	tab, head, body := build(d.tab), build(d.head), build(d.body)
	b.Region(form.Up, tab[0])
	walls(tab)
	b.Region(form.Up, head[0], tab[len(tab)-1])
	walls(head)
	b.Region(form.Down, head[len(head)-1], body[0])
	for i := 1; i < len(body); i++ {
		if d.body[i].at == d.body[i-1].at && !d.body[i-1].onFace {
			b.Region(form.Down, body[i-1], body[i]) // a ledge
			continue
		}
		b.Wall(body[i], body[i-1])
	}
	b.Region(form.Down, body[len(body)-1])
	return b.Mesh()
}

func (d *design) tipAt() float64 { return d.body[len(d.body)-1].at }

// steps lists the lengths from the head down; level faces are none.
func (d *design) steps() []fettle.PlugStep {
	var out []fettle.PlugStep
	size := func(r ring) (w, l float64) {
		if r.loop != nil {
			return r.wide, r.long
		}
		return d.b.plan.across(r.grow)
	}
	for _, list := range [][]ring{d.tab, d.head, d.body} {
		for i := 1; i < len(list); i++ {
			a, z := list[i-1], list[i]
			long := d.height(a) - d.height(z)
			if a.name == "" || long <= 0 {
				continue
			}
			s := fettle.PlugStep{Name: a.name, LongMM: long}
			s.WideMM[0], s.AcrossMM[0] = size(a)
			s.WideMM[1], s.AcrossMM[1] = size(z)
			out = append(out, s)
		}
	}
	return out
}

// height is that of a ring in the middle of the plan.
func (d *design) height(r ring) float64 {
	if r.onFace {
		return r.at + d.seat
	}
	return r.at
}

// taper is the slope of the upper gripping length.
func (d *design) taper() float64 {
	for i, r := range d.body {
		if r.name == "shank" {
			next := d.body[i+1]
			return taperOf(r.grow-next.grow, d.height(r)-next.at)
		}
	}
	return math.NaN()
}
