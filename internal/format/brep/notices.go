package brep

import "strings"

// Notices are the texts that go with the kernel in the binary: whose it is,
// what was changed, the licences. Empty in a build that has none.
func Notices() string {
	var b strings.Builder
	for _, name := range []string{"NOTICE.txt", "occt-import-js-license.txt", "occt-license.txt"} {
		text, err := built.ReadFile("module/" + name)
		if err != nil {
			continue
		}
		if b.Len() > 0 {
			b.WriteString("\n" + strings.Repeat("-", 72) + "\n" + name + "\n\n")
		}
		b.WriteString(strings.TrimSpace(string(text)) + "\n")
	}
	return b.String()
}
