package brep

import "testing"

// Handles that nobody holds are used again, and those that stand for undefined,
// null, true and false never go.
func TestHandles(t *testing.T) {
	h := newHandles()
	a, b := h.put(numberOf(1)), h.put(textOf("two"))
	if a == b || a < 10 || b < 10 {
		t.Fatalf("handles %d and %d", a, b)
	}
	h.incref(a)
	h.decref(a)
	if v := h.get(a); v.num != 1 {
		t.Errorf("%d holds %v", a, v)
	}
	h.decref(a)
	if c := h.put(textOf("three")); c != a {
		t.Errorf("handle %d, want %d again", c, a)
	}
	for i, v := range []value{{kind: undefined}, {kind: null}, boolOf(true), boolOf(false)} {
		fixed := h.put(v)
		h.decref(fixed)
		if fixed != uint64(2*i+2) || h.get(fixed).kind != v.kind {
			t.Errorf("%v has handle %d", v, fixed)
		}
	}
	for _, bad := range []uint64{0, 1000, b + 100} {
		func() {
			defer func() {
				if _, ok := recover().(astray); !ok {
					t.Errorf("handle %d was taken for a value", bad)
				}
			}()
			h.get(bad)
		}()
	}
}

// A list of numbers becomes one of anything when something else comes.
func TestList(t *testing.T) {
	l := value{kind: list, ref: &array{}}
	for i := range 3 {
		l.setProperty(numberOf(float64(i)), numberOf(float64(10*i)))
	}
	if n, ok := l.numbers(); !ok || len(n) != 3 || n[2] != 20 {
		t.Errorf("numbers %v", n)
	}
	l.setProperty(numberOf(3), textOf("x"))
	l.setProperty(numberOf(0), numberOf(5))
	if _, ok := l.numbers(); ok {
		t.Error("a text is no number")
	}
	if v := l.property(textOf("length")); v.num != 4 {
		t.Errorf("length %v", v.num)
	}
	for i, want := range []float64{5, 10, 20} {
		if v := l.property(numberOf(float64(i))); v.num != want {
			t.Errorf("item %d is %v", i, v.num)
		}
	}
	if v := l.property(numberOf(7)); v.kind != undefined {
		t.Errorf("item 7 is %v", v)
	}
}
