package tongue

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// gathered are the English sentences of the code.
type gathered struct {
	catalog
	faults []string // calls from which no sentence can be taken
}

// file is a parsed file with its name, without "internal" before it.
type file struct {
	name string
	*ast.File
}

// gather reads the packages below the folders.
func gather(root string, folders ...string) (*gathered, error) {
	g := &gathered{catalog: catalog{Tag: "en", Name: "English", Says: map[string]string{}, Counts: map[string]map[string]string{}, Where: map[string]string{}}}
	packages := map[string][]file{}
	fset := token.NewFileSet()
	for _, folder := range folders {
		err := filepath.WalkDir(filepath.Join(root, folder), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			f, err := parser.ParseFile(fset, path, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			name, err := filepath.Rel(root, path)
			dir := filepath.Dir(path)
			// "internal" would stand before all of them.
			packages[dir] = append(packages[dir], file{strings.TrimPrefix(filepath.ToSlash(name), "internal/"), f})
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	for _, dir := range slices.Sorted(maps.Keys(packages)) {
		if files := packages[dir]; speaks(files) {
			p := room{gathered: g, fset: fset, files: files, consts: map[string]string{}, keys: map[string][]int{}}
			p.read()
		}
	}
	for english, where := range g.Where {
		names := strings.Split(where, ", ")
		slices.Sort(names)
		g.Where[english] = strings.Join(slices.Compact(names), ", ")
	}
	return g, nil
}

// speaks reports whether a package has to do with tongues.
func speaks(files []file) bool {
	for _, f := range files {
		if f.Name.Name == "tongue" {
			return true
		}
		for _, imp := range f.Imports {
			if imp.Path.Value == `"fettle/internal/output/tongue"` {
				return true
			}
		}
	}
	return false
}

// room is a package that is read.
type room struct {
	*gathered
	fset   *token.FileSet
	files  []file
	consts map[string]string
	// keys are the functions that hand a parameter of theirs to Say or Count, with the
	// places of these parameters: the first is the key for many or for all, a second
	// one that for one. A method is known as ".name".
	keys map[string][]int
}

func (p *room) read() {
	for _, f := range p.files {
		for _, d := range f.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.CONST {
				continue
			}
			for _, s := range g.Specs {
				v := s.(*ast.ValueSpec)
				for i, n := range v.Names {
					if i < len(v.Values) {
						if text, ok := p.literal(v.Values[i]); ok {
							p.consts[n.Name] = text
						}
					}
				}
			}
		}
	}
	p.keys[".Say"], p.keys[".Count"] = []int{0}, []int{2, 1}
	for known := -1; known < len(p.keys); { // until no further one is found
		known = len(p.keys)
		for _, f := range p.files {
			for _, d := range f.Decls {
				if fn, ok := d.(*ast.FuncDecl); ok && fn.Body != nil {
					p.forwards(f, fn)
				}
			}
		}
	}
	for _, f := range p.files {
		for _, d := range f.Decls {
			own := map[string]int{}
			if fn, ok := d.(*ast.FuncDecl); ok {
				own = parameters(fn)
			}
			ast.Inspect(d, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.CallExpr:
					p.call(f, own, n)
				case *ast.CompositeLit:
					p.table(f, n)
				}
				return true
			})
		}
	}
}

// parameters are the places of a function's string parameters.
func parameters(fn *ast.FuncDecl) map[string]int {
	at, out := 0, map[string]int{}
	for _, field := range fn.Type.Params.List {
		for _, n := range field.Names {
			if t, ok := field.Type.(*ast.Ident); ok && t.Name == "string" {
				out[n.Name] = at
			}
			at++
		}
	}
	return out
}

func named(fn *ast.FuncDecl) string {
	if fn.Recv != nil {
		return "." + fn.Name.Name
	}
	return fn.Name.Name
}

// places are those of the keys in a call's arguments.
func (p *room) places(f file, call *ast.CallExpr) []int {
	fun := call.Fun
	switch g := fun.(type) { // a generic function with its types
	case *ast.IndexExpr:
		fun = g.X
	case *ast.IndexListExpr:
		fun = g.X
	}
	name := ""
	switch fun := fun.(type) {
	case *ast.Ident:
		name = fun.Name
	case *ast.SelectorExpr:
		if x, ok := fun.X.(*ast.Ident); ok && imported(f, x.Name) {
			return nil // strings.Count
		}
		name = "." + fun.Sel.Name
	}
	places := p.keys[name]
	if len(places) == 0 || slices.Max(places) >= len(call.Args) {
		return nil
	}
	return places
}

func imported(f file, name string) bool {
	for _, imp := range f.Imports {
		path, _ := strconv.Unquote(imp.Path.Value)
		if imp.Name != nil && imp.Name.Name == name || imp.Name == nil && filepath.Base(path) == name {
			return true
		}
	}
	return false
}

// forwards finds out whether a function hands its own parameters on as keys.
func (p *room) forwards(f file, fn *ast.FuncDecl) {
	name, own := named(fn), parameters(fn)
	if name == ".Say" || name == ".Count" || p.keys[name] != nil {
		return
	}
	ast.Inspect(fn.Body, func(n ast.Node) bool {
		call, ok := n.(*ast.CallExpr)
		if !ok || p.keys[name] != nil {
			return true
		}
		var mine []int
		for _, at := range p.places(f, call) {
			if id, ok := call.Args[at].(*ast.Ident); ok {
				if i, ok := own[id.Name]; ok {
					mine = append(mine, i)
				}
			}
		}
		if len(mine) > 0 {
			p.keys[name] = mine
		}
		return true
	})
}

// call takes the sentence of a call.
func (p *room) call(f file, own map[string]int, call *ast.CallExpr) {
	if len(call.Args) == 1 {
		if text, ok := p.literal(call.Args[0]); ok && isKey(f, call.Fun) {
			p.put(f, text)
		}
	}
	var texts []string
	for _, at := range p.places(f, call) {
		text, ok := p.literal(call.Args[at])
		if !ok {
			if id, is := call.Args[at].(*ast.Ident); is {
				if _, mine := own[id.Name]; mine {
					return // its callers are asked
				}
			}
			p.fault(call, "the sentence is no literal, so that no translator can see it")
			return
		}
		texts = append(texts, text)
	}
	switch len(texts) {
	case 0:
		return
	case 1:
		p.put(f, texts[0])
	case 2:
		p.count(f, call, texts[1], texts[0])
	}
	if sel, ok := call.Fun.(*ast.SelectorExpr); ok && call.Ellipsis == token.NoPos {
		before := map[string]int{"Say": 1, "Count": 2}[sel.Sel.Name]
		if before > 0 {
			p.agrees(f, call, texts[0], len(call.Args)-before)
		}
	}
}

// agrees checks that a sentence takes as many arguments as it is given.
func (p *room) agrees(f file, call *ast.CallExpr, english string, given int) {
	most := 0
	for _, v := range verbs(english) {
		most = max(most, v.arg)
	}
	if most != given {
		p.fault(call, fmt.Sprintf("%q takes %d arguments and is given %d", english, most, given))
	}
}

// isKey recognises tongue.Key, and in its own room Key.
func isKey(f file, fun ast.Expr) bool {
	switch fun := fun.(type) {
	case *ast.Ident:
		return fun.Name == "Key" && f.Name.Name == "tongue"
	case *ast.SelectorExpr:
		x, ok := fun.X.(*ast.Ident)
		return ok && x.Name == "tongue" && fun.Sel.Name == "Key"
	}
	return false
}

// table takes the sentences of a map or a list of keys.
func (p *room) table(f file, lit *ast.CompositeLit) {
	var of ast.Expr
	switch t := lit.Type.(type) {
	case *ast.MapType:
		of = t.Value
	case *ast.ArrayType:
		of = t.Elt
	}
	if of == nil || !isKey(f, of) {
		return
	}
	for _, e := range lit.Elts {
		if kv, ok := e.(*ast.KeyValueExpr); ok {
			e = kv.Value
		}
		if text, ok := p.literal(e); ok {
			p.put(f, text)
		}
	}
}

// literal is the text of a literal, of several added, or of a constant.
func (p *room) literal(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		return s, err == nil && e.Kind == token.STRING
	case *ast.ParenExpr:
		return p.literal(e.X)
	case *ast.BinaryExpr:
		a, okA := p.literal(e.X)
		b, okB := p.literal(e.Y)
		return a + b, okA && okB && e.Op == token.ADD
	case *ast.Ident:
		s, ok := p.consts[e.Name]
		return s, ok
	}
	return "", false
}

func (p *room) fault(call *ast.CallExpr, says string) {
	p.faults = append(p.faults, fmt.Sprintf("%s: %s", p.fset.Position(call.Pos()), says))
}

// put notes a sentence; a bare argument and nothing at all are none.
func (p *room) put(f file, english string) {
	if english == "" || english == "%s" {
		return
	}
	if _, err := takes(english); err != nil {
		p.faults = append(p.faults, fmt.Sprintf("%s: %v", f.name, err))
	}
	p.Says[english] = ""
	p.stands(f, english)
}

// count notes a sentence that turns with a number.
func (p *room) count(f file, call *ast.CallExpr, one, many string) {
	// Both "1 piece" and "%d piece" may stand for one.
	same := func(a, b string) bool { return strings.ReplaceAll(a, "%d", "1") == strings.ReplaceAll(b, "%d", "1") }
	if was, ok := p.Counts[many]; ok && !same(was["one"], one) {
		p.fault(call, fmt.Sprintf("%q stands beside %q for one, and elsewhere beside %q", many, one, was["one"]))
	}
	want, err := takes(many)
	got, err2 := takes(one)
	less := slices.DeleteFunc(slices.Clone(want), func(s string) bool { return strings.HasPrefix(s, "01") })
	if err != nil || err2 != nil || !slices.Equal(got, want) && !slices.Equal(got, less) {
		p.fault(call, fmt.Sprintf("%q takes %v where %q takes %v (%v, %v)", one, got, many, want, err2, err))
	}
	if p.Counts[many] == nil {
		p.Counts[many] = map[string]string{"one": one, "other": many}
	}
	p.stands(f, many)
}

// stands notes the file in which a sentence stands.
func (p *room) stands(f file, english string) {
	if p.Where[english] != "" {
		p.Where[english] += ", "
	}
	p.Where[english] += f.name
}
