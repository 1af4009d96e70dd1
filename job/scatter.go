package job

// A tree of fields taken apart into entries.

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"

	"chargewright/works"
)

// Fields that say who found a fact, when and with what. They are no facts of
// their own but belong to each entry of the fact.
const (
	whoField        = "who"
	whenField       = "when"
	instrumentField = "instrument"
)

// isAttributed reports that the fields of s say who, when and with what.
func (s *Part) isAttributed() bool {
	return s.byName[whoField] != nil && s.byName[whenField] != nil && s.byName[instrumentField] != nil
}

func isAttribution(f *Field) bool {
	return f.Name == whoField || f.Name == whenField || f.Name == instrumentField
}

// scatter takes a tree apart into entries. What names no field is no entry.
type scatter struct{ entries []Entry }

func (sc *scatter) put(e Entry, path, value string) {
	e.Path, e.Value = path, value
	e.ID = e.id()
	sc.entries = append(sc.entries, e)
}

// record adds the facts of a mapping. by says who, when and with what.
func (sc *scatter) record(n *node, s *Part, path string, by Entry) {
	if n.kind != mapping {
		return
	}
	for i := range n.fields {
		p := &n.fields[i]
		f := s.byName[p.key]
		if f == nil || f == s.Key || s.isAttributed() && isAttribution(f) {
			continue
		}
		at := works.Under(path, f.Name)
		switch f.form {
		case scalarForm:
			if text := textOf(p.value); text != "" {
				sc.put(by, at, text)
			}
		case recordForm:
			if f.Of.isStated() {
				sc.stated(p.value, f, at)
			} else {
				sc.record(p.value, f.Of, at, by)
			}
		case listForm:
			sc.list(p.value, f, at, by)
		case textsForm:
			for i, item := range p.value.items {
				if text := textOf(item); text != "" {
					sc.put(by, works.Under(at, text), strconv.Itoa(i+1))
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
func textAt(n *node, f *Field) string {
	if p := n.get(f); p != nil {
		return textOf(p.value)
	}
	return ""
}

// attribution returns who found what n says, when and with what.
func attribution(n *node, s *Part) Entry {
	return Entry{
		Who:        textAt(n, s.byName[whoField]),
		When:       textAt(n, s.byName[whenField]),
		Instrument: textAt(n, s.byName[instrumentField]),
	}
}

// stated adds a fact with how it is known, as one entry.
func (sc *scatter) stated(n *node, f *Field, path string) {
	switch n.kind {
	case scalar:
		if text := textOf(n); text != "" {
			sc.put(Entry{}, path, text)
		}
	case mapping:
		by := attribution(n, f.Of)
		text := statedText(textAt(n, f.Of.short), textAt(n, f.Of.byName["known by"]), textAt(n, f.Of.byName["reason"]))
		if text != "" || by != (Entry{}) {
			sc.put(by, path, text)
		}
	}
}

// list adds the items of a list.
func (sc *scatter) list(n *node, f *Field, path string, by Entry) {
	marks := map[string]int{}
	for i, item := range n.items {
		if item.kind != mapping && item.kind != missing {
			continue
		}
		own := by
		if f.Of.isAttributed() {
			own = attribution(item, f.Of)
		}
		name := textAt(item, f.Of.Key)
		if f.Of.Key == nil {
			name = mark(item, f.Of)
			if marks[name]++; marks[name] > 1 { // the same said twice over
				name += "-" + strconv.Itoa(marks[name])
			}
		}
		at := works.Under(path, name)
		sc.put(own, at, strconv.Itoa(i+1))
		sc.record(item, f.Of, at, own)
	}
}

// Added returns the entries that add an item to a list: a Run to "runs". It
// stands there under a name, at a place counted from 1.
func Added(list, name string, place int, item any) []Entry {
	f := FieldAt(list)
	at := works.Under(list, name)
	sc := scatter{entries: []Entry{{Path: at, Value: strconv.Itoa(place)}}}
	sc.record(itemNode(f, item), f.Of, at, Entry{})
	for i := range sc.entries {
		sc.entries[i].ID = "" // whoever enters them says who and when
	}
	return sc.entries
}

// mark returns a name for an item that has none, made from what it says.
func mark(n *node, s *Part) string {
	var inner scatter
	inner.record(n, s, "", attributionIf(n, s))
	slices.SortFunc(inner.entries, compareEntries)
	h := sha256.New()
	for _, e := range append(inner.entries, attributionIf(n, s)) {
		h.Write([]byte(e.id()))
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}

func attributionIf(n *node, s *Part) Entry {
	if s.isAttributed() {
		return attribution(n, s)
	}
	return Entry{}
}
