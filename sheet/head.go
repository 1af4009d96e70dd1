package sheet

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
)

// Head is the headings of a table.
type Head struct {
	File  string
	Line  int
	Names []string // as the table writes them
	heads []heading
}

// heading is a heading in small letters, its unit apart.
type heading struct{ text, plain, unit string }

// newHead takes a row for the head of a table.
func newHead(file string, line int, cells [][]byte) Head {
	h := Head{File: file, Line: line}
	for _, c := range cells {
		text := strings.Join(strings.Fields(Text(c)), " ")
		plain, unit := apartUnit(text)
		h.Names = append(h.Names, text)
		h.heads = append(h.heads, heading{strings.ToLower(text), plain, unit})
	}
	return h
}

// Column is a column that is looked for.
type Column struct {
	Field string   // what it says, as faults call it
	Named string   // the heading a person named for it
	Words []string // what else it is headed; the field's own name where there are none
}

// Find returns the column that says a field, or -1, and what keeps it from
// being known which. The heading that is written exactly as it was named goes
// before one that only sounds like it.
func (h Head) Find(c Column) (int, *Fault) {
	words := c.Words
	if len(words) == 0 {
		words = []string{c.Field}
	}
	if c.Named != "" {
		words = []string{c.Named}
	}
	found := -1
	for _, exact := range []bool{true, false} {
		for i, name := range h.Names {
			if exact && (c.Named == "" || name != c.Named) || !exact && !slices.ContainsFunc(words, h.heads[i].goesBy) {
				continue
			}
			if found >= 0 {
				return -1, h.fault(h.Names[found]+" and "+name, fmt.Sprintf("both could be the %s: say which of them is", c.Field))
			}
			found = i
		}
		if found >= 0 {
			return found, nil
		}
	}
	if c.Named != "" {
		return -1, h.fault(c.Named, fmt.Sprintf("no column is headed so for the %s; the headings are %s", c.Field, h))
	}
	return -1, nil
}

// Fault is a fault of the head.
func (h Head) fault(found, want string) *Fault {
	return &Fault{File: h.File, Line: h.Line, Field: "head of the table", Found: found, Want: want}
}

// Wants is the fault of a head in which something is missing.
func (h Head) Wants(want string) *Fault { return h.fault("", want) }

// String lists the headings.
func (h Head) String() string { return strings.Join(h.Names, ", ") }

func (h heading) goesBy(word string) bool {
	if strings.EqualFold(h.text, strings.TrimSpace(word)) {
		return true
	}
	plain, unit := apartUnit(word)
	return plain != "" && (h.plain == plain && (unit == "" || unit == h.unit) || strings.TrimSpace(h.plain+" "+h.unit) == plain)
}

// Unit is the unit that ends a heading, in small letters, like kwh; or nothing.
func (h Head) Unit(i int) string { return h.heads[i].unit }

// Words is the words of a heading in small letters, digits among them.
func (h Head) Words(i int) []string {
	return strings.FieldsFunc(h.heads[i].text, func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9') })
}

// Scale returns how many of a measure's own unit one of the unit is that the
// heading names, and whether it names one.
func (h Head) Scale(i int, m Measure) (float64, bool) {
	for _, word := range slices.Backward(h.Words(i)) {
		if scale, known := m[word]; known {
			return scale, true
		}
	}
	return 1, false
}

// apartUnit splits "Energy (kWh)" into "energy" and "kwh".
func apartUnit(head string) (plain, unit string) {
	head = apartWords(head)
	words := strings.FieldsFunc(strings.ToLower(head), func(r rune) bool { return strings.ContainsRune(" \t_-()[],/:", r) })
	if n := len(words); n > 1 {
		switch words[n-1] {
		case "kwh", "wh", "mwh", "h", "hours", "min", "minutes", "s", "seconds", "£", "gbp", "pence", "p", "miles", "mi", "km":
			unit = words[n-1]
			if words = words[:n-1]; n > 2 && words[n-2] == "in" {
				words = words[:n-2]
			}
		}
	}
	return strings.Join(words, " "), unit
}

// apartWords puts spaces into a heading whose words are run together, like
// EnergyKWh or startTime. The large letter within a unit begins no word.
func apartWords(head string) string {
	if strings.ContainsAny(head, " \t_-()[],/:") {
		return head
	}
	unit := ""
	for _, u := range [...]string{"kWh", "KWh", "MWh", "Wh"} {
		if cut, found := strings.CutSuffix(head, u); found && cut != "" {
			head, unit = cut, " "+u
			break
		}
	}
	var b strings.Builder
	small := false
	for _, r := range head {
		if small && r >= 'A' && r <= 'Z' {
			b.WriteByte(' ')
		}
		small = r >= 'a' && r <= 'z' || r >= '0' && r <= '9'
		b.WriteRune(r)
	}
	return b.String() + unit
}

// Measure is the units of one kind of quantity, in small letters, and how many
// of its own unit one of each is.
type Measure map[string]float64

// Measures of what meters and loggers record.
var (
	Amperes       = Measure{"a": 1, "amp": 1, "amps": 1, "ampere": 1, "amperes": 1, "ma": 0.001}
	Kilowatts     = Measure{"kw": 1, "w": 0.001, "mw": 1000}
	KilowattHours = Measure{"kwh": 1, "wh": 0.001, "mwh": 1000}
)

// Amount reads a figure with or without a unit of the measure; a bare one
// counts in units of so many. Mark is the separator of the table.
func (m Measure) Amount(cell []byte, bare float64, mark byte) (float64, bool) {
	if n := len(bytes.TrimRight(cell, "0123456789.")); n == 0 {
		v, ok := Float(cell, mark)
		return v * bare, ok
	}
	end := len(cell)
	for end > 0 && (cell[end-1]|0x20 >= 'a' && cell[end-1]|0x20 <= 'z') {
		end--
	}
	if word := strings.ToLower(string(cell[end:])); word != "" {
		scale, known := m[word]
		if !known {
			v, ok := Float(cell, mark) // 1e3
			return v * bare, ok
		}
		cell, bare = bytes.TrimSpace(cell[:end]), scale
	}
	v, ok := Float(cell, mark)
	return v * bare, ok
}
