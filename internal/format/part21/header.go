package part21

import "strings"

// header reads the header's records (clause 8.2).
func (f *file) headerInto(s *Summary) {
	for _, at := range f.head {
		d := f.data[at:]
		i := keyword(d, 0)
		params := each(brackets(d, i))
		switch strings.ToUpper(string(d[:min(i, maxKeyword)])) {
		case "FILE_NAME":
			// name, time stamp, author, organization, preprocessor, originating
			// system, authorization.
			n := 0
			for v := range params {
				switch n {
				case 0:
					s.Name = v.str()
				case 5:
					s.System = v.str()
				}
				n++
			}
		case "FILE_SCHEMA":
			for v := range params {
				if v.form != list {
					continue
				}
				for name := range each(v.raw) {
					if len(s.Schemas) == maxSchemas {
						break
					}
					// The object identifier stands in braces behind the name.
					schema, _, _ := strings.Cut(name.str(), "{")
					if schema = strings.TrimSpace(schema); schema != "" {
						s.Schemas = append(s.Schemas, schema)
					}
				}
			}
		}
	}
	s.Protocol = protocol(s.Schemas)
}

// maxSchemas is more than any file governs itself by.
const maxSchemas = 64

// protocol is the application protocol that schemas belong to. AP203 was called
// CONFIG_CONTROL_DESIGN in its first edition, and in its second either
// CONFIGURATION_CONTROL_3D_DESIGN_ED2 or by its number; AP214 is
// AUTOMOTIVE_DESIGN.
func protocol(schemas []string) string {
	for _, name := range schemas {
		switch u := strings.ToUpper(name); {
		case strings.Contains(u, "AP242"):
			return "AP242"
		case strings.Contains(u, "AP214"), strings.HasPrefix(u, "AUTOMOTIVE_DESIGN"):
			return "AP214"
		case strings.Contains(u, "AP203"), strings.HasPrefix(u, "CONFIG_CONTROL_DESIGN"), strings.HasPrefix(u, "CONFIGURATION_CONTROL"):
			return "AP203"
		}
	}
	if len(schemas) > 0 {
		return schemas[0]
	}
	return ""
}
