package job

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

// NamesOf returns the names a path is made of.
func NamesOf(path string) []string {
	names := strings.Split(path, "/")
	for i, n := range names {
		names[i] = pathUnescape.Replace(n)
	}
	return names
}

// fieldAt returns the field that a path leads to: one value, or a fact with
// how it is known. An item of a list is none.
func fieldAt(path string) (*field, bool) {
	s := jobShape
	names := NamesOf(path)
	for i := 0; i < len(names); i++ {
		if s == nil {
			return nil, false
		}
		f := s.byName[names[i]]
		if f == nil {
			return nil, false
		}
		last := i == len(names)-1
		switch f.form {
		case scalarForm:
			return f, last
		case recordForm:
			if last {
				return f, f.of.isStated()
			}
		case listForm:
			i++ // the item's name
		case textsForm:
			return nil, false
		}
		s = f.of
	}
	return nil, false
}
