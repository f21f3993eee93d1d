package part21

import "fettle/internal/format/intake"

// Placed is a solid where the assembly puts it.
type Placed struct {
	Body    string   // the solid's own name
	Product string   // whose shape it is
	In      []string // the assemblies round that, the outermost first
	Faces   int
}

// tree is how products are made of others and of solids.
type tree struct {
	f        *file
	name     map[int]string // of products, by definition
	solids   map[int][]int  // of a definition's shape
	parts    map[int][]int  // definitions that one is assembled of, in the order of the text
	relating map[int][]int  // representations that one is the same as, in other items
	faces    map[int]int    // of a solid
	out      []Placed
	path     []int
	left     int // references that may still be followed
}

// follow is how many references are followed for each instance of a file, at
// most; made-up files lead to the same long ones over and over.
const follow = 20

// placed lists the solids of a file as its assembly places them, depth first, a
// product's own before those of its parts, given the names of products by
// definition; nil where there are too many, or where an assembly is in itself.
func (f *file) placed(names map[int]string) []Placed {
	t := &tree{f: f, name: names, left: 1000 + follow*len(f.inst), faces: map[int]int{}, solids: map[int][]int{}, parts: map[int][]int{}, relating: map[int][]int{}}
	for _, i := range f.kinds[relation] {
		if two := f.two(int(i), shapeRepresentation); two[1] >= 0 && !f.inst[i].complex {
			t.relating[two[0]] = append(t.relating[two[0]], two[1])
			t.relating[two[1]] = append(t.relating[two[1]], two[0])
		}
	}
	shown := map[int]int{} // definition by its shape
	for _, i := range f.kinds[definitionShape] {
		if d := f.ref(int(i), definition); d >= 0 {
			shown[int(i)] = d
		}
	}
	for _, i := range f.kinds[propertyRepresentation] {
		d, ok := shown[f.ref(int(i), definitionShape)]
		if r := f.ref(int(i), shapeRepresentation); ok && r >= 0 {
			t.take(d, r)
		}
	}
	child := map[int]bool{}
	for _, i := range f.kinds[use] {
		if two := f.two(int(i), definition); two[1] >= 0 {
			t.parts[two[0]] = append(t.parts[two[0]], two[1])
			child[two[1]] = true
		}
	}
	for _, i := range f.kinds[definition] {
		if d := int(i); !child[d] && !t.walk(d) {
			return nil
		}
	}
	if t.left < 0 {
		return nil
	}
	return t.out
}

// two are the first two instances of a kind that i refers to, −1 for none.
func (f *file) two(i int, k kind) [2]int {
	two, n := [2]int{-1, -1}, 0
	for to := range f.refs(i) {
		if to >= 0 && f.inst[to].kind == k && n < 2 {
			two[n] = to
			n++
		}
	}
	return two
}

// take gives a definition the solids of a representation and of those that say
// the same in other items.
func (t *tree) take(d, r int) {
	seen := map[int]bool{r: true}
	for todo := []int{r}; len(todo) > 0; todo = todo[1:] {
		for to := range t.f.refs(todo[0]) {
			if t.left--; t.left < 0 {
				return
			}
			if to >= 0 && t.f.inst[to].kind == solid {
				t.solids[d] = append(t.solids[d], to)
			}
		}
		for _, next := range t.relating[todo[0]] {
			if !seen[next] {
				seen[next] = true
				todo = append(todo, next)
			}
		}
	}
}

// walk lists what stands in a definition; false where that has no end.
func (t *tree) walk(d int) bool {
	if t.left--; len(t.path) > intake.MaxDepth || len(t.out) > intake.MaxParts || t.left < 0 {
		return false
	}
	var in []string
	for _, p := range t.path {
		in = append(in, t.name[p])
	}
	for _, s := range t.solids[d] {
		t.out = append(t.out, Placed{Body: t.f.firstText(s, "REPRESENTATION_ITEM"), Product: t.name[d], In: in, Faces: t.facesOf(s)})
	}
	t.path = append(t.path, d)
	for _, part := range t.parts[d] {
		if !t.walk(part) {
			return false
		}
	}
	t.path = t.path[:len(t.path)-1]
	return true
}

// facesOf counts the faces in the shells of a solid.
func (t *tree) facesOf(i int) int {
	n, ok := t.faces[i]
	if ok {
		return n
	}
	for depth, level := 0, []int{i}; depth < 3 && len(level) > 0; depth++ { // solid, oriented shell, shell
		var next []int
		for _, k := range level {
			for to := range t.f.refs(k) {
				if t.left--; t.left < 0 {
					return n
				}
				switch {
				case to < 0:
				case t.f.inst[to].kind == face:
					n++
				case t.f.inst[to].kind == shell:
					next = append(next, to)
				}
			}
		}
		level = next
	}
	t.faces[i] = n
	return n
}
