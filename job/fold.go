package job

// Between a tree of fields and a record: a tree taken apart into entries, and
// entries folded into a tree.

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"
)

// Fields that say who found a fact, when and with what. They are no facts of
// their own but belong to each entry of the fact.
const (
	whoField        = "who"
	whenField       = "when"
	instrumentField = "instrument"
)

// isAttributed reports that the fields of s say who, when and with what.
func (s *shape) isAttributed() bool {
	return s.byName[whoField] != nil && s.byName[whenField] != nil && s.byName[instrumentField] != nil
}

func isAttribution(f *field) bool {
	return f.name == whoField || f.name == whenField || f.name == instrumentField
}

// scatter takes a tree apart into entries. What names no field is no entry.
type scatter struct{ entries []Entry }

func (sc *scatter) put(e Entry, path, value string) {
	e.Path, e.Value = path, value
	e.ID = e.id()
	sc.entries = append(sc.entries, e)
}

// record adds the facts of a mapping. by says who, when and with what.
func (sc *scatter) record(n *node, s *shape, path string, by Entry) {
	if n.kind != mapping {
		return
	}
	for i := range n.fields {
		p := &n.fields[i]
		f := s.byName[p.key]
		if f == nil || f == s.key || s.isAttributed() && isAttribution(f) {
			continue
		}
		at := Under(path, f.name)
		switch f.form {
		case scalarForm:
			if text := textOf(p.value); text != "" {
				sc.put(by, at, text)
			}
		case recordForm:
			if f.of.isStated() {
				sc.stated(p.value, f, at)
			} else {
				sc.record(p.value, f.of, at, by)
			}
		case listForm:
			sc.list(p.value, f, at, by)
		case textsForm:
			for i, item := range p.value.items {
				if text := textOf(item); text != "" {
					sc.put(by, Under(at, text), strconv.Itoa(i+1))
				}
			}
		}
	}
}

// textOf returns the text of a single value, as it counts.
func textOf(n *node) string {
	if n == nil || n.kind != scalar {
		return ""
	}
	return strings.TrimSpace(n.text)
}

// textAt returns the text of one field of a mapping.
func textAt(n *node, f *field) string {
	if p := n.get(f); p != nil {
		return textOf(p.value)
	}
	return ""
}

// attribution returns who found what n says, when and with what.
func attribution(n *node, s *shape) Entry {
	return Entry{
		Who:        textAt(n, s.byName[whoField]),
		When:       textAt(n, s.byName[whenField]),
		Instrument: textAt(n, s.byName[instrumentField]),
	}
}

// stated adds a fact with how it is known, as one entry.
func (sc *scatter) stated(n *node, f *field, path string) {
	switch n.kind {
	case scalar:
		if text := textOf(n); text != "" {
			sc.put(Entry{}, path, text)
		}
	case mapping:
		by := attribution(n, f.of)
		text := statedText(textAt(n, f.of.short), textAt(n, f.of.byName["known by"]), textAt(n, f.of.byName["reason"]))
		if text != "" || by != (Entry{}) {
			sc.put(by, path, text)
		}
	}
}

// list adds the items of a list.
func (sc *scatter) list(n *node, f *field, path string, by Entry) {
	marks := map[string]int{}
	for i, item := range n.items {
		if item.kind != mapping && item.kind != missing {
			continue
		}
		own := by
		if f.of.isAttributed() {
			own = attribution(item, f.of)
		}
		name := textAt(item, f.of.key)
		if f.of.key == nil {
			name = mark(item, f.of)
			if marks[name]++; marks[name] > 1 { // the same said twice over
				name += "-" + strconv.Itoa(marks[name])
			}
		}
		at := Under(path, name)
		sc.put(own, at, strconv.Itoa(i+1))
		sc.record(item, f.of, at, own)
	}
}

// mark returns a name for an item that has none, made from what it says.
func mark(n *node, s *shape) string {
	var inner scatter
	inner.record(n, s, "", attributionIf(n, s))
	slices.SortFunc(inner.entries, compareEntries)
	h := sha256.New()
	for _, e := range append(inner.entries, attributionIf(n, s)) {
		h.Write([]byte(e.id()))
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}

func attributionIf(n *node, s *shape) Entry {
	if s.isAttributed() {
		return attribution(n, s)
	}
	return Entry{}
}

// Job reads the entries together. Where entries differ and none follows the
// other, the latest counts until a person settles it: see Conflicts. An error
// is Problems; file is what the record is called in them.
func (r *Record) Job(file string) (*Job, error) {
	f := &faults{file: file}
	g := newBranch()
	for path, entries := range r.byPath() {
		last := heads(entries)
		g.grow(NamesOf(path), last[len(last)-1])
	}
	j := bindAndCheck(g.mapping(jobShape, nil), f)
	return j, asError(f.problems())
}

// branch is a path's place in the tree that entries are folded into.
type branch struct {
	entry *Entry
	under map[string]*branch
}

func newBranch() *branch { return &branch{under: map[string]*branch{}} }

func (g *branch) grow(names []string, e Entry) {
	for _, name := range names {
		if g.under[name] == nil {
			g.under[name] = newBranch()
		}
		g = g.under[name]
	}
	g.entry = &e
}

// value returns what the branch's own entry says.
func (g *branch) value() string {
	if g.entry == nil {
		return ""
	}
	return g.entry.Value
}

// mapping returns the branch as fields in the order of the shape. What names
// no field comes last, for the reader to refuse.
func (g *branch) mapping(s *shape, more []pair) *node {
	n := &node{kind: mapping, fields: more}
	for _, f := range s.fields {
		if under := g.under[f.name]; under != nil && f != s.key {
			if value := under.field(f); value != nil {
				n.fields = append(n.fields, pair{key: f.name, value: value})
			}
		}
	}
	var rest []string
	for name := range g.under {
		if f := s.byName[name]; f == nil || f.name != name {
			rest = append(rest, name)
		}
	}
	slices.Sort(rest)
	for _, name := range rest {
		n.fields = append(n.fields, pair{key: name, value: &node{kind: scalar, text: g.under[name].value()}})
	}
	return n
}

// field returns the branch as the value of f.
func (g *branch) field(f *field) *node {
	switch f.form {
	case scalarForm:
		return g.single()
	case recordForm:
		if !f.of.isStated() {
			return g.mapping(f.of, nil)
		}
		return g.stated(f.of)
	case listForm:
		n := &node{kind: list}
		for _, name := range g.items() {
			item := g.under[name]
			var own []pair
			put := func(name, text string) {
				if text != "" && item.under[name] == nil {
					own = append(own, pair{key: name, value: &node{kind: scalar, text: text}})
				}
			}
			if f.of.key != nil {
				put(f.of.key.name, name)
			}
			if f.of.isAttributed() {
				by := item.maker()
				put(whoField, by.Who)
				put(whenField, by.When)
				put(instrumentField, by.Instrument)
			}
			n.items = append(n.items, item.mapping(f.of, own))
		}
		return n
	case textsForm:
		n := &node{kind: list}
		for _, name := range g.items() {
			item := g.under[name].single()
			if item.kind == scalar {
				item.text = name
			}
			n.items = append(n.items, item)
		}
		return n
	}
	return nil
}

// single returns the branch as one value. Where a path leads on beyond the
// value, the reader will refuse what it finds.
func (g *branch) single() *node {
	if len(g.under) > 0 {
		return &node{kind: mapping}
	}
	return &node{kind: scalar, text: g.value()}
}

// stated returns the branch as a fact with how it is known: from one entry, or
// from entries for its parts, which then count.
func (g *branch) stated(s *shape) *node {
	n := &node{kind: mapping}
	if g.entry != nil {
		text, known, reason, split := splitStated(g.entry.Value)
		if !split {
			text = g.entry.Value
		}
		n = statedNode(s, *g.entry, text, known, reason, place{})
	}
	parts := g.mapping(s, nil)
	n.fields = slices.DeleteFunc(n.fields, func(p pair) bool { return g.under[p.key] != nil })
	n.fields = append(n.fields, parts.fields...)
	return n
}

// maker returns the entry that says who made an item, when and with what: that
// of its value, or the item's own.
func (g *branch) maker() Entry {
	if value := g.under["value"]; value != nil && value.entry != nil {
		return *value.entry
	}
	if g.entry != nil {
		return *g.entry
	}
	return Entry{}
}

// items returns the names of a list's items in order: by their place, then
// those without one by the time of their first entry. Items taken out are left
// out.
func (g *branch) items() []string {
	type item struct {
		name  string
		place int
		when  string
	}
	var items []item
	for name, b := range g.under {
		it := item{name: name, place: 1 << 30, when: b.first()}
		if b.entry != nil {
			if strings.TrimSpace(b.entry.Value) == "" {
				continue
			}
			if p, err := strconv.Atoi(b.entry.Value); err == nil {
				it.place = p
			}
		}
		items = append(items, it)
	}
	slices.SortFunc(items, func(a, b item) int {
		return cmp.Or(cmp.Compare(a.place, b.place), compareWhen(a.when, b.when), cmp.Compare(a.name, b.name))
	})
	names := make([]string, len(items))
	for i, it := range items {
		names[i] = it.name
	}
	return names
}

// first returns the time of the earliest entry of a branch.
func (g *branch) first() string {
	when := ""
	if g.entry != nil {
		when = g.entry.When
	}
	for _, b := range g.under {
		if w := b.first(); when == "" || w != "" && compareWhen(w, when) < 0 {
			when = w
		}
	}
	return when
}
