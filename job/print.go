package job

// From the tree of fields to text.

import (
	"strings"
	"unicode"
)

// step is how far a field is set in under the one it belongs to.
const step = 2

// printBlock writes the fields of a mapping, each on its own line.
func printBlock(b *strings.Builder, n *node, indent int) {
	for _, p := range n.fields {
		pad(b, indent)
		printPair(b, p, indent)
	}
}

// printPair writes a field after its indentation, newline included.
func printPair(b *strings.Builder, p pair, indent int) {
	b.WriteString(p.key)
	b.WriteByte(':')
	switch p.value.kind {
	case mapping:
		b.WriteByte('\n')
		printBlock(b, p.value, indent+step)
	case list:
		b.WriteByte('\n')
		printItems(b, p.value, indent+step)
	default:
		if p.value.text != "" {
			b.WriteByte(' ')
			b.WriteString(scalarText(p.value.text, indent+step))
		}
		b.WriteByte('\n')
	}
}

// printItems writes the items of a list, each after a dash.
func printItems(b *strings.Builder, n *node, indent int) {
	for _, item := range n.items {
		pad(b, indent)
		b.WriteByte('-')
		switch {
		case item.kind == mapping && len(item.fields) > 0:
			for i, p := range item.fields {
				if i == 0 {
					b.WriteByte(' ')
				} else {
					pad(b, indent+step)
				}
				printPair(b, p, indent+step)
			}
		case item.text != "":
			b.WriteByte(' ')
			b.WriteString(scalarText(item.text, indent+step))
			b.WriteByte('\n')
		default:
			b.WriteByte('\n')
		}
	}
}

// printFlow writes a value on one line, in brackets.
func printFlow(b *strings.Builder, n *node) {
	switch n.kind {
	case mapping:
		b.WriteString("{ ")
		for i, p := range n.fields {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(p.key)
			b.WriteString(": ")
			printFlow(b, p.value)
		}
		b.WriteString(" }")
	case list:
		b.WriteString("[ ")
		for i, item := range n.items {
			if i > 0 {
				b.WriteString(", ")
			}
			printFlow(b, item)
		}
		b.WriteString(" ]")
	default:
		b.WriteString(flowText(n.text))
	}
}

func flow(n *node) string {
	var b strings.Builder
	printFlow(&b, n)
	return b.String()
}

func pad(b *strings.Builder, n int) {
	for range n {
		b.WriteByte(' ')
	}
}

// tidy returns text as a value can hold it: no spaces around it, lines ended
// alike, nothing a text file cannot hold.
func tidy(text string) string {
	text = strings.ToValidUTF8(text, "\ufffd")
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	text = strings.Map(func(r rune) rune {
		if r != '\n' && r != '\t' && unicode.IsControl(r) || r == '\ufeff' || r == moreThan {
			return ' '
		}
		return r
	}, text)
	return strings.TrimSpace(text)
}

// scalarText writes a value after its field's colon; further lines are set in
// by indent.
func scalarText(text string, indent int) string {
	text = tidy(text)
	switch {
	case strings.Contains(text, "\n"):
		if strings.ContainsAny(text, "\t\u0085\u2028\u2029") {
			return quoted(text)
		}
		var b strings.Builder
		b.WriteString("|")
		for line := range strings.SplitSeq(text, "\n") {
			b.WriteByte('\n')
			if line != "" {
				pad(&b, indent)
				b.WriteString(line)
			}
		}
		return b.String()
	case isPlain(text):
		return text
	}
	return quoted(text)
}

// flowText writes a value inside brackets.
func flowText(text string) string {
	text = tidy(text)
	if isPlain(text) && !strings.ContainsAny(text, ",[]{}#\n") {
		return text
	}
	return quoted(text)
}

// isPlain reports that text can stand without quotes.
func isPlain(text string) bool {
	if text == "" || strings.Contains(text, ": ") || strings.Contains(text, " #") || strings.HasSuffix(text, ":") {
		return false
	}
	switch strings.ToLower(text) {
	case "null", "~", "<<", ".nan", ".inf", "-.inf", "+.inf":
		return false
	}
	first := rune(text[0])
	if first == '-' && len(text) > 1 && (text[1] >= '0' && text[1] <= '9') {
		first = '0'
	}
	if strings.ContainsRune("-?:,[]{}#&*!|>'\"%@`.~<=", first) {
		return false
	}
	for _, r := range text {
		if r == '\t' || r == '\\' || r == '"' || r == '\u0085' || r == '\u2028' || r == '\u2029' || r == '\u00a0' {
			return false
		}
	}
	return true
}

// quoted writes text in double quotes.
func quoted(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\t", `\t`).Replace(text) + `"`
}
