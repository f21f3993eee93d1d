package work

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle"
	"fettle/internal/format/intake"
	"fettle/internal/shape/mesh"
)

// bodiesOf measures the bodies that a file tells apart.
func bodiesOf(raw *intake.Part) []fettle.FileBody {
	list := []fettle.FileBody{}
	for i, b := range raw.Bodies {
		m := mesh.Measure(portion(raw.Mesh, b.From, b.To), nil)
		f := fettle.FileBody{Number: i + 1, Name: b.Name, In: b.In, Solid: b.Solid, AreaMM2: m.Area, Box: span(m.Box)}
		if f.In == nil {
			f.In = []string{}
		}
		if b.Solid {
			f.VolumeMM3 = m.Volume
		}
		if b.Colour != nil {
			f.Colour = b.Colour.String()
		}
		list = append(list, f)
	}
	return list
}

// takeBody leaves of a part the body that was chosen, by its name or number, or
// the only one, or, where whole is set, all of them. It marks in the list what is
// taken.
func takeBody(raw *intake.Part, list []fettle.FileBody, name, chosen string, whole bool) error {
	if len(list) == 0 {
		if chosen != "" {
			return fettle.Errorf(fettle.Invalid, "%s does not tell bodies apart; leave --body out", name)
		}
		return nil
	}
	if chosen == "" {
		if len(list) > 1 && !whole {
			return fettle.Errorf(fettle.Invalid, "%s holds %d bodies: %s; choose one with --body", name, len(list), roll(list))
		}
		for i := range list {
			list[i].Taken = true
		}
		if len(list) > 1 {
			raw.Notes = append(raw.Notes, fmt.Sprintf("the file holds %d bodies, measured here as one: %s; choose one with --body NAME or NUMBER", len(list), roll(list)))
		}
		return nil
	}
	at := -1
	if n, err := strconv.Atoi(chosen); err == nil && n >= 1 && n <= len(list) {
		at = n - 1
	}
	same := 0
	for i, b := range list { // a name wins over a number
		if strings.EqualFold(b.Name, chosen) {
			if same++; same == 1 {
				at = i
			}
		}
	}
	switch {
	case at < 0:
		return fettle.Errorf(fettle.NotFound, "%s has no body %q; it holds %s", name, chosen, roll(list))
	case same > 1:
		raw.Notes = append(raw.Notes, fmt.Sprintf("%d bodies of the file are called %s; the first was taken, number %d", same, list[at].Name, at+1))
	}
	list[at].Taken = true
	b := raw.Bodies[at]
	raw.Mesh = portion(raw.Mesh, b.From, b.To)
	return nil
}

// roll names bodies for a sentence: "plate (1), bolt (2, 3)".
func roll(list []fettle.FileBody) string {
	const most, numbered = 6, 4
	var names []string
	numbers := map[string][]string{}
	for _, b := range list {
		n := b.Name
		if n == "" {
			n = "without a name"
		}
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
		numbers[n] = append(numbers[n], strconv.Itoa(b.Number))
	}
	var out []string
	for _, n := range names[:min(len(names), most)] {
		nums := numbers[n]
		if more := len(nums) - numbered; more > 0 {
			nums = append(nums[:numbered:numbered], fmt.Sprintf("%d more", more))
		}
		out = append(out, fmt.Sprintf("%s (%s)", n, strings.Join(nums, ", ")))
	}
	if more := len(names) - most; more > 0 {
		out = append(out, fmt.Sprintf("and %d more names", more))
	}
	return strings.Join(out, ", ")
}

// portion is a run of a mesh's triangles as a mesh of its own.
func portion(m *mesh.Mesh, from, to int) *mesh.Mesh {
	if from == 0 && to == len(m.Tri) {
		return m
	}
	tris := make([]int32, 0, to-from)
	for t := from; t < to; t++ {
		tris = append(tris, int32(t))
	}
	return m.Portion(tris)
}

// colourFaces gives the survey's faces the colours that the file has for them:
// of a face made of several, that of its first facet.
func colourFaces(s *fettle.Survey, m *mesh.Mesh, colours []*intake.Colour) {
	if len(colours) == 0 || len(m.Face) != len(m.Tri) {
		return
	}
	for i := range s.Faces {
		f := &s.Faces[i]
		if len(f.Facets) == 0 {
			continue
		}
		if id := m.Face[f.Facets[0]]; id >= 0 && int(id) < len(colours) && colours[id] != nil {
			f.Colour = colours[id].String()
		}
	}
}
