package works

// Paths: where in a job a fact belongs.

import "strings"

var (
	pathEscape   = strings.NewReplacer("~", "~0", "/", "~1")
	pathUnescape = strings.NewReplacer("~1", "/", "~0", "~")
)

// Under returns the path of name under another path. A slash in the name is
// written ~1 and a tilde ~0, as in RFC 6901.
func Under(path, name string) string {
	name = pathEscape.Replace(name)
	if path == "" {
		return name
	}
	return path + "/" + name
}

// Within reports that a path is that of a part, or of something in it. All is
// within the job as a whole, which is the empty path.
func Within(path, part string) bool {
	return part == "" || path == part || len(path) > len(part) && path[:len(part)] == part && path[len(part)] == '/'
}

// Innermost returns which of some parts a path lies deepest in, the first of
// those that are as deep; -1 for none.
func Innermost(path string, parts []string) int {
	at := -1
	for i, part := range parts {
		if Within(path, part) && (at < 0 || len(part) > len(parts[at])) {
			at = i
		}
	}
	return at
}

// NamesOf returns the names a path is made of.
func NamesOf(path string) []string {
	names := strings.Split(path, "/")
	for i, n := range names {
		names[i] = pathUnescape.Replace(n)
	}
	return names
}
