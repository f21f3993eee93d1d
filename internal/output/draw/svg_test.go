package draw

import (
	"encoding/base64"
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

// Pictures are in the file itself, and what they show is said as text.
func TestSVGPictures(t *testing.T) {
	d := &Drawing{Images: []Image{{At: Pt{1, 2}, W: 30, H: 20, Data: []byte("not looked at"), Type: "image/png", Says: `<b>"plate" & knob`}}}
	var href, title string
	dec := xml.NewDecoder(strings.NewReader(string(d.SVG(100, 80, ""))))
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		s, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		switch s.Name.Local {
		case "image":
			for _, a := range s.Attr {
				if a.Name.Local == "href" && a.Name.Space == "http://www.w3.org/1999/xlink" {
					href = a.Value
				}
			}
		case "title":
			if err := dec.DecodeElement(&title, &s); err != nil {
				t.Fatal(err)
			}
		}
	}
	body, ok := strings.CutPrefix(href, "data:image/png;base64,")
	got, err := base64.StdEncoding.DecodeString(body)
	if !ok || err != nil || string(got) != "not looked at" {
		t.Errorf("the picture is %q (%v)", href, err)
	}
	if title != d.Images[0].Says {
		t.Errorf("its title reads %q", title)
	}
	if strings.Contains(string((&Drawing{}).SVG(10, 10, "")), "xlink") {
		t.Error("a drawing without pictures names xlink")
	}
}
