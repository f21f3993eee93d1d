package draw

import (
	"encoding/base64"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// SVG is the drawing as an SVG 1.1 document of the given size in mm. family is
// the CSS font family; empty means a plain sans-serif. Pictures are in it, as data
// URIs.
func (d *Drawing) SVG(width, height float64, family string) []byte {
	if family == "" {
		family = "DejaVu Sans Condensed, Liberation Sans, sans-serif"
	}
	var b strings.Builder
	names := ""
	if len(d.Images) > 0 {
		names = ` xmlns:xlink="http://www.w3.org/1999/xlink"`
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg"%[4]s width="%[1]smm" height="%[2]smm" viewBox="0 0 %[1]s %[2]s" stroke-linecap="round" stroke-linejoin="round" font-family="%[3]s">`+"\n",
		num(width), num(height), escape(family), names)
	for _, i := range d.Images {
		fmt.Fprintf(&b, `<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none" xlink:href="data:%s;base64,%s"><title>%s</title></image>`+"\n",
			num(i.At.X), num(i.At.Y), num(i.W), num(i.H), escape(i.Type), base64.StdEncoding.EncodeToString(i.Data), escape(i.Says))
	}
	for _, f := range d.Fills {
		fmt.Fprintf(&b, `<path d="%s" fill="%s"/>`+"\n", path(f.Pts, true), grey(f.Shade))
	}
	for _, l := range d.Lines {
		dash := ""
		if len(l.Dash) > 0 {
			parts := make([]string, len(l.Dash))
			for i, v := range l.Dash {
				parts[i] = num(v)
			}
			dash = ` stroke-dasharray="` + strings.Join(parts, " ") + `"`
		}
		fmt.Fprintf(&b, `<path d="%s" fill="none" stroke="%s" stroke-width="%s"%s/>`+"\n",
			path(l.Pts, l.Closed), grey(l.Shade), num(l.Weight), dash)
	}
	for _, t := range d.Texts {
		anchor := [...]string{"start", "middle", "end"}[t.Align]
		weight, turn := "", ""
		if t.Bold {
			weight = ` font-weight="bold"`
		}
		if t.Angle != 0 {
			turn = fmt.Sprintf(` transform="rotate(%s %s %s)"`, num(-t.Angle), num(t.At.X), num(t.At.Y))
		}
		fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" text-anchor="%s" fill="%s"%s%s>%s</text>`+"\n",
			num(t.At.X), num(t.At.Y), num(t.Size), anchor, grey(t.Shade), weight, turn, escape(t.S))
	}
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

func path(pts []Pt, closed bool) string {
	var b strings.Builder
	for i, p := range pts {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(num(p.X) + " " + num(p.Y))
	}
	if closed {
		b.WriteByte('Z')
	}
	return b.String()
}

// num writes a coordinate to the micrometre.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 3, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

func grey(shade float64) string {
	v := int(math.Round(255 * min(1, max(0, shade))))
	return fmt.Sprintf("#%02x%02x%02x", v, v, v)
}

// escape makes text safe in XML; characters that XML 1.0 forbids are dropped.
func escape(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\t' && r != '\n' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, s)
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace(s)
}
