package job

// Writing a job as a job file.

import (
	"reflect"
	"strings"
)

// Write returns the job as a tidy job file: what is known, in the order of the
// published schema, each value so that Read gives it back unchanged.
func Write(j *Job) []byte {
	out := *j
	if !out.EditionStated {
		out.Edition = ""
	}
	n := wholeNode(&out)
	if len(n.fields) == 0 || n.fields[0].key != jobShape.Fields[0].Name {
		n.fields = append([]pair{{key: jobShape.Fields[0].Name, value: nothing}}, n.fields...)
	}
	var b strings.Builder
	for i, p := range n.fields {
		if i > 0 && (p.value.kind == mapping || p.value.kind == list) {
			b.WriteByte('\n') // parts stand apart
		}
		printPair(&b, p, 0)
	}
	return []byte(b.String())
}

// wholeNode returns what is known of a job, as a tree, with what is assumed of it.
func wholeNode(j *Job) *node {
	n := recordNode(jobShape, reflect.ValueOf(j).Elem())
	markAssumed(n, j.Marked)
	return n
}

// recordNode returns what is known of the struct v, as a tree.
func recordNode(s *Part, v reflect.Value) *node {
	n := &node{kind: mapping}
	for _, f := range s.Fields {
		if value := fieldNode(f, f.value(v)); value != nil {
			n.fields = append(n.fields, pair{key: f.Name, value: value})
		}
	}
	return n
}

// fieldNode returns what is known of one field, nil when nothing is.
func fieldNode(f *Field, v reflect.Value) *node {
	switch f.form {
	case scalarForm:
		if text := tidy(f.codec.write(v.Addr().Interface())); text != "" {
			return &node{kind: scalar, text: text}
		}
	case recordForm:
		n := recordNode(f.Of, v)
		if len(n.fields) == 0 {
			return nil
		}
		if f.Of.isStated() {
			return shortest(f.Of, n)
		}
		return n
	case listForm:
		if v.Len() > 0 {
			n := &node{kind: list}
			for i := range v.Len() {
				n.items = append(n.items, recordNode(f.Of, v.Index(i)))
			}
			return n
		}
	case textsForm:
		n := &node{kind: list}
		for i := range v.Len() {
			if text := tidy(v.Index(i).String()); text != "" {
				n.items = append(n.items, &node{kind: scalar, text: text})
			}
		}
		if len(n.items) > 0 {
			return n
		}
	}
	return nil
}

// shortest writes a stated fact on one line where nothing is lost by it.
func shortest(s *Part, n *node) *node {
	value, known := n.get(s.short), n.get(s.byName["known by"])
	switch {
	case value != nil && len(n.fields) == 1:
		return value.value
	case value != nil && known != nil && len(n.fields) == 2:
		return &node{kind: scalar, text: statedText(value.value.text, known.value.text, "")}
	}
	return n
}

// statedText writes a fact with how it is known behind it, as splitStated reads it.
func statedText(value, known, reason string) string {
	switch {
	case known == "" && reason == "":
		return value
	case reason != "":
		known += ", " + reason
	}
	return strings.TrimSpace(value + " (" + known + ")")
}
