package threemf

import (
	"strings"

	"fettle/internal/format/intake"
)

// shown is a part's name for a message.
func shown(name string) string { return intake.Printable([]byte(name)) }

// modelPart finds the part that the package's relationships call the model, or
// the first model under 3D where they do not say (Open Packaging Conventions,
// ECMA-376 part 2).
func modelPart(a *intake.Archive) (string, error) {
	if a.Has("_rels/.rels") {
		d, err := a.Unpack("_rels/.rels")
		if err != nil {
			return "", err
		}
		if target, err := relation(d); err != nil {
			return "", err
		} else if target != "" && a.Has(target) {
			return target, nil
		}
	}
	for _, n := range a.Names() {
		if strings.HasPrefix(n, "3d/") && strings.HasSuffix(n, ".model") {
			return n, nil
		}
	}
	what := "this zip file holds no 3D model"
	if a.Has("[content_types].xml") {
		what = "this package holds no 3D model"
	}
	return "", &intake.Fault{Format: format, What: what, Try: "unpack it, or export the part as 3MF or STL"}
}

// relation finds the model in a text of relationships.
func relation(d []byte) (string, error) {
	s := newScanner("_rels/.rels", d)
	found := ""
	for tok := s.next(); tok != done; tok = s.next() {
		if tok != open {
			continue
		}
		if _, n := local(s.name); string(n) != "Relationship" {
			continue
		}
		var typ, target string
		for k, v, ok := s.attr(); ok; k, v, ok = s.attr() {
			switch string(k) {
			case "Type":
				typ = plain(v)
			case "Target":
				target = plain(v)
			}
		}
		if strings.HasSuffix(typ, "/3dmodel") && found == "" {
			found = intake.ArchiveKey(target)
		}
	}
	return found, s.err
}
