package draw

import (
	"fettle"
)

// OpeningSays is an opening as a drawing names it, in one or two short lines
// without units: "Ø 4.20 through", "countersunk Ø 8.40".
func OpeningSays(o fettle.Opening, sys fettle.System) []string {
	return OpeningIn(o, sys, PanelOptions{}.say)
}

// OpeningIn is [OpeningSays] in the language that say speaks.
func OpeningIn(o fettle.Opening, sys fettle.System, say func(english string, args ...any) string) []string {
	wide := bare(sys, o.WidthMM)
	if o.Kind == fettle.Hole {
		says := []string{say("Ø %s through", wide)}
		if !o.Through {
			says[0] = say("Ø %s, %s deep", wide, bare(sys, o.DepthMM))
		}
		if o.Form != "" && o.WidestMM > o.WidthMM {
			says = append(says, say("%s Ø %s", say(o.Form), bare(sys, o.WidestMM)))
		}
		return says
	}
	name := say(string(o.Kind))
	if o.Form != "" {
		name = say(o.Form)
	}
	size := wide + " × " + bare(sys, o.LengthMM)
	if o.Through {
		return []string{say("%s, through", name), size}
	}
	return []string{say("%s, %s deep", name, bare(sys, o.DepthMM)), size}
}
