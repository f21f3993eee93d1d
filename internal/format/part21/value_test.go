package part21

import (
	"fmt"
	"strings"
	"testing"
)

// show writes a parameter as its form and contents.
func (v value) show() string {
	name := [...]string{"?", "$", "*", "number", "text", "enum", "binary", "ref", "list", "typed", "uri"}[v.form]
	switch v.form {
	case list, typed:
		var in []string
		for w := range each(v.raw) {
			in = append(in, w.show())
		}
		return fmt.Sprintf("%s%s(%s)", name, v.name, strings.Join(in, " "))
	case omitted, derived, unclear:
		return name
	}
	return name + ":" + string(v.raw)
}

// TestParameters: each form of ISO 10303-21 clause 6.3, alone and inside others.
func TestParameters(t *testing.T) {
	for raw, want := range map[string]string{
		``:                             ``,
		`$,*`:                          `$ *`,
		`16,-12,+23`:                   `number:16 number:-12 number:+23`,
		`2.5,-3.E-4,+0.0E+12, .5,1.D3`: `number:2.5 number:-3.E-4 number:+0.0E+12 number:.5 number:1.D3`,
		`'it''s; (x),/*no*/'`:          `text:it''s; (x),/*no*/`,
		`'',''''`:                      `text: text:''`,
		`.T.,.MILLI., .U_1. `:          `enum:T enum:MILLI enum:U_1`,
		`"0","3FA","1"`:                `binary:0 binary:3FA binary:1`,
		`#12 , #0007`:                  `ref:12 ref:0007`,
		`()`:                           `list()`,
		`((1,2),(),('a)',#3))`:         `list(list(number:1 number:2) list() list(text:a) ref:3))`,
		`LENGTH_MEASURE(2.)`:           `typedLENGTH_MEASURE(number:2.)`,
		`A (B( .T. )), C()`:            `typedA(typedB(enum:T)) typedC()`,
		`!OURS('x')`:                   `typed!OURS(text:x)`,
		`/*a*/1/* , */,/**/2`:          `number:1 number:2`,
		`<other.stp#part>,@7`:          `uri:other.stp#part ?`,
		`1,,2,`:                        `number:1 $ number:2`,
		`1 2,.T,WORD,%%,3`:             `? ? ? ? number:3`,
		"\x00'a'\r\n,\t#1":             `text:a ref:1`,
		`#`:                            `?`,
		`'a','b'`:                      `text:a text:b`,
	} {
		got := value{form: list, raw: []byte(raw)}.show()
		if got != "list("+want+")" {
			t.Errorf("%s\n got %s\nwant list(%s)", raw, got, want)
		}
	}
	for raw, want := range map[string]float64{`-3.E-4`: -3e-4, `LENGTH_MEASURE(25.4)`: 25.4, `A(B(C(1)))`: 1, `1.D3`: 1000} {
		c := cursor{d: []byte(raw)}
		v, _ := c.next()
		if got, ok := v.float(); !ok || got != want {
			t.Errorf("%s: %v %v", raw, got, ok)
		}
	}
}

// TestKinds: what is looked up is what is in the list, and nothing like it.
func TestKinds(t *testing.T) {
	for name, want := range kinds {
		if got := kindOf([]byte(name)); got != want {
			t.Errorf("%s: %d, want %d", name, got, want)
		}
		if got := kindOf([]byte(strings.ToLower(name))); got != want {
			t.Errorf("%s in lower case: %d, want %d", name, got, want)
		}
		if got := kindOf([]byte(name + "X")); got != kinds[name+"X"] {
			t.Errorf("%sX: %d", name, got)
		}
		if len(name) > maxKeyword {
			t.Errorf("%s is longer than maxKeyword", name)
		}
	}
	if n := len(kinds); n*2 > 1<<slotBits {
		t.Errorf("%d kinds fill more than half of the table", n)
	}
}
