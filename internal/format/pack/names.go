package pack

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits of a name: what every common file system takes below a folder of its own.
const (
	maxName    = 200 // bytes of all of it
	maxElement = 100 // bytes between slashes
	maxFolders = 8
)

// names collects the names of a pack and refuses one that cannot be unpacked beside
// the others on any common system.
type names struct {
	file   map[string]bool // by how a system without case sees it
	folder map[string]bool
}

func newNames() *names {
	n := &names{file: map[string]bool{}, folder: map[string]bool{}}
	n.file[alike(ManifestName)] = true
	return n
}

// alike is a name as a file system that does not tell case apart sees it.
func alike(name string) string { return strings.ToLower(strings.ToUpper(name)) }

func (n *names) add(name string) error {
	const rename = "give it another name"
	if why := badName(name); why != "" {
		return fault(name, rename+", such as model/plate.step", "a file's name %s", why)
	}
	k := alike(name)
	if n.file[k] {
		return fault(name, rename, "two files have this name, or names that differ in case alone")
	}
	if n.folder[k] {
		return fault(name, rename, "a name is a file's and a folder's at once")
	}
	n.file[k] = true
	for i, r := range k {
		if r != '/' {
			continue
		}
		if n.file[k[:i]] {
			return fault(name, rename, "a name is a file's and a folder's at once")
		}
		n.folder[k[:i]] = true
	}
	return nil
}

// reserved are names of devices on systems that have them in every folder, whatever
// follows the first dot.
var reserved = map[string]bool{"con": true, "prn": true, "aux": true, "nul": true}

// badName is what is wrong with a name, as a clause that follows "a file's name";
// empty for a relative path with slashes that stays below its folder everywhere.
func badName(name string) string {
	switch {
	case name == "":
		return "is empty"
	case !utf8.ValidString(name):
		return "is no UTF-8"
	case len(name) > maxName:
		return "is too long"
	case strings.HasPrefix(name, "/"):
		return "begins at the root of a disk"
	case strings.Contains(name, `\`):
		return "has a backslash"
	case strings.Contains(name, ":"):
		return "has a colon, as a drive has"
	}
	for _, r := range name {
		// Format characters turn and hide what is read.
		if unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) || strings.ContainsRune(`<>"|?*`, r) || r == utf8.RuneError {
			return "has a character that not every system takes"
		}
	}
	parts := strings.Split(name, "/")
	if len(parts) > maxFolders {
		return "lies too many folders deep"
	}
	for _, p := range parts {
		stem, _, _ := strings.Cut(strings.ToLower(p), ".")
		stem = strings.TrimRight(stem, " ")
		device := reserved[stem] || len(stem) == 4 && (stem[:3] == "com" || stem[:3] == "lpt") && stem[3] >= '0' && stem[3] <= '9'
		switch {
		case p == "":
			return "has an empty part, or ends with a slash"
		case p == "..":
			return "climbs out of its folder"
		case p == ".":
			return "has a part that is a dot alone"
		case len(p) > maxElement:
			return "has a part that is too long"
		case strings.HasSuffix(p, ".") || strings.HasSuffix(p, " ") || strings.HasPrefix(p, " "):
			return "has a part that begins with a blank or ends with a blank or dot"
		case device:
			return "is that of a device on some systems"
		}
	}
	return ""
}
