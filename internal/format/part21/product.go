package part21

// products names the products whose shape is defined, counts the places of parts
// in assemblies, and gives the product's name of every definition. The way from a
// shape to its product leads over the definition and its formation (ISO
// 10303-41).
func (f *file) products(s *Summary) map[int]string {
	s.Uses = len(f.kinds[use])
	// Each instance on the way is read once, however many others lead to it.
	follow := func(from, to kind) map[int]int {
		m := map[int]int{}
		for _, i := range f.kinds[from] {
			if j := f.ref(int(i), to); j >= 0 {
				m[int(i)] = j
			}
		}
		return m
	}
	formations, products := follow(definition, formation), follow(formation, product)
	names := map[int]string{}
	for _, i := range f.kinds[product] {
		names[int(i)] = f.productName(int(i))
	}
	of := map[int]string{}
	for d, form := range formations {
		if p, ok := products[form]; ok {
			of[d] = names[p]
		}
	}
	done := map[int]bool{}
	for _, i := range f.kinds[definitionShape] {
		d := f.ref(int(i), definition)
		if d < 0 || done[d] {
			continue
		}
		done[d] = true
		if of[d] != "" {
			s.Products = append(s.Products, of[d])
		}
	}
	return of
}

// productName is the name of a product, or its id where it has none.
func (f *file) productName(i int) string {
	id, n := "", 0
	for v := range f.params(i, "PRODUCT") {
		name := v.str()
		switch {
		case n == 0:
			id = name
		case name != "":
			return name
		}
		if n++; n == 2 {
			break
		}
	}
	return id
}
