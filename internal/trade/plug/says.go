package plug

import (
	"fmt"
	"math"
	"strings"

	"fettle"
)

func (d *design) says(s fettle.Soft) string {
	b := d.b
	wide, long := b.plan.across(b.mouth + d.rim)
	text := fmt.Sprintf("A %s plug for %s, of %s: %.2f mm where the opening is %.2f mm at its narrowest", b.plan.form, b.o.ID, small(s.Title), b.plan.wide+2*d.grip, b.plan.wide)
	if d.body[0].name == "collar" {
		text += ", with a collar that fills the wider mouth"
	}
	text += fmt.Sprintf(". Its head covers %.1f × %.1f mm: it keeps the media out and shields the edge of the mouth and a ring %.1f mm wide round it, which come out less rounded and less finished than the rest.", wide, long, d.rim)
	if s.Squeeze.Basis != "" {
		text += fmt.Sprintf(" How much wider than its opening it should be: %s.", s.Squeeze.Basis)
	}
	return text
}

func (d *design) do(s fettle.Soft) string {
	b := d.b
	text := "Push it in dry, turning it a little to and fro, until the head lies on the face. "
	if b.plan.form != "round" {
		text = "Push it in dry, one end first, until the head lies on the face. "
	}
	if d.leans() {
		text += "Its head follows the face, so it goes in one way round only: turn it until the head lies on all round. "
	}
	if d.vent {
		text += "The flat along the shank lets the air out. "
	}
	text += "Count the plugs in, and count them out again before the parts are counted and packed; "
	if len(d.tab) > 0 && d.tab[0].loop[0].X > 10 {
		text += "peel them out from the end with the tab. "
	} else {
		text += "pull them straight out by the tab, with fingers or flat pliers. "
	}
	text += "A wet plug lets go suddenly: wear eye protection and point it away from you. "
	if b.plan.form == "round" && b.plan.wide <= 12 {
		text += "In a tapped hole the plug must be the tap drill's size: check that the model has that and not the thread's. "
	}
	if s.Printed {
		text += "Print it as it stands, tip down, with a brim, and with supports under the head's rim only."
	} else {
		text += "Cast or cut it; a mould parts at the head's rim."
	}
	return text
}

// leans reports whether the head's underside is far enough from level that it
// matters which way round a plug goes in.
func (d *design) leans() bool {
	low, high := math.Inf(1), math.Inf(-1)
	for _, q := range d.b.plan.outline(d.b.mouth+d.rim, 96) {
		h := d.face.at(q)
		low, high = min(low, h), max(high, h)
	}
	return high-low > 0.2
}

func (d *design) warnings(s fettle.Soft) []string {
	b := d.b
	var out []string
	warn := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if d.hits {
		warn("The part stands up close to the mouth: even a rim of %.1f mm meets it. Trim the head there.", d.rim)
	} else if d.rim < rimLeast {
		warn("The head's rim is only %.1f mm wide, as the part stands up close to the mouth.", d.rim)
	}
	if d.stand > 0.4 {
		warn("The face falls away under the head, by up to %.1f mm at its edge: the mouth is closed, but small media can get under the rim.", d.stand)
	}
	if s.Squeeze.Value*b.plan.wide/2 > gripMost {
		warn("The squeeze is kept to %.1f mm in all, less than the material's share of this width, so that it can be pushed in by hand.", 2*gripMost)
	}
	if b.o.Through {
		if d.flush {
			warn("It ends flush with the far side, as the part is in its way beyond.")
		}
		if b.high-b.low > 1.5*b.plan.wide {
			warn("Media can start into the far side beside the tip: if they lodge there, close it with a second plug, or lengthen this one by a tail.")
		}
	} else if !d.vent {
		warn("It is too slim for a vent: push it in slowly, or the air under it lifts it out again.")
	}
	if w := b.o.WidthMM; w > 0 && (b.plan.wide > 1.02*w+0.02 || b.plan.wide < 0.98*w-0.02) {
		warn("Cut across, the opening is %.2f mm wide, where the survey has %.2f mm: the plug goes by the cut.", b.plan.wide, w)
	}
	deep := d.seat - d.tipAt()
	if deep < b.plan.wide/2 {
		warn("The opening is shallow for its width: a plug %.1f mm deep may be knocked out. Try one before the whole charge.", deep)
	}
	return out
}

// small is a title as it stands inside a sentence.
func small(title string) string {
	return strings.ToLower(title[:min(1, len(title))]) + title[min(1, len(title)):]
}
