package offer

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"

	"fettle"
)

// mostBytes is how large a page may be, so that it goes through anybody's mail.
const mostBytes = 3_000_000

//go:embed page.html
var pageText string

//go:embed page.css
var pageCSS string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	// What is handed to these was made here: a style sheet of this room, a picture that
	// was just encoded, and links that were put together in reply.go.
	"css":  func() template.CSS { return template.CSS(pageCSS) },
	"src":  dataURI,
	"link": func(s string) template.URL { return template.URL(s) },
	"id":   func(i int) string { return fmt.Sprintf("finish-%d", i+1) },
}).Parse(pageText))

func dataURI(e encoded) template.URL {
	return template.URL("data:" + e.Type + ";base64," + base64.StdEncoding.EncodeToString(e.Data))
}

// html renders the page, its pictures as good as there is room for.
func (v *view) html() ([]byte, error) {
	words, err := v.render()
	if err != nil {
		return nil, err
	}
	// A picture's bytes are four thirds as many in base64, and a few more for its type.
	room := (mostBytes-len(words))/4*3 - 64*len(v.pictures())
	if room <= 0 {
		return nil, fettle.Errorf(fettle.Invalid, "the words of the offer alone fill a page of 3 MB; say it shorter")
	}
	if err := v.fit(room); err != nil {
		return nil, err
	}
	return v.render()
}

func (v *view) render() ([]byte, error) {
	var b bytes.Buffer
	if err := page.Execute(&b, v); err != nil {
		return nil, fmt.Errorf("writing the offer: %w", err)
	}
	return b.Bytes(), nil
}
