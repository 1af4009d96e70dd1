package job

// Changing the text of a job file in one place.

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// edit is one change to a text.
type edit struct {
	text    string
	starts  []int  // where each line starts
	newline string // how the file ends its lines
	out     []byte
}

var errLayout = errors.New("the file is laid out in a way that cannot be added to here; write it in by hand")

func newEdit(text []byte) *edit {
	e := &edit{text: string(text), newline: "\n"}
	if strings.Contains(e.text, "\r\n") {
		e.newline = "\r\n"
	}
	start := 0
	if strings.HasPrefix(e.text, string(byteOrderMark)) {
		start = len(byteOrderMark)
	}
	e.starts = []int{start}
	for i := start; i < len(e.text); i++ {
		switch {
		case e.text[i] == '\n', e.text[i] == '\r' && (i+1 == len(e.text) || e.text[i+1] != '\n'):
			e.starts = append(e.starts, i+1)
		}
	}
	return e
}

// offset returns where in the text a place is, or -1.
func (e *edit) offset(p place) int {
	if p.line < 1 || p.line > len(e.starts) || p.column < 1 {
		return -1
	}
	i := e.starts[p.line-1]
	for range p.column - 1 {
		if i >= len(e.text) {
			return -1
		}
		_, n := utf8.DecodeRuneInString(e.text[i:])
		i += n
	}
	return i
}

// lineEnd returns where the line ends, its newline not included.
func (e *edit) lineEnd(line int) int {
	end := len(e.text)
	if line < len(e.starts) {
		end = e.starts[line]
	}
	return e.starts[line-1] + len(strings.TrimRight(e.text[e.starts[line-1]:end], "\r\n"))
}

// replace makes the change: the text from start to end becomes s.
func (e *edit) replace(start, end int, s string) {
	s = strings.ReplaceAll(s, "\n", e.newline)
	e.out = []byte(e.text[:start] + s + e.text[end:])
}

// addLines makes the change: whole lines, each ended, after the given line.
func (e *edit) addLines(after int, lines string) {
	if after < len(e.starts) {
		e.replace(e.starts[after], e.starts[after], lines)
		return
	}
	if e.lineEnd(len(e.starts)) > e.starts[len(e.starts)-1] { // the last line has no end, and the new last line has none
		lines = "\n" + strings.TrimSuffix(lines, "\n")
	}
	e.replace(len(e.text), len(e.text), lines)
}

// put writes content where names lead, under root.
func (e *edit) put(root *node, names []string, content *node) error {
	n, s := root, jobShape
	if n.kind == missing {
		p, err := build(s.byName[names[0]], names[1:], content)
		if err != nil {
			return err
		}
		var b strings.Builder
		printPair(&b, p, 0)
		e.addLines(len(e.starts), b.String())
		return nil
	}
	for i := 0; i < len(names); i++ {
		f := s.byName[names[i]]
		rest := names[i+1:]
		p := n.get(f)
		if p == nil {
			fresh, err := build(f, rest, content)
			if err != nil {
				return err
			}
			return e.addField(n, s, f, fresh)
		}
		value := p.value
		if value.kind == missing {
			fresh, err := build(f, rest, content)
			if err != nil {
				return err
			}
			return e.fill(*p, fresh.value)
		}
		switch {
		case f.form == scalarForm:
			return e.value(value, content)
		case f.form == recordForm && f.Of.isStated():
			return e.stated(value, f.Of, rest, content)
		case f.form == recordForm && value.kind == mapping:
			n, s = value, f.Of
			continue
		case f.form < listForm || value.kind != list:
			return errLayout
		}
		if len(rest) == 0 { // append
			return e.addItem(value, content)
		}
		i++
		k := itemAt(value, f, names[i])
		if k < 0 {
			item, err := buildItem(f, names[i], len(value.items), names[i+1:], content)
			if err != nil {
				return err
			}
			return e.addItem(value, item)
		}
		item := value.items[k]
		switch {
		case f.form == textsForm && item.kind == scalar:
			return e.value(item, content)
		case f.form == listForm && item.kind == mapping:
			n, s = item, f.Of
		default:
			return errLayout
		}
	}
	return errLayout
}

// stated writes a part of a fact that says how it is known.
func (e *edit) stated(n *node, s *Part, rest []string, content *node) error {
	part := s.short
	if len(rest) > 0 {
		part = s.byName[rest[0]]
	}
	switch {
	case n.kind == mapping:
		p := n.get(part)
		switch {
		case p == nil:
			return e.addField(n, s, part, pair{key: part.Name, value: content})
		case p.value.kind == missing:
			return e.fill(*p, content)
		case p.value.kind == scalar:
			return e.value(p.value, content)
		}
	case n.kind == scalar && part == s.short:
		return e.value(n, content)
	case n.kind == scalar: // written short: write it in full, on the same line
		full := &node{kind: mapping}
		if text, known, reason, ok := splitStated(n.text); ok {
			full = statedNode(s, Entry{}, text, known, reason, place{})
		} else {
			full.fields = []pair{{key: s.short.Name, value: &node{kind: scalar, text: strings.TrimSpace(n.text)}}}
		}
		if p := full.get(part); p != nil {
			p.value = content
		} else {
			full.fields = append(full.fields, pair{key: part.Name, value: content})
		}
		start, end, ok := e.span(n)
		if !ok {
			return errLayout
		}
		e.replace(start, end, flow(full))
		return nil
	}
	return errLayout
}

// build returns the field f holding content where the rest of the names lead.
func build(f *Field, rest []string, content *node) (pair, error) {
	p := pair{key: f.Name, value: content}
	switch {
	case f.form == scalarForm:
	case f.form == recordForm && len(rest) > 0:
		inner, err := build(f.Of.byName[rest[0]], rest[1:], content)
		if err != nil {
			return p, err
		}
		p.value = &node{kind: mapping, fields: []pair{inner}}
	case f.form >= listForm && len(rest) == 0:
		p.value = &node{kind: list, items: []*node{content}}
	case f.form >= listForm:
		item, err := buildItem(f, rest[0], 0, rest[1:], content)
		if err != nil {
			return p, err
		}
		p.value = &node{kind: list, items: []*node{item}}
	}
	return p, nil
}

// buildItem returns a new item of the list f, which has count items, of that
// name or number.
func buildItem(f *Field, name string, count int, rest []string, content *node) (*node, error) {
	keyed := f.Of != nil && f.Of.Key != nil
	if !keyed && name != strconv.Itoa(count+1) {
		return nil, fmt.Errorf("the list has %d items; the next is number %d", count, count+1)
	}
	if len(rest) == 0 {
		return content, nil
	}
	inner, err := build(f.Of.byName[rest[0]], rest[1:], content)
	if err != nil {
		return nil, err
	}
	item := &node{kind: mapping}
	if keyed && inner.key != f.Of.Key.Name {
		item.fields = append(item.fields, pair{key: f.Of.Key.Name, value: &node{kind: scalar, text: name}})
	}
	item.fields = append(item.fields, inner)
	return item, nil
}

// value writes a value in the place of another.
func (e *edit) value(n, content *node) error {
	if n.kind != scalar || content.kind != scalar {
		return errLayout
	}
	start, end, ok := e.span(n)
	if !ok {
		return errLayout
	}
	text := content.text
	switch {
	case text == "":
		for start > 0 && e.text[start-1] == ' ' && (end == len(e.text) || strings.ContainsRune("\r\n", rune(e.text[end]))) {
			start-- // no space is left at the end of the line
		}
	case n.flow:
		text = flowText(text)
	case n.style == '"' && !strings.Contains(text, "\n"):
		text = quoted(text)
	case n.style == '\'' && !strings.ContainsAny(text, "'\n\t"):
		text = "'" + text + "'"
	default:
		text = e.scalarBefore(end, text, n.indent+step)
	}
	e.replace(start, end, text)
	return nil
}

// scalarBefore writes a value that stands before what is at end: on one line, if
// a comment follows it there.
func (e *edit) scalarBefore(end int, text string, indent int) string {
	rest, _, _ := strings.Cut(e.text[end:], "\n")
	if strings.Contains(text, "\n") && strings.TrimSpace(rest) != "" {
		return quoted(text)
	}
	return scalarText(text, indent)
}

// fill writes a value after a field that has none yet.
func (e *edit) fill(p pair, value *node) error {
	n := p.value
	if n.written { // a null stands there
		start := e.offset(n.at)
		if start < 0 {
			return errLayout
		}
		end := start
		for end < len(e.text) && (unicode.IsLetter(rune(e.text[end])) || e.text[end] == '~') {
			end++
		}
		e.replace(start, end, flow(value))
		return nil
	}
	at := e.offset(p.at)
	if at < 0 {
		return errLayout
	}
	colon := at + strings.Index(e.text[at:], ":") // no field of ours has a colon in its name
	if n.flow {
		e.replace(colon+1, colon+1, " "+flow(value))
		return nil
	}
	if value.kind == scalar {
		e.replace(colon+1, colon+1, " "+e.scalarBefore(colon+1, value.text, n.indent+step))
		return nil
	}
	var b strings.Builder
	if value.kind == mapping {
		printBlock(&b, value, n.indent+step)
	} else {
		printItems(&b, value, n.indent+step)
	}
	e.addLines(p.at.line, b.String())
	return nil
}

// addField adds a field to a mapping, after those that come before it.
func (e *edit) addField(n *node, s *Part, f *Field, p pair) error {
	if n.flow {
		return e.addInBrackets(n, p.key+": "+flow(p.value), len(n.fields))
	}
	if len(n.fields) == 0 {
		return errLayout
	}
	var before *pair
	for i := range n.fields {
		if q := s.byName[n.fields[i].key]; q != nil && q.place < f.place {
			before = &n.fields[i]
		}
	}
	indent := n.fields[0].at.column - 1
	var b strings.Builder
	pad(&b, indent)
	printPair(&b, p, indent)
	if before != nil {
		e.addLines(e.lastLine(before.value, before.at.line), b.String())
		return nil
	}
	first := n.fields[0]
	start := e.starts[first.at.line-1]
	if strings.TrimSpace(e.text[start:e.offset(first.at)]) == "" { // no dash before it
		e.addLines(first.at.line-1, b.String())
		return nil
	}
	e.addLines(e.lastLine(first.value, first.at.line), b.String())
	return nil
}

// addItem adds an item at the end of a list.
func (e *edit) addItem(n, item *node) error {
	if n.flow {
		return e.addInBrackets(n, flow(item), len(n.items))
	}
	if len(n.items) == 0 {
		return errLayout
	}
	last := len(n.items) - 1
	var b strings.Builder
	printItems(&b, &node{items: []*node{item}}, n.dashes[last].column-1)
	e.addLines(e.lastLine(n.items[last], n.dashes[last].line), b.String())
	return nil
}

// addInBrackets adds a field or item before the closing bracket.
func (e *edit) addInBrackets(n *node, text string, count int) error {
	end := e.offset(n.end)
	if end <= 0 {
		return errLayout
	}
	space := e.text[end-1] == ' '
	at := end
	for at > 0 && e.text[at-1] == ' ' {
		at--
	}
	if at == 0 || strings.ContainsRune("\r\n#", rune(e.text[at-1])) {
		return errLayout // the bracket closes on a line of its own
	}
	switch {
	case count == 0:
		text = " " + text + " "
	case e.text[at-1] == ',':
		text = " " + text
	default:
		text = ", " + text
	}
	if count > 0 && space {
		text += " "
	}
	e.replace(at, end, text)
	return nil
}

// lastLine returns the last line that a value stands on, at least the given one.
func (e *edit) lastLine(n *node, line int) int {
	line = max(line, n.at.line, n.end.line)
	if n.kind == scalar {
		if _, end, ok := e.span(n); ok {
			for line < len(e.starts) && e.starts[line] < end {
				line++
			}
		}
	}
	for _, p := range n.fields {
		line = e.lastLine(p.value, max(line, p.at.line))
	}
	for i, item := range n.items {
		line = e.lastLine(item, max(line, n.dashes[i].line))
	}
	return line
}

// span returns where the text of a scalar starts and ends.
func (e *edit) span(n *node) (start, end int, ok bool) {
	start = e.offset(n.at)
	if start < 0 || start >= len(e.text) {
		return 0, 0, false
	}
	switch n.style {
	case '"', '\'':
		if e.text[start] != n.style {
			return 0, 0, false
		}
		for i := start + 1; i < len(e.text); i++ {
			switch {
			case e.text[i] == '\\' && n.style == '"':
				i++
			case e.text[i] == n.style && n.style == '\'' && i+1 < len(e.text) && e.text[i+1] == '\'':
				i++
			case e.text[i] == n.style:
				return start, i + 1, true
			}
		}
		return 0, 0, false
	case '|', '>':
		return start, e.blockEnd(n), true
	}
	// A plain value may run over several lines, its words unchanged.
	i := start
	for _, r := range n.text {
		if unicode.IsSpace(r) {
			continue
		}
		for i < len(e.text) {
			s, w := utf8.DecodeRuneInString(e.text[i:])
			if s == r {
				break
			}
			if !unicode.IsSpace(s) {
				return 0, 0, false
			}
			i += w
		}
		if i >= len(e.text) {
			return 0, 0, false
		}
		i += utf8.RuneLen(r)
	}
	return start, i, true
}

// blockEnd returns where a block of text after | or > ends.
func (e *edit) blockEnd(n *node) int {
	end := e.lineEnd(n.at.line)
	for line := n.at.line + 1; line <= len(e.starts); line++ {
		s := e.text[e.starts[line-1]:e.lineEnd(line)]
		if strings.TrimSpace(s) == "" {
			continue
		}
		if len(s)-len(strings.TrimLeft(s, " ")) <= n.indent {
			break
		}
		end = e.lineEnd(line)
	}
	return end
}

// itemAt returns the place of the item of that name or number, or -1.
func itemAt(n *node, f *Field, name string) int {
	if f.Of != nil && f.Of.Key != nil {
		for i, item := range n.items {
			if textAt(item, f.Of.Key) == name {
				return i
			}
		}
	}
	if k, err := strconv.Atoi(name); err == nil && k >= 1 && k <= len(n.items) {
		return k - 1
	}
	return -1
}
