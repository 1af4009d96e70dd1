package job

import (
	"chargewright/works"
)

// What a path of the record leads to.

// FieldAt returns the field that a path leads to: a value, a part or a list;
// nil for an item of a list, and for what is no field.
func FieldAt(path string) *Field {
	f, item, rest := lead(path)
	if item || rest {
		return nil
	}
	return f
}

// PartAt returns the fields of the part or item that a path leads to, those of
// the job for an empty one; nil where it leads elsewhere.
func PartAt(path string) *Part {
	if path == "" {
		return jobShape
	}
	f, item, rest := lead(path)
	if f == nil || rest || f.form == listForm && !item {
		return nil
	}
	return f.Of
}

// lead follows a path to the last field on it, whether to an item of that, and
// whether more names follow that lead nowhere.
func lead(path string) (f *Field, item, rest bool) {
	s := jobShape
	names := works.NamesOf(path)
	for i := 0; i < len(names); i++ {
		if item = false; s == nil || s.Named(names[i]) == nil {
			return f, false, true
		}
		f = s.Named(names[i])
		if f.List() && i+1 < len(names) {
			i++
			item = true
		}
		s = f.Of
	}
	return f, item, false
}
