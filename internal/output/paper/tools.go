package paper

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
)

// tools lists the cutters of the passes.
func (t *traveler) tools() {
	var rows [][]string
	sides := t.sides()
	for i, st := range t.plan.Route {
		c := st.Pass
		if c == nil {
			continue
		}
		k := t.sideOf(sides, st.Zone)
		number, tool := toolOf(sides[k].setup, c.Cutter)
		stick := ""
		if tool.StickOut > 0 {
			stick = t.sys.Length(tool.StickOut)
		}
		flutes := ""
		if n := t.flutes(c.Cutter, tool); n > 0 {
			flutes = fmt.Sprint(n)
		}
		rows = append(rows, []string{number, c.Cutter, flutes, fmt.Sprint(k + 1), fmt.Sprint(i + 1), t.stepover(c),
			fmt.Sprintf("%.0f", c.SpindleRPM), t.sys.Feed(c.FeedMMMin), stick, ""})
	}
	if len(rows) == 0 {
		return
	}
	t.sheet.section(t.say("Tools of the last passes"), 20)
	t.sheet.table([]string{t.say("T no."), t.say("Cutter"), t.say("Flutes"), t.say("Set-up"), t.say("Step"), t.say("Stepover"), t.say("rpm"), t.say("Feed"), t.say("Stick-out"), t.say("Length")}, rows,
		[]float64{0.7, 1.4, 0.72, 0.8, 0.6, 1.35, 0.75, 1.55, 1.15, 1.03})
}

// toolOf finds a cutter among the tools of a set-up; its number is empty where it is
// not there.
func toolOf(s fettle.Setup, cutter string) (string, fettle.SetupTool) {
	var names []string
	for name, tool := range s.Tools {
		if tool.Cutter == cutter {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return "", fettle.SetupTool{}
	}
	name := slices.Min(names)
	return strings.ToUpper(name), s.Tools[name]
}

// flutes of a cutter by the set-up, else the shelf; 0 where neither says.
func (t *traveler) flutes(cutter string, tool fettle.SetupTool) int {
	if tool.Flutes > 0 {
		return tool.Flutes
	}
	for _, c := range t.opt.Cutters {
		if c.Name == cutter {
			return c.Flutes
		}
	}
	return 0
}

// stepover shows the distance of passes, where there is one.
func (t *traveler) stepover(p *fettle.Pass) string {
	switch {
	case p.StepoverMM == 0:
		return t.say("one pass")
	case p.Crossed:
		return t.say("%s, crossed", t.sys.Small(p.StepoverMM))
	}
	return t.say("%s, one way", t.sys.Small(p.StepoverMM))
}
