package draw

import (
	"fettle"
	"fettle/internal/output/tongue"
)

// OpeningSays is an opening as a drawing names it, in one or two short lines
// without units: "Ø 4.20 through", "countersunk Ø 8.40".
func OpeningSays(o fettle.Opening, sys fettle.System) []string { return OpeningIn(o, sys, nil) }

// OpeningIn is [OpeningSays] in another language.
func OpeningIn(o fettle.Opening, sys fettle.System, t *tongue.Tongue) []string {
	wide := bare(sys, o.WidthMM)
	if o.Kind == fettle.Hole {
		says := []string{t.Say("Ø %s through", wide)}
		if !o.Through {
			says[0] = t.Say("Ø %s, %s deep", wide, bare(sys, o.DepthMM))
		}
		if o.Form != "" && o.WidestMM > o.WidthMM {
			says = append(says, t.Say("%s Ø %s", OpeningForm(o, t), bare(sys, o.WidestMM)))
		}
		return says
	}
	size := wide + " × " + bare(sys, o.LengthMM)
	if o.Through {
		return []string{t.Say("%s, through", OpeningForm(o, t)), size}
	}
	return []string{t.Say("%s, %s deep", OpeningForm(o, t), bare(sys, o.DepthMM)), size}
}

// forms are the words for the forms and kinds of openings.
var forms = map[string]tongue.Key{
	"countersunk": "countersunk", "counterbored": "counterbored", "keyhole": "keyhole", "groove": "groove",
	string(fettle.Hole): "hole", string(fettle.Slot): "slot", string(fettle.Pocket): "pocket", string(fettle.Gap): "gap",
}

// OpeningForm is what an opening's form is called, or its kind where it has none.
func OpeningForm(o fettle.Opening, t *tongue.Tongue) string {
	name := o.Form
	if name == "" {
		name = string(o.Kind)
	}
	if k, ok := forms[name]; ok {
		return k.In(t)
	}
	return name
}
