package pack

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// schema is the published one, read by a library that others wrote.
func schema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	const path = "../../../docs/pack.schema.json"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	if err := c.AddResource("urn:fettle:pack:1", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("urn:fettle:pack:1")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func valid(t *testing.T, s *jsonschema.Schema, text string) error {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(doc)
}

func TestManifestsFollowTheSchema(t *testing.T) {
	s := schema(t)
	for _, m := range []Manifest{manifest(), {Title: "x", Written: "2026-03-01T10:20:30Z", Program: "y", Customer: true, Money: true}} {
		for _, files := range [][]File{job(), nil} {
			r, err := opened(packed(t, m, files))
			if err != nil {
				t.Fatal(err)
			}
			text, err := r.Manifest.text()
			if err != nil {
				t.Fatal(err)
			}
			if err := valid(t, s, string(text)); err != nil {
				t.Error(err)
			}
		}
	}
}

// What the schema refuses Read refuses too, and the other way round.
func TestSchemaAndReaderRefuseTheSame(t *testing.T) {
	s := schema(t)
	good := string(listing(t, item("model/a.stl", []byte("solid plate"))))
	read := func(text string) error {
		_, err := opened(raw(t, "", entry{name: ManifestName, data: []byte(text)}, entry{name: "model/a.stl", data: []byte("solid plate")}))
		return err
	}
	if err := valid(t, s, good); err != nil {
		t.Fatal(err)
	}
	if err := read(good); err != nil {
		t.Fatal(err)
	}
	const name = `"model/a.stl"`
	for _, c := range []struct{ old, with string }{
		{`"fettle pack 1"`, `"fettle pack 2"`},
		{`"title":"Escutcheon plate",`, ``},
		{`"Escutcheon plate"`, `""`},
		{`"Escutcheon plate"`, `7`},
		{`"Escutcheon plate"`, `"` + strings.Repeat("x", 501) + `"`},
		{`"2026-03-01T10:20:30+01:00"`, `"yesterday"`},
		{`"2026-03-01T10:20:30+01:00"`, `"2026-13-01T10:20:30Z"`},
		{`"program":"fettle test",`, ``},
		{`"customer":false`, `"customer":"no"`},
		{`"files":[`, `"files":[1,`},
		{`"limit":"max_mm",`, ``},
		{`"role":"model"`, `"role":"key"`},
		{`"bytes":11`, `"bytes":-1`},
		{`"bytes":11`, `"bytes":1.5`},
		{`"bytes":11`, `"bytes":2147483648`},
		{`"sha256":"`, `"sha256":"A`},
		{`"bytes":11,`, `"bytes":11,"more":1,`},
		{`"customer"`, `"secret":true,"customer"`},
		{name, `""`},
		{name, `"/a"`},
		{name, `"../a"`},
		{name, `"a/../b"`},
		{name, `"a/.."`},
		{name, `"."`},
		{name, `"a//b"`},
		{name, `"a/"`},
		{name, `"a\\b"`},
		{name, `"C:a"`},
		{name, `"a\u0007"`},
		{name, `"a. /b"`},
		{name, `"a./b"`},
		{name, `"a "`},
		{name, `"b/ a"`},
		{name, `"COM1.txt"`},
		{name, `"b/nul"`},
		{name, `"a/b/c/d/e/f/g/h/i"`},
		{name, `"Manifest.json"`},
		{name, `"` + strings.Repeat("a", 201) + `"`},
	} {
		bad := strings.Replace(good, c.old, c.with, 1)
		if bad == good {
			t.Fatalf("%s is not in the manifest", c.old)
		}
		if valid(t, s, bad) == nil {
			t.Errorf("the schema takes %s", c.with)
		}
		if err := read(bad); err == nil {
			t.Errorf("the reader takes %s", c.with)
		} else {
			isFault(t, err)
		}
	}
	// Every name that the reader takes, the schema takes.
	for _, n := range []string{"a", ".hidden", "..a", "a..b", "pictures/ä ö.png", "console.txt", "com10", "com", "a/b/c/d/e/f/g/h", "名前.stl", "x/manifest.json"} {
		if err := valid(t, s, strings.Replace(good, name, `"`+n+`"`, 1)); err != nil {
			t.Errorf("%q: %v", n, err)
		}
		if why := badName(n); why != "" {
			t.Errorf("%q %s", n, why)
		}
	}
}
