package job

// The job as JSON, the same letters for the same job, to be signed
// and carried inside a paper.

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
)

// JSON returns what is known of the job as canonical JSON: every value as a
// text, written as the job file writes it, fields in alphabetical order, a line
// for each. JSON is YAML, so Read reads it back.
func JSON(j *Job) []byte {
	out := *j
	if !out.EditionStated {
		out.Edition = ""
	}
	var b bytes.Buffer
	writeJSON(&b, wholeNode(&out))
	return b.Bytes()
}

func writeJSON(b *bytes.Buffer, n *node) {
	switch n.kind {
	case mapping:
		fields := slices.Clone(n.fields)
		slices.SortFunc(fields, func(a, c pair) int { return strings.Compare(a.key, c.key) })
		b.WriteByte('{')
		for i, p := range fields {
			if i > 0 {
				b.WriteString(",\n")
			}
			writeText(b, p.key)
			b.WriteByte(':')
			writeJSON(b, p.value)
		}
		b.WriteByte('}')
	case list:
		b.WriteByte('[')
		for i, item := range n.items {
			if i > 0 {
				b.WriteString(",\n")
			}
			writeJSON(b, item)
		}
		b.WriteByte(']')
	default:
		writeText(b, n.text)
	}
}

func writeText(b *bytes.Buffer, text string) {
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	if err := e.Encode(text); err != nil {
		panic(err) // a text can always be encoded
	}
	b.Truncate(b.Len() - 1) // the encoder ends with a line break
}
