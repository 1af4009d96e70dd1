package job

// A job file that a person and the program both write in: the program changes
// only what it was asked to change, and every comment stays where it was.

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"chargewright/reading"
	"chargewright/works"
)

// File is a job file with its text.
type File struct {
	name     string
	text     []byte
	root     *node
	job      *Job
	problems Problems
}

// ReadRecord reads a job file and keeps its text, so that it can be added to.
// An error is Problems; the File is there all the same unless the text could
// not be read at all, so that nothing entered is lost and faults can be put
// right with Set.
func ReadRecord(name string, text []byte) (*File, error) {
	f := &File{name: name, text: slices.Clone(text)}
	f.job, f.root, f.problems = read(name, text)
	if f.root == nil {
		return nil, asError(f.problems)
	}
	return f, asError(f.problems)
}

// Bytes returns the text of the file.
func (f *File) Bytes() []byte { return slices.Clone(f.text) }

// Job returns what the file says. An error is Problems; see Read.
func (f *File) Job() (*Job, error) { return f.job, asError(f.problems) }

// Record returns the file as entries. The same file read twice gives the same
// entries. What names no field is no entry.
func (f *File) Record() *Record {
	var sc scatter
	sc.record(f.root, jobShape, "", Entry{})
	return NewRecord(sc.entries...)
}

// Get returns the text at a path, and whether anything is written there. Items
// of a list go by name or by number, counted from 1.
func (f *File) Get(path string) (string, bool) {
	n, s := f.root, jobShape
	names := works.NamesOf(path)
	for i := 0; i < len(names); i++ {
		fd := s.byName[names[i]]
		p := n.get(fd)
		if p == nil {
			return "", false
		}
		n = p.value
		if fd.form >= listForm {
			if i++; i == len(names) {
				return "", false
			}
			k := itemAt(n, fd, names[i])
			if k < 0 {
				return "", false
			}
			n = n.items[k]
		}
		last := i == len(names)-1
		switch {
		case fd.form == recordForm && fd.Of.isStated():
			part := fd.Of.short
			if !last {
				part = fd.Of.byName[names[i+1]]
			}
			if i < len(names)-2 {
				return "", false
			}
			return partOf(n, fd.Of, part)
		case last:
			text := textOf(n)
			return text, text != ""
		case fd.Of == nil:
			return "", false
		}
		s = fd.Of
	}
	return "", false
}

// partOf returns the text of a part of a fact that says how it is known.
func partOf(n *node, s *Part, part *Field) (string, bool) {
	if part == nil {
		return "", false
	}
	if n.kind == mapping {
		text := textAt(n, part)
		return text, text != ""
	}
	text := textOf(n)
	if part != s.short {
		value, known, reason, _ := splitStated(text)
		text = textAt(statedNode(s, Entry{}, value, known, reason, place{}), part)
	}
	return text, text != ""
}

// Field is one field of an item to append: {"value", "0.35 Ω"}.
type Given struct{ Name, Value string }

// Set writes a value at a path. Only the value's own text changes, or a line
// is added in its place; everything else stays as it was, letter for letter. A
// value that cannot stand there is refused with Problems and the file is left
// as it was. An empty value says that the fact is not known.
func (f *File) Set(path, value string) error {
	if _, err := f.fieldOf(path, false); err != nil {
		return err
	}
	value = tidy(value)
	if now, _ := f.Get(path); now == value {
		return nil
	}
	return f.change(path, &node{kind: scalar, text: value}, false)
}

// Append adds an item at the end of the list at a path: a reading, a leg. A
// list of words takes one Field without a name. It refuses as Set does.
func (f *File) Append(path string, fields ...Given) error {
	leaf, err := f.fieldOf(path, true)
	if err != nil {
		return err
	}
	item := &node{kind: mapping}
	if leaf.form == textsForm {
		if len(fields) != 1 || fields[0].Name != "" {
			return f.refuse(path, "one value without a name is wanted")
		}
		item = &node{kind: scalar, text: tidy(fields[0].Value)}
	}
	for _, in := range fields {
		if item.kind == scalar {
			break
		}
		fd := leaf.Of.byName[in.Name]
		switch {
		case fd == nil:
			return f.refuse(works.Under(path, in.Name), "%s", noField(in.Name, leaf.Of))
		case item.get(fd) != nil:
			return f.refuse(works.Under(path, in.Name), "it is given twice; once is wanted")
		case fd.form != scalarForm:
			return f.refuse(works.Under(path, in.Name), "it is no single value; set it once the item is there")
		}
		if value := tidy(in.Value); value != "" {
			item.fields = append(item.fields, pair{key: fd.Name, value: &node{kind: scalar, text: value}})
		}
	}
	if item.kind == mapping {
		slices.SortStableFunc(item.fields, func(a, b pair) int {
			return leaf.Of.byName[a.key].place - leaf.Of.byName[b.key].place
		})
	}
	if item.kind == mapping && len(item.fields) == 0 || item.kind == scalar && item.text == "" {
		return f.refuse(path, "nothing was given to append")
	}
	return f.change(path, item, true)
}

// Add adds an item at the end of the list at a path: a Run to "runs". It
// refuses as Set does.
func (f *File) Add(list string, item any) error {
	leaf, err := f.fieldOf(list, true)
	if err != nil {
		return err
	}
	return f.change(list, itemNode(leaf, item), true)
}

// itemNode returns what is known of an item of a list, as a tree.
func itemNode(list *Field, item any) *node {
	v := reflect.New(list.Of.typ).Elem()
	v.Set(reflect.ValueOf(item))
	return recordNode(list.Of, v)
}

// refuse returns a fault of a path.
func (f *File) refuse(path, format string, args ...any) error {
	return Problems{{File: f.name, Field: path, Want: fmt.Sprintf(format, args...)}}
}

// noField says which fields there are instead.
func noField(name string, s *Part) string {
	if near := reading.Near(name, s.names()); near != "" {
		return "no field of that name; the nearest is " + near
	}
	return "no field of that name; the fields here are " + some(s.names())
}

// fieldOf returns the field a path leads to: a list, or else one value.
func (f *File) fieldOf(path string, toList bool) (*Field, error) {
	s := jobShape
	names := works.NamesOf(path)
	for i := 0; ; i++ {
		if s == nil {
			return nil, f.refuse(path, "the path leads on beyond a value")
		}
		fd := s.byName[names[i]]
		if fd == nil {
			return nil, f.refuse(path, "%s", noField(names[i], s))
		}
		last := i == len(names)-1
		switch fd.form {
		case scalarForm:
			if last && !toList {
				return fd, nil
			}
		case recordForm:
			if last && !toList && fd.Of.isStated() {
				return fd, nil
			}
		case listForm, textsForm:
			if last && toList {
				return fd, nil
			}
			if i++; i == len(names)-1 && fd.form == textsForm && !toList {
				return fd, nil
			}
		}
		if i >= len(names)-1 {
			switch {
			case toList:
				return nil, f.refuse(path, "the path leads to no list")
			case fd.Of != nil:
				return nil, f.refuse(path, "the path leads to several fields; one is wanted: %s", some(fd.Of.names()))
			}
			return nil, f.refuse(path, "the path leads to a list; an item's number is wanted")
		}
		s = fd.Of
	}
}

// change puts content at a path, or at the end of the list there, and keeps
// the change only if the file then says what it was asked to say, and the rest
// says what it said before.
func (f *File) change(path string, content *node, toList bool) error {
	if f.root.kind != mapping && f.root.kind != missing {
		return f.refuse(path, "%s", errLayout)
	}
	e := newEdit(f.text)
	if err := e.put(f.root, works.NamesOf(path), content); err != nil {
		return f.refuse(path, "%s", err)
	}
	next, err := ReadRecord(f.name, e.out)
	if next == nil {
		return f.refuse(path, "%s (%s)", errLayout, firstLine(err))
	}
	if fresh := f.fresh(next); fresh != nil {
		return fresh
	}
	if !toList {
		if now, _ := next.Get(renamed(path, content.text)); now != content.text {
			return f.refuse(path, "%s", errLayout)
		}
	}
	but := 1
	if toList {
		but = 0
	}
	if !f.keptBy(next, but) {
		return f.refuse(path, "%s", errLayout)
	}
	*f = *next
	return nil
}

// renamed returns where a path leads once its value is text: elsewhere, if the
// value is the name of the item it belongs to.
func renamed(path, text string) string {
	names := works.NamesOf(path)
	s := jobShape
	for i := 0; i < len(names)-1; i++ {
		f := s.byName[names[i]]
		if f.form == listForm {
			i++
			if i == len(names)-2 && f.Of.Key != nil && f.Of.byName[names[i+1]] == f.Of.Key {
				last := func(item string) string { return works.Under(works.Under("", item), names[i+1]) }
				return strings.TrimSuffix(path, last(names[i])) + last(text)
			}
		}
		s = f.Of
		if s == nil {
			break
		}
	}
	return path
}

func firstLine(err error) string {
	line, _, _ := strings.Cut(err.Error(), "\n")
	return line
}

// fresh returns the faults of next that f did not have. That something is
// still missing beside what was written is no fault of the writing.
func (f *File) fresh(next *File) error {
	type what struct{ field, found, want string }
	had := map[what]int{}
	for _, p := range f.problems {
		had[what{p.Field, p.Found, p.Want}]++
	}
	var out Problems
	for _, p := range next.problems {
		w := what{p.Field, p.Found, p.Want}
		if had[w] > 0 {
			had[w]--
		} else if !p.Unfinished() {
			if bytes.Count(next.text, []byte("\n")) != bytes.Count(f.text, []byte("\n")) {
				p.Line = 0 // a line of the file as it would be, not as it is
			}
			out = append(out, p)
		}
	}
	return asError(out)
}

// keptBy reports that next still says all that f said, but for so many values.
func (f *File) keptBy(next *File, but int) bool {
	was, is := map[string]string{}, map[string]string{}
	spell(f.root, "", was)
	spell(next.root, "", is)
	changed := 0
	for at, text := range was {
		if is[at] != text {
			changed++
		}
	}
	return changed <= but
}

// spell notes every value of a tree under its place, items by number.
func spell(n *node, path string, into map[string]string) {
	switch n.kind {
	case scalar:
		into[path] = n.text
	case mapping:
		for i, p := range n.fields {
			if slices.ContainsFunc(n.fields[:i], func(q pair) bool { return q.key == p.key }) {
				continue
			}
			spell(p.value, works.Under(path, p.key), into)
		}
	case list:
		for i, item := range n.items {
			spell(item, fmt.Sprintf("%s/%d", path, i+1), into)
		}
	}
}
