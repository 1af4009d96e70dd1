package hear

import (
	"bytes"
	"encoding/json"
	"strconv"
)

// A log of a hundred megabytes is mostly meter values. They are read in place: a
// tree of spans over the line, made anew in the same memory for every message.

// tree is a JSON value laid out flat: a node, then what is inside it.
type tree struct {
	text  []byte
	nodes []node
}

type node struct {
	kind         byte // { [ " 0 t f n
	key          span // of a member of an object
	value        span // without its quotes
	next         int  // the node after this one and all inside it
	escapedValue bool
}

type span struct{ from, to int }

// deepest bounds how deep a message nests: none of the protocol's goes beyond a
// dozen.
const deepest = 60

// The ends of reading a value.
const (
	broken     = -1 // it is no JSON
	incomplete = -2 // it ends in its middle
)

// read reads one value at the front of a text and returns how long it is, or how
// it ended.
func (t *tree) read(text []byte) int {
	t.text, t.nodes = text, t.nodes[:0]
	return t.value(0, span{}, 0)
}

func (t *tree) space(at int) int {
	for at < len(t.text) {
		switch t.text[at] {
		case ' ', '\t', '\r', '\n':
			at++
		default:
			return at
		}
	}
	return at
}

// quoted reads a string whose quote is at a place, and returns its end.
func (t *tree) quoted(at int) (value span, escaped bool, end int) {
	from := at + 1
	for at = from; at < len(t.text); at++ {
		switch t.text[at] {
		case '\\':
			escaped = true
			at++
		case '"':
			return span{from, at}, escaped, at + 1
		case '\n':
			return span{}, false, broken
		}
	}
	return span{}, false, incomplete
}

func (t *tree) value(at int, key span, depth int) int {
	if at = t.space(at); at >= len(t.text) {
		return incomplete
	}
	if depth > deepest {
		return broken
	}
	n := len(t.nodes)
	t.nodes = append(t.nodes, node{kind: t.text[at], key: key})
	switch c := t.text[at]; {
	case c == '"':
		value, escaped, end := t.quoted(at)
		if end < 0 {
			return end
		}
		t.nodes[n].value, t.nodes[n].escapedValue, at = value, escaped, end
	case c == '{' || c == '[':
		from := at
		shut := c + 2 // as it happens in ASCII
		at = t.space(at + 1)
		for first := true; ; first = false {
			if at >= len(t.text) {
				return incomplete
			}
			if t.text[at] == shut {
				break
			}
			if !first {
				if t.text[at] != ',' {
					return broken
				}
				at = t.space(at + 1)
			}
			var name span
			if c == '{' {
				if at >= len(t.text) {
					return incomplete
				}
				if t.text[at] != '"' {
					return broken
				}
				var end int
				if name, _, end = t.quoted(at); end < 0 {
					return end
				}
				if at = t.space(end); at >= len(t.text) {
					return incomplete
				}
				if t.text[at] != ':' {
					return broken
				}
				at++
			}
			end := t.value(at, name, depth+1)
			if end < 0 {
				return end
			}
			at = t.space(end)
		}
		at++
		t.nodes[n].value = span{from, at}
	default:
		from := at
		for at < len(t.text) && bytes.IndexByte([]byte(",]} \t\r\n"), t.text[at]) < 0 {
			at++
		}
		word := t.text[from:at]
		if at == len(t.text) {
			return incomplete
		}
		switch {
		case c == '-' || c >= '0' && c <= '9':
			if _, err := strconv.ParseFloat(string(word), 64); err != nil {
				return broken
			}
			t.nodes[n].kind = '0'
		case string(word) != "true" && string(word) != "false" && string(word) != "null":
			return broken
		}
		t.nodes[n].value = span{from, at}
	}
	t.nodes[n].next = len(t.nodes)
	return at
}

// part is a value within a tree; the zero part is none.
type part struct {
	tree *tree
	at   int
}

func (t *tree) root() part { return part{t, 0} }

func (p part) none() bool { return p.tree == nil }

func (p part) node() *node { return &p.tree.nodes[p.at] }

// each goes through what is inside a value.
func (p part) each(yield func(part) bool) {
	if p.none() || p.node().kind != '{' && p.node().kind != '[' {
		return
	}
	for at, end := p.at+1, p.node().next; at < end; at = p.tree.nodes[at].next {
		if !yield(part{p.tree, at}) {
			return
		}
	}
}

// in is the member of that name, going inside for every name more.
func (p part) in(names ...string) part {
	for _, name := range names {
		found := part{}
		for member := range p.each {
			if key := member.node().key; string(p.tree.text[key.from:key.to]) == name {
				found = member
				break
			}
		}
		if p = found; p.none() {
			return p
		}
	}
	return p
}

// first is the first member of a list, or the value itself where it is none.
func (p part) first() part {
	if p.none() || p.node().kind != '[' {
		return p
	}
	for member := range p.each {
		return member
	}
	return part{}
}

func (p part) raw() []byte {
	if p.none() {
		return nil
	}
	v := p.node().value
	return p.tree.text[v.from:v.to]
}

// word is a text or a number as text; empty for anything else. Stars around a
// word are the emphasis of whoever quoted the log.
func (p part) word() string {
	if p.none() {
		return ""
	}
	switch n := p.node(); n.kind {
	case '"':
		raw := p.raw()
		if n.escapedValue {
			var s string
			if json.Unmarshal(append(append([]byte{'"'}, raw...), '"'), &s) == nil {
				return s
			}
		}
		if len(raw) > 4 && raw[0] == '*' && raw[1] == '*' {
			raw = bytes.Trim(raw, "*")
		}
		return string(raw)
	case '0':
		return string(p.raw())
	}
	return ""
}

// number is a number, or a text that is one.
func (p part) number() (float64, bool) {
	if p.none() || p.node().kind != '"' && p.node().kind != '0' {
		return 0, false
	}
	n, err := strconv.ParseFloat(string(bytes.TrimSpace(p.raw())), 64)
	return n, err == nil && n == n && n-n == 0
}

func (p part) object() bool { return !p.none() && p.node().kind == '{' }
