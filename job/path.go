package job

// Paths: where in a job a fact belongs.

import "strings"

var (
	pathEscape   = strings.NewReplacer("~", "~0", "/", "~1")
	pathUnescape = strings.NewReplacer("~1", "/", "~0", "~")
)

// under returns the path of name under another path.
func under(path, name string) string {
	name = pathEscape.Replace(name)
	if path == "" {
		return name
	}
	return path + "/" + name
}

// splitPath returns the names a path is made of.
func splitPath(path string) []string {
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
	names := splitPath(path)
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
