package job

// The text of a job file as a tree of fields, each with the place it stands at.

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	"chargewright/sheet"
)

// kind is what stands at a place in the tree.
type kind uint8

const (
	missing kind = iota // nothing, or a plain null
	scalar
	mapping
	list
	broken // a fault here has been reported
)

// place is a place in the text, counted from 1 in lines and letters; the zero
// value is no place.
type place struct{ line, column int }

// node is one value in the tree.
type node struct {
	kind    kind
	text    string // of a scalar
	style   byte   // of a scalar: ', ", | or > as it is quoted, 0 when plain
	at      place  // where it starts
	end     place  // of a bracketed mapping or list: its closing bracket
	flow    bool   // written in brackets, or inside them
	fields  []pair
	items   []*node
	dashes  []place // of a list, where each item starts
	written bool    // of a missing value: a null stands there
	indent  int     // spaces before the field or dash it belongs to
}

// pair is one field of a mapping.
type pair struct {
	key   string
	at    place
	value *node
}

// get returns the field of that name.
func (n *node) get(f *Field) *pair {
	if n == nil || f == nil {
		return nil
	}
	for i := range n.fields {
		if p := &n.fields[i]; p.key == f.Name || slices.Contains(f.also, p.key) {
			return p
		}
	}
	return nil
}

// nothing is a value that is not there.
var nothing = &node{}

// moreThan stands in for a > that opens a value such as > 200 MΩ, which YAML
// would take for the opening of a block of text.
const moreThan = '\ue000'

// grow reads text, already guarded, into a tree. It returns nil when the text
// is not YAML; f says why.
func grow(text string, f *faults) (root *node) {
	defer func() {
		if r := recover(); r != nil { // the YAML library gave up in a way of its own
			f.add(Problem{Want: "the file cannot be read as YAML: write field: value, each on its own line", Err: fmt.Errorf("yaml: %v", r)})
			root = nil
		}
	}()
	spared := spareMoreThan(text)
	file, err := parser.ParseBytes([]byte(spared), 0, parser.AllowDuplicateMapKey())
	if err != nil {
		f.add(syntaxProblem(err, text))
		return nil
	}
	g := &grower{faults: f, spared: spared != text}
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		if d, ok := doc.Body.(*ast.DirectiveNode); ok {
			f.add(Problem{Line: at(d).line, Want: "a line that starts with % has no place in a job file"})
			continue
		}
		if root != nil {
			line := at(doc.Body).line
			if doc.Start != nil {
				line = doc.Start.Position.Line
			}
			f.add(Problem{Line: line, Want: "a second job starts here: a file holds one job"})
			break
		}
		root = g.node(doc.Body)
	}
	if root == nil {
		root = nothing
	}
	return root
}

// grower turns the library's tree into ours.
type grower struct {
	*faults
	spared   bool
	brackets int // that are open
}

// inside notes that brackets open, and returns what notes that they close.
func (g *grower) inside(flow bool) func() {
	if !flow {
		return func() {}
	}
	g.brackets++
	return func() { g.brackets-- }
}

// at returns where a node of the library's tree starts.
func at(n ast.Node) place {
	if tk := n.GetToken(); tk != nil && tk.Position != nil {
		return place{tk.Position.Line, tk.Position.Column}
	}
	return place{}
}

func tokenAt(tk *token.Token) place {
	if tk == nil || tk.Position == nil {
		return place{}
	}
	return place{tk.Position.Line, tk.Position.Column}
}

func (g *grower) refuse(n ast.Node, found, want string) *node {
	g.add(Problem{Line: at(n).line, Found: found, Want: want})
	return &node{kind: broken, at: at(n)}
}

func (g *grower) node(n ast.Node) *node {
	switch n := n.(type) {
	case nil:
		return nothing
	case *ast.MappingNode:
		out := &node{kind: mapping, flow: n.IsFlowStyle, at: at(n), end: tokenAt(n.End)}
		defer g.inside(n.IsFlowStyle)()
		out.fields = make([]pair, 0, len(n.Values))
		for _, v := range n.Values {
			g.pair(out, v)
		}
		if !n.IsFlowStyle && len(out.fields) > 0 {
			out.at = out.fields[0].at
		}
		return out
	case *ast.MappingValueNode:
		out := &node{kind: mapping}
		g.pair(out, n)
		if len(out.fields) > 0 {
			out.at = out.fields[0].at
		}
		return out
	case *ast.SequenceNode:
		out := &node{kind: list, flow: n.IsFlowStyle, at: at(n), end: tokenAt(n.End)}
		defer g.inside(n.IsFlowStyle)()
		for i, v := range n.Values {
			item := g.node(v)
			var dash place
			if i < len(n.Entries) && n.Entries[i] != nil {
				dash = tokenAt(n.Entries[i].Start)
			}
			if item.at == (place{}) {
				item = &node{kind: item.kind, flow: g.brackets > 0, at: dash}
			}
			item.indent = dash.column - 1
			out.items = append(out.items, item)
			out.dashes = append(out.dashes, dash)
		}
		return out
	case *ast.NullNode:
		return &node{at: at(n), flow: g.brackets > 0, written: n.GetToken().Type == token.NullType}
	case *ast.LiteralNode:
		style := byte('|')
		if strings.HasPrefix(n.Start.Value, ">") {
			style = '>'
		}
		return &node{kind: scalar, text: g.unspare(strings.TrimRight(n.Value.GetToken().Value, "\n")), style: style, at: at(n)}
	case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
		return g.refuse(n, "", "a value that starts with & or * points elsewhere in the file: write the value out, or put it in quotes")
	case *ast.TagNode:
		return g.refuse(n, "", "a value that starts with ! is not read: leave the ! out, or put the value in quotes")
	case *ast.MappingKeyNode:
		return g.refuse(n, "", "a value cannot start with a question mark: put it in quotes")
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		tk := n.GetToken()
		out := &node{kind: scalar, text: g.unspare(tk.Value), flow: g.brackets > 0, at: at(n)}
		switch tk.Type {
		case token.DoubleQuoteType:
			out.style = '"'
		case token.SingleQuoteType:
			out.style = '\''
		default:
			out.text = strings.TrimSpace(out.text)
		}
		return out
	}
	return g.refuse(n, "", "this cannot be read: write field: value")
}

func (g *grower) pair(out *node, v *ast.MappingValueNode) {
	switch v.Key.(type) {
	case *ast.MergeKeyNode, *ast.MappingKeyNode:
		g.refuse(v.Key, "", "a field is written as its name, a colon and its value")
		return
	}
	tk := v.Key.GetToken()
	p := pair{key: g.unspare(strings.TrimSpace(tk.Value)), at: at(v.Key), value: g.node(v.Value)}
	if p.value.at == (place{}) {
		p.value = &node{kind: p.value.kind, flow: g.brackets > 0, at: p.at}
	}
	p.value.indent = p.at.column - 1
	out.fields = append(out.fields, p)
}

func (g *grower) unspare(text string) string {
	if g.spared {
		return strings.ReplaceAll(text, string(moreThan), ">")
	}
	return text
}

// spareMoreThan keeps a value such as > 200 MΩ or >999 from being taken for
// the opening of a block of text. Every letter keeps its place.
func spareMoreThan(text string) string {
	if !strings.Contains(text, ">") || strings.ContainsRune(text, moreThan) {
		return text
	}
	var b strings.Builder
	for line := range strings.Lines(text) {
		if i := opensWithMoreThan(line); i >= 0 {
			b.WriteString(line[:i])
			b.WriteRune(moreThan)
			b.WriteString(line[i+1:])
		} else {
			b.WriteString(line)
		}
	}
	return b.String()
}

// opensWithMoreThan returns where in line a value starts with > and a number,
// or -1. A lone figure after > is left to YAML, where it is an indentation.
func opensWithMoreThan(line string) int {
	i := strings.Index(line, ">")
	if i < 0 {
		return -1
	}
	before := strings.TrimRight(line[:i], " ")
	if before == line[:i] || !strings.HasSuffix(before, ":") && strings.Trim(before, " ") != "-" {
		return -1
	}
	after := strings.TrimSpace(line[i+1:])
	if after == "" || after[0] != '.' && (after[0] < '0' || after[0] > '9') {
		return -1
	}
	if len(after) == 1 && !strings.HasPrefix(line[i+1:], " ") {
		return -1
	}
	return i
}

// syntaxProblem puts the YAML library's one complaint into plain words.
func syntaxProblem(err error, text string) Problem {
	p := Problem{Err: err}
	var message string
	var told interface {
		GetToken() *token.Token
		GetMessage() string
	}
	if errors.As(err, &told) {
		message = told.GetMessage()
		p.Line = tokenAt(told.GetToken()).line
	}
	lines := strings.Split(text, "\n")
	p.Line = min(max(p.Line, 1), len(lines))
	line := lines[p.Line-1]
	has := func(s string) bool { return strings.Contains(message, s) }
	if at, right := glued(lines, p.Line); right != "" {
		p.Line, p.Want = at, right
		return p
	}
	switch {
	case has(`'\t'`) || has("'\t'") || strings.HasPrefix(strings.TrimLeft(line, " "), "\t"):
		p.Want = "a tab sets this line in: use spaces"
	case has("double-quoted"):
		p.Want = "a double quote opens here and is not closed"
	case has("single-quoted"):
		p.Want = "a single quote opens here and is not closed"
	case has("reserved character"):
		p.Want = "a value cannot start with @ or `: put it in quotes"
	case has("directive"):
		p.Want = "a value cannot start with %: put it in quotes"
	case has("invalid header option") || has("multi-line content"):
		p.Want = "a value cannot start with > or |: put it in quotes"
	case has("invalid key"):
		p.Want = "the name of a field is wanted before the colon"
	case has("block sequence entries"):
		p.Want = "a dash stands on the line of its field: start the list on the next line"
	case has("']'") || has("'}'"):
		p.Want = "a comma or a closing bracket is missing, here or above"
	case has("mapping value is not allowed"):
		if strings.Count(line, ": ") > 1 {
			p.Want = "two colons on one line: give each field its own line, or put the value in quotes"
			break
		}
		if deeper := deeperBelow(lines, p.Line); deeper > 0 {
			p.Line = deeper
			p.Want = "the line is set in further than the field above it, which has a value already: line them up"
			break
		}
		p.Want = outOfLine
	case afterQuote.MatchString(line):
		p.Want = "words stand behind a closing quote: put the quotes around all of the value"
	case strings.HasPrefix(strings.TrimSpace(line), "-"):
		p.Want = "the dash does not line up with a list: start the items of a list in the same column"
	case has("value is not allowed"):
		p.Want = outOfLine
	default:
		p.Want = "the line cannot be read: write field: value, and start fields that belong together in the same column"
		if !strings.Contains(line, ":") {
			p.Want = "the line has no colon: write field: value"
		}
	}
	return p
}

const outOfLine = "the line does not line up with the fields it belongs to: start them in the same column"

var (
	gluedColon = regexp.MustCompile(`^[ -]*([\pL\pN][^:#"'{}\[\]]*):([^\s:/].*)$`)
	gluedDash  = regexp.MustCompile(`^ *-[^\s\d-][^:]*:`)
	afterQuote = regexp.MustCompile(`^[^"']*: *("[^"]*"|'[^']*') *[^\s#,}\]]`)
)

// glued looks on a line, and on the one before it, for a colon or a dash with
// no space behind it.
func glued(lines []string, line int) (at int, right string) {
	for _, at := range []int{line, line - 1} {
		if at < 1 {
			break
		}
		if right := gluedHere(lines[at-1]); right != "" {
			return at, right
		}
	}
	return 0, ""
}

func gluedHere(line string) string {
	if m := gluedColon.FindStringSubmatch(line); m != nil && !strings.Contains(m[1]+m[2], ": ") {
		return fmt.Sprintf("a space is wanted after the colon, like %s: %s", m[1], sheet.Shorten(m[2]))
	}
	if gluedDash.MatchString(line) {
		return "a space is wanted after the dash that starts an item"
	}
	return ""
}

// deeperBelow returns the next written line after the given one, if it is set
// in further.
func deeperBelow(lines []string, after int) int {
	depth := func(s string) int { return len(s) - len(strings.TrimLeft(s, " ")) }
	for i := after; i < len(lines); i++ {
		if t := strings.TrimSpace(lines[i]); t == "" || t[0] == '#' {
			continue
		}
		if depth(lines[i]) > depth(lines[after-1]) {
			return i + 1
		}
		return 0
	}
	return 0
}
