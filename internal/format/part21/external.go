package part21

import (
	"net/url"
	"path"
	"slices"
	"strings"
)

// shapeFile are the endings of files in which a shape may be.
var shapeFile = []string{".stp", ".step", ".p21", ".stpz", ".stpx", ".stpxz", ".igs", ".iges", ".jt", ".x_t", ".x_b", ".sat", ".brep", ".stl", ".3mf"}

func isShapeFile(name string) bool {
	return slices.Contains(shapeFile, strings.ToLower(path.Ext(name)))
}

// external names the other files in which the shape of a part is. A file counts
// when a property links it to a shape representation ("external definition"), or
// when it belongs to a definition of a product and its type, its role or the
// ending of its name says that it holds a shape: a drawing or a specification
// does not.
func (f *file) external(s *Summary) {
	if len(f.kinds[document]) > 0 {
		names := f.documentNames()
		holds := f.shapeDocuments(names)
		for _, i := range f.kinds[document] {
			if holds[int(i)] {
				s.addExternal(names[int(i)])
			}
		}
	}
	sources := map[int]string{}
	for _, i := range f.kinds[externalSource] {
		sources[int(i)] = f.firstText(int(i), "EXTERNAL_SOURCE")
	}
	for _, i := range f.kinds[externalItem] {
		name := sources[f.ref(int(i), externalSource)]
		if name == "" {
			name = f.firstText(int(i), "EXTERNALLY_DEFINED_ITEM")
		}
		s.addExternal(name)
	}
	for _, u := range f.uris {
		s.addExternal(uriFile(f.data[u.from:u.to]))
	}
}

// addExternal lists a name once.
func (s *Summary) addExternal(name string) {
	if name != "" && len(s.External) < maxExternal && !slices.Contains(s.External, name) {
		s.External = append(s.External, name)
	}
}

// maxExternal is more files than anyone sends with one.
const maxExternal = 1000

// uriFile is the name of the file that a resource lies in (edition 3), empty
// where it is in this one or where it points to a web page or a library.
func uriFile(raw []byte) string {
	if len(raw) > maxText {
		return ""
	}
	name, _, _ := strings.Cut(string(raw), "#")
	name, _, _ = strings.Cut(name, "?")
	if p, err := url.PathUnescape(name); err == nil {
		name = p
	}
	name = tidy(strings.ToValidUTF8(name, ""))
	if scheme, rest, ok := strings.Cut(name, ":"); ok && len(scheme) > 1 && !strings.Contains(scheme, "/") {
		if !isShapeFile(name) {
			return ""
		}
		if strings.EqualFold(scheme, "file") {
			return strings.TrimPrefix(rest, "//")
		}
	}
	return name
}

// shapeDocuments are the files that hold the shape of a part, given their names.
func (f *file) shapeDocuments(names map[int]string) map[int]bool {
	is := map[int]bool{}
	types := map[int]string{}
	for _, i := range f.kinds[documentType] {
		types[int(i)] = f.firstText(int(i), "DOCUMENT_TYPE")
	}
	roles := f.documentRoles()
	byType := map[int]bool{}
	for _, i := range f.kinds[document] {
		t := types[f.ref(int(i), documentType)]
		byType[int(i)] = tellsShape(t)
	}
	// By the property.
	properties := map[int]int{}
	for _, i := range f.kinds[property] {
		if d := f.ref(int(i), document); d >= 0 {
			properties[int(i)] = d
		}
	}
	for _, i := range f.kinds[propertyRepresentation] {
		if d, ok := properties[f.ref(int(i), property)]; ok && f.ref(int(i), shapeRepresentation) >= 0 {
			is[d] = true
		}
	}
	// By what it is to a product.
	for _, i := range f.kinds[documentReference] {
		if f.ref(int(i), definition) < 0 {
			continue
		}
		if d := f.ref(int(i), document); d >= 0 && (byType[d] || tellsShape(roles[int(i)]) || isShapeFile(names[d])) {
			is[d] = true
		}
	}
	for _, i := range f.kinds[definition] {
		for d := range f.refs(int(i)) {
			if d >= 0 && f.inst[d].kind == document && (byType[d] || isShapeFile(names[d])) {
				is[d] = true
			}
		}
	}
	return is
}

// tellsShape reports whether a type or a role says that a shape is meant.
func tellsShape(word string) bool {
	word = strings.ToLower(word)
	return strings.Contains(word, "geometry") || strings.Contains(word, "shape")
}

// documentRoles are the roles of references to documents.
func (f *file) documentRoles() map[int]string {
	words := map[int]string{}
	for _, i := range f.kinds[role] {
		words[int(i)] = f.firstText(int(i), "OBJECT_ROLE", "IDENTIFICATION_ROLE")
	}
	of := map[int]string{}
	for _, i := range f.kinds[roleOf] {
		if r := f.ref(int(i), documentReference); r >= 0 {
			of[r] = words[f.ref(int(i), role)]
		}
	}
	return of
}

// location is the role under which the name of a file is identified, by the
// recommended practices for external references.
const location = "external document id and location"

// documentNames are the names of the files: what is said to be the id and
// location, or the document's own id, or any other id or name it has.
func (f *file) documentNames() map[int]string {
	words := map[int]string{}
	for _, i := range f.kinds[role] {
		words[int(i)] = f.firstText(int(i), "OBJECT_ROLE", "IDENTIFICATION_ROLE")
	}
	sure, other := map[int]string{}, map[int]string{}
	for _, i := range f.kinds[identification] {
		name := f.firstText(int(i), "IDENTIFICATION_ASSIGNMENT")
		into := other
		if strings.EqualFold(words[f.ref(int(i), role)], location) {
			into = sure
		}
		for d := range f.refs(int(i)) {
			if d >= 0 && f.inst[d].kind == document && into[d] == "" {
				into[d] = name
			}
		}
	}
	names := map[int]string{}
	for _, i := range f.kinds[document] {
		names[int(i)] = sure[int(i)]
		own := f.texts(int(i), 2, "DOCUMENT")
		for _, name := range []string{own[0], other[int(i)], own[1]} {
			if names[int(i)] == "" {
				names[int(i)] = name
			}
		}
	}
	return names
}

// texts are the first n parameters as text.
func (f *file) texts(i, n int, names ...string) []string {
	out := make([]string, 0, n)
	for v := range f.params(i, names...) {
		if len(out) == n {
			break
		}
		out = append(out, v.str())
	}
	return append(out, make([]string, n-len(out))...)
}

// firstText is the first parameter as text.
func (f *file) firstText(i int, names ...string) string { return f.texts(i, 1, names...)[0] }
