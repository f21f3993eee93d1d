package brep

// kind tells the values apart that the module and the host exchange. They are
// those of JavaScript, which the module was built to talk to.
type kind uint8

const (
	undefined kind = iota
	null
	boolean
	number
	text
	list
	record
	octets    // of the file
	view      // a window on the module's memory
	intrinsic // something of the language itself, by name
)

// value is one value. Lists of nothing but numbers hold them without a box.
type value struct {
	kind kind
	num  float64 // of a number; 1 or 0 of a boolean; first byte of a view
	ref  any     // string, *array, *object, []byte; int of a view's length
}

type object struct{ of map[string]value }

// array is a list: numbers as long as it has nothing else.
type array struct {
	numbers []float64
	values  []value // nil while all are numbers
}

func numberOf(v float64) value { return value{kind: number, num: v} }
func textOf(s string) value    { return value{kind: text, ref: s} }
func boolOf(b bool) value {
	if b {
		return value{kind: boolean, num: 1}
	}
	return value{kind: boolean}
}

// truth is the value as a condition.
func (v value) truth() bool {
	switch v.kind {
	case boolean, number:
		return v.num != 0 && v.num == v.num
	case undefined, null:
		return false
	case text:
		return v.ref.(string) != ""
	}
	return true
}

func (a *array) len() int {
	if a.values != nil {
		return len(a.values)
	}
	return len(a.numbers)
}

// set puts a value at a place; the module fills lists from the front.
func (a *array) set(i int, v value) {
	n := a.len()
	if i < 0 || i > n { // never asked for: lists have no holes here
		panic(astray("a list with holes"))
	}
	if a.values == nil {
		if v.kind == number {
			if i == n {
				a.numbers = append(a.numbers, v.num)
			} else {
				a.numbers[i] = v.num
			}
			return
		}
		a.values = make([]value, n, n+1)
		for k, x := range a.numbers {
			a.values[k] = numberOf(x)
		}
		a.numbers = nil
	}
	if i == n {
		a.values = append(a.values, v)
	} else {
		a.values[i] = v
	}
}

func (a *array) get(i int) value {
	switch {
	case i < 0 || i >= a.len():
		return value{}
	case a.values != nil:
		return a.values[i]
	}
	return numberOf(a.numbers[i])
}

// property is what stands under a key.
func (v value) property(key value) value {
	switch v.kind {
	case list:
		a := v.ref.(*array)
		if key.kind == number {
			return a.get(int(key.num))
		}
		if key.kind == text && key.ref == "length" {
			return numberOf(float64(a.len()))
		}
	case octets:
		b := v.ref.([]byte)
		if key.kind == text && key.ref == "length" {
			return numberOf(float64(len(b)))
		}
		if key.kind == number && key.num >= 0 && int(key.num) < len(b) {
			return numberOf(float64(b[int(key.num)]))
		}
	case record:
		if key.kind == text {
			return v.ref.(*object).of[key.ref.(string)]
		}
	case intrinsic:
		if key.kind == text {
			return value{kind: intrinsic, ref: v.ref.(string) + "." + key.ref.(string)}
		}
	case undefined, null:
		panic(astray("a property of nothing"))
	}
	return value{}
}

// setProperty puts a value under a key.
func (v value) setProperty(key, to value) {
	switch {
	case v.kind == list && key.kind == number:
		v.ref.(*array).set(int(key.num), to)
	case v.kind == record && key.kind == text:
		v.ref.(*object).of[key.ref.(string)] = to
	default:
		panic(astray("a property of what has none"))
	}
}

// handles numbers the values that the module holds. Numbers are even and count
// references; the first four stand for undefined, null, true and false, and 0
// for none.
type handles struct {
	at   []held
	free []int32
}

type held struct {
	value
	refs int32
}

const firstFree = 5 // handle 10

func newHandles() handles {
	return handles{at: []held{{}, {value: value{kind: undefined}, refs: 1}, {value: value{kind: null}, refs: 1},
		{value: boolOf(true), refs: 1}, {value: boolOf(false), refs: 1}}}
}

func (h *handles) put(v value) uint64 {
	switch v.kind {
	case undefined:
		return 2
	case null:
		return 4
	case boolean:
		if v.num != 0 {
			return 6
		}
		return 8
	}
	if n := len(h.free); n > 0 {
		i := h.free[n-1]
		h.free = h.free[:n-1]
		h.at[i] = held{v, 1}
		return uint64(i) * 2
	}
	h.at = append(h.at, held{v, 1})
	return uint64(len(h.at)-1) * 2
}

func (h *handles) get(handle uint64) value {
	i := uint32(handle) / 2
	if i == 0 || int(i) >= len(h.at) || h.at[i].refs <= 0 {
		panic(astray("a value that is not there"))
	}
	return h.at[i].value
}

func (h *handles) incref(handle uint64) {
	if i := uint32(handle) / 2; i >= firstFree && int(i) < len(h.at) {
		h.at[i].refs++
	}
}

func (h *handles) decref(handle uint64) {
	i := uint32(handle) / 2
	if i < firstFree || int(i) >= len(h.at) {
		return
	}
	if h.at[i].refs--; h.at[i].refs == 0 {
		h.at[i].value = value{}
		h.free = append(h.free, int32(i))
	}
}

// astray is what a host function panics with when the module asks for what no
// sound module asks for; the reading ends with it.
type astray string

func (a astray) Error() string { return "the module asked for " + string(a) }
