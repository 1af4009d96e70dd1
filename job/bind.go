package job

// From the tree of fields to a Job, with every fault on the way.

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"chargewright/reading"
	"chargewright/sheet"
	"chargewright/standard"
	"chargewright/trade"
)

// where is a place in the job, for a person: the field, inside what.
type where struct {
	up    *where
	field *Field
	item  int   // counted from 1 in a list; 0 for no item
	node  *node // the item, to find its name in
}

// String returns the place: `circuit "van point", leg 1 (yard wall), length`.
func (w *where) String() string {
	if w == nil {
		return ""
	}
	label := w.field.Name
	if w.item > 0 {
		name := w.name()
		switch {
		case name != "" && w.up == nil:
			label = fmt.Sprintf("%s %q", w.field.One, sheet.Shorten(name))
		case name != "":
			label = fmt.Sprintf("%s %d (%s)", w.field.One, w.item, sheet.Shorten(name))
		default:
			label = fmt.Sprintf("%s %d", w.field.One, w.item)
		}
	}
	if w.up == nil {
		return label
	}
	return w.up.String() + ", " + label
}

// name returns the name of the item, if it has one.
func (w *where) name() string {
	if w.field.Of == nil || w.field.Of.Key == nil || w.node == nil {
		return ""
	}
	if p := w.node.get(w.field.Of.Key); p != nil && p.value.kind == scalar {
		return strings.TrimSpace(p.value.text)
	}
	return ""
}

// binder fills structs from nodes.
type binder struct {
	*faults
	marked []Assumption
}

func (b *binder) fault(w *where, line int, found, want string) {
	if b.full() {
		b.add(Problem{Line: line})
		return
	}
	b.add(Problem{Line: line, Field: w.String(), Found: found, Want: want})
}

// bind reads root into a Job.
func (b *binder) bind(root *node) *Job {
	j := &Job{}
	b.record(root, jobShape, reflect.ValueOf(j).Elem(), nil)
	j.Marked = b.marked
	return j
}

// record fills the struct v of shape s.
func (b *binder) record(n *node, s *Part, v reflect.Value, w *where) {
	switch n.kind {
	case missing, broken:
		return
	case mapping:
	case scalar:
		if right := gluedHere(n.text); right != "" {
			b.fault(w, n.at.line, n.text, right)
			return
		}
		b.fault(w, n.at.line, n.text, "fields are wanted here, each on its own line: "+some(s.names()))
		return
	default:
		b.fault(w, n.at.line, "", "a list stands here; fields are wanted: "+some(s.names()))
		return
	}
	var seen []*pair // by the field's place
	for i := range n.fields {
		p := &n.fields[i]
		f := s.byName[p.key]
		if f == nil {
			b.unknown(p, s, w)
			continue
		}
		if seen == nil {
			seen = make([]*pair, len(s.Fields))
		}
		at := &where{up: w, field: f}
		if before := seen[f.place]; before != nil {
			b.fault(at, p.at.line, "", fmt.Sprintf("it is written twice, first on line %d; once is wanted", before.at.line))
			continue
		}
		seen[f.place] = p
		b.field(p.value, f, f.value(v), at)
	}
}

// field fills one field.
func (b *binder) field(n *node, f *Field, v reflect.Value, w *where) {
	switch f.form {
	case scalarForm:
		b.scalar(n, f.codec, f.limits, v, w)
	case recordForm:
		if !f.Of.isStated() {
			b.record(n, f.Of, v, w)
			return
		}
		b.stated(n, f, v, w)
	case listForm:
		b.list(n, f, v, w)
	case textsForm:
		b.texts(n, f, v, w)
	}
}

// scalar fills a field that is one value.
func (b *binder) scalar(n *node, c *codec, l limits, v reflect.Value, w *where) {
	switch n.kind {
	case missing, broken:
		return
	case scalar:
	case list:
		b.fault(w, n.at.line, "", "a list stands here; "+c.wants())
		return
	default:
		b.fault(w, n.at.line, "", "fields stand here; "+c.wants())
		return
	}
	text := strings.TrimSpace(n.text)
	if text == "" {
		return
	}
	reason, assumed := "", false
	if w.field.assumable {
		text, reason, assumed = splitAssumed(text)
	}
	number, err := c.read(v.Addr().Interface(), text)
	right := ""
	switch {
	case err != nil && l.allowed != nil:
		right = oneOf(l.allowed) + " is wanted"
	case err != nil:
		right = want(err)
		if _, answered := standard.AnswerIn(err); !answered {
			right = elsewhere(w, text, right)
		}
	default:
		right = l.check(text, number)
	}
	switch {
	case right != "":
		v.SetZero()
		b.fault(w, n.at.line, text, right)
	case assumed:
		b.marked = append(b.marked, Assumption{Path: w.path(), Value: text, Reason: reason})
	}
}

// stated fills a fact with how it is known, written short or in full.
func (b *binder) stated(n *node, f *Field, v reflect.Value, w *where) {
	value := f.Of.short
	if n.kind == scalar {
		if text, known, reason, ok := splitStated(n.text); ok {
			b.record(statedNode(f.Of, Entry{}, "", known, reason, n.at), f.Of, v, w)
			n = &node{kind: scalar, text: text, at: n.at}
		}
		if right := wrongBrackets(n.text); right != "" {
			b.fault(w, n.at.line, n.text, right)
			return
		}
		b.scalar(n, value.codec, f.limits, value.value(v), w)
		return
	}
	if n.kind == list {
		b.scalar(n, value.codec, f.limits, value.value(v), w)
		return
	}
	b.record(n, f.Of, v, w)
	if p := n.get(value); p != nil { // once more, for the field's own limits
		if q := value.value(v); !q.IsZero() {
			b.scalar(p.value, value.codec, f.limits, q, w)
		}
	}
}

// list fills a list of records. Every item of the file has its place in the
// list, so that line numbers can be found for it later.
func (b *binder) list(n *node, f *Field, v reflect.Value, w *where) {
	switch n.kind {
	case missing, broken:
		return
	case list:
	default:
		b.fault(w, n.at.line, "", "a list is wanted: start each "+f.One+" on a line of its own with a dash")
		return
	}
	if len(n.items) == 0 {
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	var names map[string]int
	for i, item := range n.items {
		at := &where{up: w.up, field: f, item: i + 1, node: item}
		b.record(item, f.Of, v.Index(i), at)
		key := f.Of.Key
		if key == nil || item.kind == broken {
			continue
		}
		line := item.at.line
		if item.kind != mapping && item.kind != missing {
			continue // said already
		}
		name := at.name()
		if name == "" {
			if p := item.get(key); p == nil || p.value.kind == missing || p.value.kind == scalar {
				b.fault(at, line, "", "a line with "+key.Name+": is wanted, to tell it from the others")
			}
			continue
		}
		if names == nil {
			names = map[string]int{}
		}
		if first, ok := names[name]; ok {
			b.fault(at, item.get(key).at.line, "", fmt.Sprintf("the %s on line %d has the same %s; one of its own is wanted", f.One, first, key.Name))
			continue
		}
		names[name] = line
	}
}

// texts fills a list of words.
func (b *binder) texts(n *node, f *Field, v reflect.Value, w *where) {
	switch n.kind {
	case missing, broken:
		return
	case list:
	default:
		b.fault(w, n.at.line, n.text, "a list is wanted: start each "+f.One+" on a line of its own with a dash")
		return
	}
	for i, item := range n.items {
		at := &where{up: w.up, field: f, item: i + 1}
		var text string
		b.scalar(item, f.codec, f.limits, reflect.ValueOf(&text).Elem(), at)
		if text == "" {
			continue
		}
		if slices.Contains(v.Interface().([]string), text) {
			b.fault(at, item.at.line, text, "it is in the list twice; once is wanted")
			continue
		}
		v.Set(reflect.Append(v, reflect.ValueOf(text)))
	}
}

// unknown reports a field that is none, at its own line.
func (b *binder) unknown(p *pair, s *Part, w *where) {
	if b.full() {
		b.add(Problem{Line: p.at.line})
		return
	}
	place := fmt.Sprintf("%q", sheet.Shorten(p.key))
	if w != nil {
		place = w.String() + ", " + place
	}
	right := ""
	if near := reading.Near(p.key, s.names()); near != "" {
		right = "no field of that name; the nearest is " + near
	} else if under := s.holder(p.key); under != "" {
		right = "no field of that name here; it goes under " + under
	} else {
		right = "no field of that name; the fields here are " + some(s.names())
	}
	b.add(Problem{Line: p.at.line, Field: place, Want: right})
}

// holder returns the field of s that has a field of the given name under it.
func (s *Part) holder(name string) string {
	for _, f := range s.Fields {
		if f.Of != nil && !f.Of.isStated() && f.Of.byName[name] != nil {
			return f.Name
		}
	}
	return ""
}

// splitStated reads a fact written on one line with how it is known behind it:
// "0.18 Ω (measured)", "25 m (assumed, drawing not to hand)".
func splitStated(s string) (text, known, reason string, ok bool) {
	s = strings.TrimSpace(s)
	open := strings.Index(s, "(")
	if open < 0 || !strings.HasSuffix(s, ")") {
		return "", "", "", false
	}
	known, reason, _ = strings.Cut(s[open+1:len(s)-1], ",")
	known, reason = strings.TrimSpace(known), strings.TrimSpace(reason)
	if _, err := parseWord[trade.HowKnown](known); err != nil && known != "" {
		return "", "", "", false
	}
	return strings.TrimSpace(s[:open]), known, reason, true
}

// wrongBrackets says what is wanted in the brackets behind a value, when what
// stands there is no way of knowing it.
func wrongBrackets(s string) string {
	_, inside, ok := strings.Cut(strings.TrimSpace(s), "(")
	if !ok || !strings.HasSuffix(inside, ")") {
		return ""
	}
	known, _, _ := strings.Cut(strings.TrimSuffix(inside, ")"), ",")
	return "in the brackets " + notAmong(known, trade.HowKnown("").Values()).Error()
}

// statedNode returns a stated fact in full, without its value.
func statedNode(s *Part, e Entry, text, known, reason string, at place) *node {
	n := &node{kind: mapping, at: at}
	put := func(name, text string) {
		if text != "" {
			n.fields = append(n.fields, pair{key: name, at: at, value: &node{kind: scalar, text: text, at: at}})
		}
	}
	put(s.short.Name, text)
	put("known by", known)
	put("who", e.Who)
	put("when", e.When)
	put("instrument", e.Instrument)
	put("reason", reason)
	return n
}
